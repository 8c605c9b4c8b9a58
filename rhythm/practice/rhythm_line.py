"""One line of onsets over bars: the view that every measure of difficulty looks at.

A measure does not care whether a rhythm was read from a score or typed as pulses. Both become a
:class:`Line`: when something begins, how long until the next beginning, and over which bars.

Conventions
-----------
Time is ``gmpy2.mpq`` in whole notes from the start of the first bar. A position's *weight* is 0 on
a bar's first beat and falls by one with every level of the metre's tree (Longuet-Higgins & Lee
1984): 0 -3 -2 -3 -1 -3 -2 -3 for eighths in 4/4. A *cyclic* line begins again after its last bar.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterable
from dataclasses import field
from functools import cached_property

from gmpy2 import mpq

from rhythm.exact.errors import RequestError
from rhythm.exact.frozen import dataclass
from rhythm.exact.metre import Metre
from rhythm.exact.tree import OFF
from rhythm.exact.values import is_power_of_two
from rhythm.score.model import Bar, Event

__all__ = ["Line", "LineBar", "weight"]


@dataclass(frozen=True, slots=True)
class LineBar:
    """One bar under a line: its start, its length, its metre, and where in the metre it begins."""

    start: mpq
    length: mpq
    metre: Metre
    shift: mpq = field(default_factory=mpq)

    @property
    def end(self) -> mpq:
        """Start plus length."""
        return self.start + self.length


def weight(metre: Metre, offset: mpq) -> int:
    """The weight of a position of the metre: 0 for the bar's start, -1, -2... below.

    Positions between the leaves of the tree go on in halves. A position that no halving reaches (a
    tuplet) counts as a division of its beat: the second note of a triplet weighs what the second
    of two eighths does.
    """
    return -metre.ranks.depth(offset % metre.length if metre.length else offset)


def _halvings(number: int) -> int:
    """How often two divides ``number``."""
    return (number & -number).bit_length() - 1


@dataclass(frozen=True)
class Line:
    """Onsets in order, the ends of what sounds, and the bars beneath them.

    ``lengths`` are the sounding durations where they are known (a score), else the distances to
    the next onset (a pattern). ``grid`` is the pulse a pattern is written in (None: unknown).
    ``bracketed`` are onsets in brackets of two, four or eight notes (four in the time of three),
    each with how often its unit is halved to reach it: they stand on the metre's grid of halves,
    but nobody reads them there.
    """

    onsets: tuple[mpq, ...]
    stretches: tuple[LineBar, ...]
    lengths: tuple[mpq, ...] = ()
    cyclic: bool = False
    grid: mpq | None = None
    bracketed: tuple[tuple[mpq, int], ...] = ()

    @classmethod
    def of_grid(cls, onsets: Iterable[int], pulse: mpq, metre: Metre, bars: int = 1) -> Line:
        """A cyclic line of onsets counted in pulses of the value ``pulse`` over bars of a metre."""
        stretches = tuple(LineBar(i * metre.length, metre.length, metre) for i in range(bars))
        total = bars * metre.length
        places = sorted(set(onsets))
        if not places:
            raise RequestError("a pattern without onsets", legal="at least one onset")
        if places[0] < 0 or places[-1] * pulse >= total:
            raise RequestError(
                f"an onset at pulse {places[0] if places[0] < 0 else places[-1]}",
                legal=f"pulses 0 to {int(total / pulse) - 1}",
            )
        return cls(tuple(place * pulse for place in places), stretches, cyclic=True, grid=pulse)

    @classmethod
    def of_events(cls, events: Iterable[Event], bars: Iterable[Bar]) -> Line:
        """The line of a voice: the visible sounding events that take time, over its bars.

        Bars without a metre, or senza misura, are measured as plain quarters of their length.
        """
        sounding = sorted(
            (e for e in events if e.visible and not e.is_rest and e.duration > 0),
            key=lambda event: event.onset,
        )
        stretches = []
        for bar in bars:
            metre = bar.metre
            if metre is None or not metre.length:
                metre = Metre.parse(f"{max(1, -(-bar.length // mpq(1, 4)))}/4")
            stretches.append(LineBar(bar.start, bar.length, metre, bar.shift))
        first: dict[mpq, mpq] = {}
        bracketed: dict[mpq, int] = {}
        for event in sounding:
            first.setdefault(event.onset, event.duration)
            for piece in event.pieces[:1]:
                for tuplet in piece.tuplets[:1]:
                    if is_power_of_two(tuplet.actual):
                        units = (piece.offset - tuplet.offset) * tuplet.actual / tuplet.length
                        halvings = _halvings(int(units.denominator))
                        bracketed.setdefault(event.onset, halvings)
        return cls(
            tuple(first),
            tuple(stretches),
            tuple(first.values()),
            bracketed=tuple(bracketed.items()),
        )

    @property
    def start(self) -> mpq:
        """Where the first bar begins."""
        return self.stretches[0].start if self.stretches else mpq(0)

    @property
    def end(self) -> mpq:
        """Where the last bar ends."""
        return self.stretches[-1].end if self.stretches else mpq(0)

    @property
    def length(self) -> mpq:
        """The length of all bars."""
        return self.end - self.start

    @property
    def intervals(self) -> tuple[mpq, ...]:
        """From each onset to the next; the last to the cycle's first, or to the sound's end."""
        if not self.onsets:
            return ()
        if self.cyclic or not self.lengths:
            last = self.onsets[0] + self.length if self.cyclic else self.end
        else:
            last = self.onsets[-1] + self.lengths[-1]
        ends = (*self.onsets[1:], last)
        return tuple(end - onset for onset, end in zip(self.onsets, ends, strict=True))

    @cached_property
    def _starts(self) -> tuple[mpq, ...]:
        return tuple(stretch.start for stretch in self.stretches)

    def _stretch_at(self, position: mpq) -> tuple[LineBar, mpq]:
        """The bar at a position and the lap's start that was taken off a cyclic position."""
        lap = mpq(0)
        if self.cyclic:
            lap = self.length * ((position - self.start) // self.length)
        at = bisect_right(self._starts, position - lap) - 1
        return self.stretches[max(at, 0)], lap

    def stretch_at(self, position: mpq) -> LineBar:
        """The bar that a position stands in."""
        return self._stretch_at(position)[0]

    @cached_property
    def _bracketed(self) -> dict[mpq, int]:
        return dict(self.bracketed)

    def weight(self, position: mpq) -> int:
        """The metrical weight of a position (see :func:`weight`), in a bracket as in any tuplet."""
        stretch, lap = self._stretch_at(position)
        offset = position - lap - stretch.start + stretch.shift
        found = weight(stretch.metre, offset)
        if position in self._bracketed:
            beat, _ = stretch.metre.beat_at(offset)
            division = stretch.metre.ranks.beat_depths[beat % stretch.metre.length] + 1
            return max(found, -(division + self._bracketed[position]))
        return found

    def halved(self, position: mpq) -> bool:
        """Whether halving the metre's divisions reaches a position; what tuplets bring does not."""
        if position in self._bracketed:
            return False
        stretch, lap = self._stretch_at(position)
        return stretch.metre.rank(position - lap - stretch.start + stretch.shift) != OFF

    def heaviest_between(self, start: mpq, end: mpq) -> int | None:
        """The greatest weight strictly between two positions, looking no finer than ``start``."""
        found: int | None = None
        low = self.weight(start)
        stretch, lap = self._stretch_at(start)
        while True:
            places, depths = stretch.metre.ranks.levels
            zero = lap + stretch.start - stretch.shift
            bar_end = lap + stretch.end
            first = bisect_right(places, start - zero)
            last = bisect_left(places, min(end, bar_end) - zero)
            for at in range(max(first, 0), last):
                found = -depths[at] if found is None else max(found, -depths[at])
            if bar_end >= end:
                break
            found = max(-99 if found is None else found, self.weight(bar_end))
            if not self.cyclic and bar_end >= self.end:
                break
            start = bar_end
            stretch, lap = self._stretch_at(bar_end)
        if found is None and low < 0:
            return self._finer_between(start, end, low)
        return found

    def _finer_between(self, start: mpq, end: mpq, low: int) -> int | None:
        """As above, between two leaves of the tree, on halves down to the start's own level."""
        stretch, lap = self._stretch_at(start)
        places, _ = stretch.metre.ranks.levels
        zero = lap + stretch.start - stretch.shift
        at = bisect_right(places, start - zero) - 1
        leaf_end = places[at + 1] if at + 1 < len(places) else stretch.metre.length
        depth = stretch.metre.ranks.beat_depths[stretch.metre.beat_at(places[at])[0]]
        step = (leaf_end - places[at]) / 2 ** max(0, -low - depth - 1)
        position = zero + places[at] + step * ((start - zero - places[at]) // step + 1)
        found: int | None = None
        while position < end:
            here = self.weight(position)
            found = here if found is None else max(found, here)
            position += step
        return found

    def beats(self) -> tuple[mpq, ...]:
        """Where the beats begin, in order, and the end of the last one."""
        if not self.stretches:
            return (mpq(0),)
        places: list[mpq] = []
        for stretch in self.stretches:
            place = stretch.start - stretch.shift
            while place < stretch.end:
                for length in stretch.metre.beats:
                    if stretch.start <= place < stretch.end:
                        places.append(place)
                    place += length
        return (*places, self.end) if places else (self.start, self.end)
