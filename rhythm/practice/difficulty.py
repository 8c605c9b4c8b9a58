"""How hard a rhythm is to read: published measures side by side, and one grade from 1 to 10.

The measures (:mod:`rhythm.practice.measures`) each see one thing. The grade adds up what a player
meets, in points above 1, each part held below a cap so that no single measure decides:

===========  ===================================================================  ====
part         points                                                               cap
===========  ===================================================================  ====
subdivision  3/4 for halves or thirds of a beat, 3/2 for their halves, 3, 9/2     9/2
density      1/4 for each onset per beat                                          3/2
syncopation  2 for each point of the Longuet-Higgins & Lee score per note         4
distance     1/4 of the WNBD                                                      3/2
off-beat     1/2 of the share of onsets at off-beat positions                     1/2
contrast     1/400 of the nPVI                                                    1/4
tuplets      the hardest ratio (3:2 is 5/4, 5:4 is 3, 7:4 is 4; 1 more across     5
             beats, 3/2 more for each level inside another), 1/2 for each other
metre        3/2 for unequal beats, 3 times the share of bars that change         4
===========  ===================================================================  ====

docs/difficulty.md argues for the parts and shows what they make of known patterns.

Conventions
-----------
All values are exact; the grade is rounded half up to a tenth. Tempo is not part of it: the same
page is graded the same, fast or slow.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise

from gmpy2 import mpq

from rhythm.exact.values import format_value
from rhythm.practice.measures import (
    density,
    finest,
    npvi,
    off_beatness,
    syncopation,
    tenths,
    wnbd,
)
from rhythm.practice.rhythm_line import Line
from rhythm.score.model import Event, Score
from rhythm.score.select import select

__all__ = ["Difficulty", "difficulty", "grade_line", "grade_pattern"]

_TUPLET_POINTS = {
    2: mpq(5, 4), 3: mpq(5, 4), 4: mpq(3, 2), 6: mpq(3, 2), 5: mpq(3), 7: mpq(4),
}  # fmt: skip
_OTHER_TUPLET = mpq(9, 2)


@dataclass(frozen=True, slots=True, order=True)
class TupletUse:
    """A tuplet a line uses: its ratio, the beats it spans rounded up, its nesting level."""

    actual: int
    normal: int
    beats: int = 1
    level: int = 1

    def __str__(self) -> str:
        return f"{self.actual}:{self.normal}"


@dataclass(frozen=True, slots=True)
class Difficulty:
    """Every measure of one line, and the grade made of them.

    ``syncopation`` is the sum over the line (Longuet-Higgins & Lee), ``per_note`` the mean;
    ``finest`` is in whole notes; ``metre_changes`` counts bars in another metre than the bar
    before. ``points`` are the parts of the grade by name.
    """

    grade: mpq
    onsets: int
    syncopation: int
    wnbd: mpq
    off_beatness: int
    npvi: mpq
    density: mpq
    finest: mpq
    tuplets: tuple[TupletUse, ...]
    metre_changes: int
    points: tuple[tuple[str, mpq], ...]

    @property
    def text(self) -> str:
        """The grade with one decimal: "4.5"."""
        return tenths(self.grade)

    def to_dict(self) -> dict[str, object]:
        """Plain values for JSON; exact values as texts."""
        return {
            "grade": self.text,
            "onsets": self.onsets,
            "syncopation": self.syncopation,
            "wnbd": format_value(self.wnbd),
            "off_beatness": self.off_beatness,
            "npvi": tenths(self.npvi),
            "density": format_value(self.density),
            "finest": format_value(self.finest),
            "tuplets": [str(tuplet) for tuplet in self.tuplets],
            "metre_changes": self.metre_changes,
            "points": {name: tenths(value, 2) for name, value in self.points},
        }


def _subdivision(line: Line) -> mpq:
    """How far below the beat plain onsets stand: 0 on beats, 3/4 on divisions, then 3/2, 3..."""
    depths = (-line.weight(onset) for onset in line.onsets if line.halved(onset))
    steps = max(depths, default=0) - _beat_depth(line)
    if steps <= 0:
        return mpq(0)
    return mpq(3, 4) if steps == 1 else mpq(3 * (steps - 1), 2)


def _beat_depth(line: Line) -> int:
    """How deep in the tree the beat stands: the depth of the lightest beat of the line."""
    return max((-line.weight(mark) for mark in line.beats()[:-1]), default=0)


def _uneven(line: Line) -> bool:
    return any(len(set(stretch.metre.beats)) > 1 for stretch in line.stretches)


def _changes(line: Line) -> int:
    metres = [stretch.metre for stretch in line.stretches]
    return sum(a != b for a, b in pairwise(metres))


def _tuplet_points(tuplets: Iterable[TupletUse]) -> mpq:
    each = sorted(
        (
            _TUPLET_POINTS.get(use.actual, _OTHER_TUPLET)
            + (1 if use.beats > 1 else 0)
            + mpq(3, 2) * (use.level - 1)
            for use in tuplets
        ),
        reverse=True,
    )
    return each[0] + mpq(1, 2) * (len(each) - 1) if each else mpq(0)


def grade_line(line: Line, tuplets: Iterable[TupletUse] = ()) -> Difficulty:
    """All measures and the grade of one line; ``tuplets`` are the ratios it is written with."""
    uses = tuple(sorted(set(tuplets)))
    count = max(len(line.onsets), 1)
    syncopated, distance = syncopation(line), wnbd(line)
    off, contrast, dense = off_beatness(line), npvi(line.intervals), density(line)
    changes = _changes(line)
    beats_only = set(line.beats()) >= set(line.onsets)
    metre = mpq(3 * changes, max(len(line.stretches) - 1, 1))
    metre += mpq(3, 2) if _uneven(line) else 0
    parts = (
        ("subdivision", _subdivision(line), mpq(9, 2)),
        ("density", dense / 4, mpq(3, 2)),
        ("syncopation", mpq(2 * syncopated, count), mpq(4)),
        ("distance", distance / 4, mpq(3, 2)),
        ("off-beat", mpq(0) if beats_only else mpq(off, 2 * count), mpq(1, 2)),
        ("contrast", contrast / 400, mpq(1, 4)),
        ("tuplets", _tuplet_points(uses), mpq(5)),
        ("metre", metre, mpq(4)),
    )
    points = tuple((name, min(value, cap)) for name, value, cap in parts)
    total = min(mpq(10), 1 + sum((value for _, value in points), mpq(0)))
    grade = mpq(int((total * 20 + 1) // 2), 10)
    return Difficulty(
        grade, len(line.onsets), syncopated, distance, off, contrast, dense, finest(line), uses,
        changes, points,
    )  # fmt: skip


def grade_pattern(onsets: Iterable[int], pulses: int, beat: int) -> Difficulty:
    """All measures and the grade of onsets in a cycle of pulses, ``beat`` pulses to the beat.

    Son is ``grade_pattern((0, 3, 6, 10, 12), 16, 4)``. Raises RequestError as
    :meth:`Line.of_pulses` does.
    """
    return grade_line(Line.of_pulses(onsets, pulses, beat))


def _uses(events: Iterable[Event], line: Line) -> set[TupletUse]:
    """The tuplets that a voice is written in."""
    marks = line.beats()
    starts = dict(enumerate(line.stretches))
    found = set()
    for event in events:
        for piece in event.pieces:
            for tuplet in piece.tuplets:
                stretch = starts.get(piece.bar)
                beats = 1
                if stretch is not None:
                    start = stretch.start + tuplet.offset
                    end = start + tuplet.length
                    beats += sum(1 for mark in marks if start < mark < end)
                found.add(TupletUse(tuplet.actual, tuplet.normal, beats, tuplet.number))
    return found


def difficulty(score: Score, part: str | None = None, voice: str | None = None) -> Difficulty:
    """The difficulty of a score: that of its hardest voice, or of the part and voice named.

    ``part`` is an id or a name. Only visible notes count. Raises RequestError where there is no
    such part or voice.
    """
    graded = []
    for _, each, line in select(score, part=part, voice=voice).voices():
        seen = Line.of_events(line.events, each.bars)
        if seen.onsets:
            graded.append(grade_line(seen, _uses(line.events, seen)))
    if graded:
        return max(graded, key=lambda found: (found.grade, found.onsets))
    return grade_line(Line((), ()))
