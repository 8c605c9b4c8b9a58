"""How hard a rhythm is to read: published measures side by side, and one level from 1 to 10.

The measures (:mod:`rhythm.practice.measures`) each see one thing. The level adds up what a player
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
All values are exact; the level is rounded half up to a tenth. Tempo is not part of it: the same
page is of the same level, fast or slow.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import pairwise

from gmpy2 import mpq

from rhythm.exact.frozen import dataclass
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

__all__ = ["Difficulty", "difficulty", "line_level"]

_TUPLET_POINTS = {
    2: mpq(5, 4), 3: mpq(5, 4), 4: mpq(3, 2), 6: mpq(3, 2), 5: mpq(3), 7: mpq(4),
}  # fmt: skip
_OTHER_TUPLET = mpq(9, 2)
_NONE = mpq(0)


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
    """Every measure of one line, and the level made of them.

    ``exact`` is the level before it is rounded to a tenth. ``syncopation`` is the sum over the line
    (Longuet-Higgins & Lee), ``finest`` is in whole notes; ``metre_changes`` counts bars in another
    metre than the bar before. ``points`` are the parts of the level by name.
    """

    level: mpq
    exact: mpq
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
        """The level with one decimal: "4.5"."""
        return tenths(self.level)

    def to_dict(self) -> dict[str, object]:
        """Plain values for JSON; exact values as texts."""
        return {
            "level": self.text,
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


def _kind_of_metre(line: Line) -> mpq:
    """The hardest metre: 2 for unequal beats, 1/2 for compound, 1/4 for five beats or more."""
    found = [mpq(0)]
    for metre in {stretch.metre for stretch in line.stretches}:
        if len(set(metre.beats)) > 1:
            found.append(mpq(2))
        else:
            many = mpq(1, 4) if len(metre.beats) > 4 else mpq(0)
            found.append(many + (mpq(1, 2) if metre.is_compound else mpq(0)))
    return max(found)


def _leaning(line: Line) -> mpq:
    """The share of notes that are longer than the note before, which stood on a heavier place."""
    pairs = list(zip(line.onsets, line.intervals, strict=True))
    leaning = sum(
        late > early and line.weight(second) < line.weight(first)
        for (first, early), (second, late) in pairwise(pairs)
    )
    return mpq(leaning, max(len(pairs), 1))


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


def line_level(
    line: Line,
    tuplets: Iterable[TupletUse] = (),
    accents: Iterable[mpq] = (),
    apart: mpq = _NONE,
) -> Difficulty:
    """All measures and the level of one line; ``tuplets`` are the ratios it is written with.

    ``accents`` are where accents were added, ``apart`` is the share of strokes that the voices of
    which the line is the sum do not have together.
    """
    uses = tuple(sorted(set(tuplets)))
    count = max(len(line.onsets), 1)
    syncopated, distance = syncopation(line), wnbd(line)
    off, contrast, dense = off_beatness(line), npvi(line.intervals), density(line)
    changes = _changes(line)
    beats_only = set(line.beats()) >= set(line.onsets)
    metre = mpq(3 * changes, max(len(line.stretches) - 1, 1))
    metre += _kind_of_metre(line)
    parts = (
        ("subdivision", _subdivision(line), mpq(9, 2)),
        ("density", dense / 4, mpq(3, 2)),
        ("syncopation", mpq(2 * syncopated, count), mpq(4)),
        ("distance", distance / 4, mpq(3, 2)),
        ("off-beat", mpq(0) if beats_only else mpq(off, 2 * count), mpq(1, 2)),
        ("contrast", contrast / 400, mpq(1, 4)),
        ("tuplets", _tuplet_points(uses), mpq(5)),
        ("lean", _leaning(line) / 2, mpq(1, 2)),
        ("hands", apart * 3 / 4, mpq(3, 4)),
        ("accents", _shifted(line, accents), mpq(2)),
        ("metre", metre, mpq(4)),
    )
    points = tuple((name, min(value, cap)) for name, value, cap in parts)
    total = min(mpq(10), 1 + sum((value for _, value in points), mpq(0)))
    level = mpq(int((total * 20 + 1) // 2), 10)
    return Difficulty(
        level, total, len(line.onsets), syncopated, distance, off, contrast, dense, finest(line),
        uses, changes, points,
    )  # fmt: skip


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


def _shifted(line: Line, accents: Iterable[mpq]) -> mpq:
    """How far accents stand from where the metre has them, on the mean."""
    beats = set(line.beats())
    strong = _beat_depth(line)
    points = [
        mpq(2) if place not in beats else mpq(1) if -line.weight(place) >= strong > 1 else mpq(0)
        for place in accents
    ]
    return sum(points, mpq(0)) / len(points) if points else mpq(0)


def _accents(events: Iterable[Event]) -> list[mpq]:
    return [
        event.onset + each.delay
        for event in events
        for each in event.additions
        if each.kind == "accent"
    ]


def difficulty(score: Score, part: str | None = None, voice: str | None = None) -> Difficulty:
    """The difficulty of a score: of its voices together, or of the part and voice named.

    Voices that have hardly a note beside the others (fewer than one in eight) do not count. Of
    several voices that strike at different times the hardest counts or, if it is harder, what they
    are together: the line of all their strokes (the resultant), with every tuplet of each.
    ``part`` is an id or a name. Only visible notes count. Raises RequestError where there is no
    such part or voice.
    """
    seen = []
    for _, each, line in select(score, part=part, voice=voice).voices():
        found = Line.of_events(line.events, each.bars)
        if found.onsets:
            seen.append((found, _uses(line.events, found), _accents(line.events)))
    if not seen:
        return line_level(Line((), ()))
    most = max(len(line.onsets) for line, _, _ in seen)
    seen = [row for row in seen if len(row[0].onsets) * 8 >= most]
    levels = [line_level(*row) for row in seen]
    if len(seen) > 1:
        levels.append(_together(seen))
    return max(levels, key=lambda found: (found.exact, found.onsets))


def _together(seen: Sequence[tuple[Line, set[TupletUse], list[mpq]]]) -> Difficulty:
    """What several voices are for one player: all strokes in one line."""
    lines = [line for line, _, _ in seen]
    onsets = sorted({onset for line in lines for onset in line.onsets})
    shared = set.intersection(*(set(line.onsets) for line in lines))
    end = max(line.onsets[-1] + line.intervals[-1] for line in lines)
    lengths = [after - onset for onset, after in pairwise([*onsets, end])]
    bracketed = dict(each for line in reversed(lines) for each in line.bracketed)
    whole = Line(
        tuple(onsets), lines[0].stretches, tuple(lengths), bracketed=tuple(bracketed.items())
    )
    uses = set().union(*(uses for _, uses, _ in seen))
    accents = sorted({place for _, _, places in seen for place in places})
    return line_level(whole, uses, accents, 1 - mpq(len(shared), len(onsets)))
