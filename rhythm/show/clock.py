"""From exact moments of a performance to milliseconds: tempi, and the fermatas that hold them up.

Conventions
-----------
Moments are whole notes, tempi quarters a minute. A fermata holds what stands under it twice as long
(common practice, no source: from half as long again to double): time goes at half the tempo from
where the note under it begins to where it ends. Where several voices hold at once everybody waits
for the last to come and leaves with the first to end, so that the time is held up once.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Sequence

from gmpy2 import mpq

from rhythm.formats.musicxml.performance import held_places
from rhythm.score.model import Score

__all__ = ["HELD", "Clock", "fermatas_of"]

HELD = 2
"""So many times as long is a note under a fermata."""

Stretch = tuple[mpq, mpq]


class Clock:
    """Knows when things happen, in milliseconds; rounds once, from exact time."""

    def __init__(self, tempi: Sequence[tuple[mpq, mpq]], held: Iterable[Stretch] = ()) -> None:
        self.tempi = tuple(_slowed(tempi, sorted(held)))
        self._plain = list(tempi)
        self._marks: list[tuple[mpq, mpq, mpq]] = []  # moment, milliseconds there, a whole note's
        for moment, tempo in self.tempi:
            reached = mpq(0)
            if self._marks:
                before, there, pace = self._marks[-1]
                reached = there + (moment - before) * pace
            self._marks.append((moment, reached, 240_000 / tempo))
        self._moments = [moment for moment, _, _ in self._marks]

    def __call__(self, moment: mpq) -> int:
        """The millisecond of a moment."""
        at, reached, pace = self._marks[max(0, bisect_right(self._moments, moment) - 1)]
        return int(reached + (moment - at) * pace + mpq(1, 2))

    def pace(self, moment: mpq) -> mpq:
        """The milliseconds of a whole note at a moment, fermatas apart."""
        return 240_000 / _tempo_at(self._plain, moment)


def _tempo_at(tempi: Sequence[tuple[mpq, mpq]], moment: mpq) -> mpq:
    return tempi[max(0, bisect_right(tempi, moment, key=lambda tempo: tempo[0]) - 1)][1]


def _slowed(tempi: Sequence[tuple[mpq, mpq]], held: Sequence[Stretch]) -> list[tuple[mpq, mpq]]:
    """The tempi with those of held stretches, which do not overlap, among them."""
    if not held:
        return list(tempi)
    turns = {moment for moment, _ in tempi} | {moment for stretch in held for moment in stretch}
    starts = [start for start, _ in held]
    found: list[tuple[mpq, mpq]] = []
    for moment in sorted(turns):
        index = bisect_right(starts, moment) - 1
        slow = index >= 0 and moment < held[index][1]
        tempo = _tempo_at(tempi, moment) / (HELD if slow else 1)
        if not found or found[-1][1] != tempo:
            found.append((moment, tempo))
    return found


def fermatas_of(score: Score) -> dict[int, list[Stretch]]:
    """What is held in each bar, by index: stretches (from, to) counted from the bar's start."""
    marked: dict[int, set[Stretch]] = {}
    for _part, _voice, event in score.events():
        if event.cue or not event.duration:
            continue
        for bar, start, end in held_places(event):
            marked.setdefault(bar, set()).add((start, end))
    return {bar: _together(sorted(stretches)) for bar, stretches in marked.items()}


def _together(stretches: Sequence[Stretch]) -> list[Stretch]:
    """What overlaps as one stretch, the part that all of it shares."""
    found: list[Stretch] = []
    for start, end in stretches:
        if found and start < found[-1][1]:
            found[-1] = start, min(end, found[-1][1])
        else:
            found.append((start, end))
    return found
