"""Fit: put the warped instants of a bar where a musician would write them, all voices together.

The exact image of a rhythm under a warp is seldom what a copyist writes: a dotted eighth and a
sixteenth, sent to a dotted beat, would be 5/16 and 1/16; a musician writes 1/4 and 1/8. Fit looks
at one beat of the target at a time and chooses among the placements of all that begins in it, in
whatever voice: what is struck together stays together.

The rule (this library's own; its worked values are common practice):

1. A beat under one slope keeps its exact image where it was a whole beat (a beat restated as a
   beat of the same kind), where the slope is a power of two, or where the image lies on the grid
   of half divisions anyhow.
2. Where a voice divides the beat in the target's own manner it maps straight, and its places hold
   for all: a triplet going to a ternary beat, a duplet going to a simple one, any other tuplet
   spanning the beat. A tuplet spanning several beats maps straight over its whole span where the
   other voices leave room. Where no tuplet is written in a beat, onsets that divide it against its
   own kind count as one (two dotted eighths are a duplet).
3. A tuplet inside a beat that the map only moves (three in an eighth that stays an eighth) stays.
4. All else is placed by :mod:`rhythm.restate.beat_fit`.

Conventions
-----------
Positions are offsets from the bar's start, in whole notes. The *positions* of a voice are where
its events begin and where the last one ends; a note lasts to the next position, so nothing is lost
and nothing overlaps.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections import Counter
from collections.abc import Collection, Mapping, Sequence
from functools import lru_cache
from itertools import pairwise

from gmpy2 import lcm, mpq

from rhythm.exact.errors import RequestError
from rhythm.exact.frozen import dataclass
from rhythm.exact.metre import Metre
from rhythm.exact.time_map import TimeMap
from rhythm.exact.tree import Node
from rhythm.exact.values import is_power_of_two
from rhythm.restate import beat_fit

__all__ = ["MODES", "Line", "fit_bar"]

MODES = ("idiomatic", "foot", "ratio", "exact")
"""``idiomatic`` is the rule above; ``foot`` too, but the middle of a beat's pair stays where the
map sends it (5/16 and 1/16 are not made 1/4 and 1/8); ``exact`` keeps the warp's own image;
``ratio`` keeps it too, but for beats that are divided in the target's own manner, which map
straight."""

Interval = tuple[mpq, mpq]


@dataclass(frozen=True, slots=True)
class Line:
    """What one voice shows in a bar: its positions, rising, and the spans of written tuplets.

    ``held`` says that something sounds or rests up to the first position; without it the voice is
    empty there, and what is not written costs no symbol. At ``silent`` positions no note begins.
    """

    positions: tuple[mpq, ...]
    straight: tuple[Interval, ...] = ()
    held: bool = False
    silent: frozenset[mpq] = frozenset()


@dataclass(frozen=True, slots=True)
class _Beat:
    """One beat of the target and the stretch of the source that becomes it.

    ``linear`` says that one slope takes it there, ``whole`` that it was one beat, or that the
    slope only doubles or halves values. ``kind`` is that of the source stretch: simple, ternary,
    or "" for more than a beat. ``bend`` is the image of the one position where the slope changes.
    """

    start: mpq
    end: mpq
    divisions: int
    source: Interval
    linear: bool
    whole: bool
    kind: str
    bend: mpq | None = None


def fit_bar(
    lines: Sequence[Line],
    warp: TimeMap,
    source: Metre,
    target: Metre,
    *,
    fixed: Collection[mpq] = (),
    settled: Mapping[mpq, mpq] | None = None,
    mode: str = "idiomatic",
    finest: int = 8,
) -> dict[mpq, mpq]:
    """Where every position of the voices ``lines`` goes, in the restated bar.

    ``warp`` maps the source bar onto the target bar; ``fixed`` are positions that keep the warp's
    image (the edges of an upbeat). Positions before or past the bar take it too. ``settled`` are
    positions of other voices whose places are given; those of ``lines`` may meet them and do not
    cross them. ``finest`` is how many places of a division an uneven figure may need to keep its
    character. Raises :class:`RequestError` for an unknown ``mode``.
    """
    if mode not in MODES:
        raise RequestError(f"{mode!r} is not a way to fit", legal="use " + ", ".join(MODES))
    given = settled or {}
    union = sorted({*given, *(position for line in lines for position in line.positions)})
    if mode == "exact":
        return {p: given[p] if p in given else warp(p) for p in union}
    bar = _Bar(lines, union, warp, source, target, frozenset(fixed), given, mode, finest)
    return dict(zip(union, bar.places(), strict=True))


class _Bar:
    """One bar as it is being fitted."""

    def __init__(
        self,
        lines: Sequence[Line],
        union: list[mpq],
        warp: TimeMap,
        source: Metre,
        target: Metre,
        fixed: frozenset[mpq],
        given: Mapping[mpq, mpq],
        mode: str,
        finest: int,
    ) -> None:
        self._lines = lines
        self._union = union
        self._warp = warp
        self._images = [warp(position) for position in union]
        self._source, self._fixed, self._given, self._mode = source, fixed, given, mode
        self._finest = finest
        self._beats, self._known = _beats(warp, source, target)
        self._bounds = [beat.start for beat in self._beats]
        index = {position: i for i, position in enumerate(union)}
        self._indices = [[index[p] for p in line.positions] for line in lines]
        struck = {p for line in lines for p in line.positions if p not in line.silent}
        self._silent = {i for i, p in enumerate(union) if p not in struck and p not in given}

    def places(self) -> list[mpq]:
        """The places of all positions, in order."""
        long = self._long_tuplets()
        while True:
            settled = self._settled_by(long)
            places = None if settled is None else self._placed(settled)
            if places is not None:
                return places
            # A tuplet over several beats left the others no room: the longest gives way.
            del long[max(range(len(long)), key=lambda n: long[n][1][1] - long[n][1][0])]

    def _long_tuplets(self) -> list[tuple[int, Interval]]:
        """The tuplets over several whole beats of the target, each with the voice it is in."""
        edges = {*self._bounds, self._beats[-1].end}
        found: dict[tuple[int, Interval], None] = {}
        for n, line in enumerate(self._lines):
            for a, b in line.straight:
                start, end = self._warp(a), self._warp(b)
                if start not in edges or end not in edges:
                    continue
                if len([x for x in self._bounds if start <= x < end]) > 1:
                    found[n, (a, b)] = None
        return list(found)

    def _settled_by(self, long: Sequence[tuple[int, Interval]]) -> dict[int, mpq] | None:
        """The places that long tuplets give; None where they contradict each other or a beat."""
        settled: dict[int, mpq] = {}
        self._long: dict[int, set[int]] = {}
        for n, (a, b) in long:
            inside = [i for i in self._indices[n] if a <= self._union[i] < b]
            self._long.setdefault(n, set()).update(inside)
            start, end = self._warp(a), self._warp(b)
            for i in inside:
                place = start + (self._union[i] - a) * (end - start) / (b - a)
                if settled.setdefault(i, place) != place:
                    return None
        return settled

    def _placed(self, long: dict[int, mpq]) -> list[mpq] | None:
        """All places; None where long tuplets leave no room for what stands between them."""
        done: list[mpq] = list(self._images)
        for beat, known in zip(self._beats, self._known, strict=True):
            low = bisect_left(self._images, beat.start)
            high = bisect_left(self._images, beat.end)
            if low == high:
                continue
            key = None if long or self._given else self._sight(beat, low, high)
            places = known.get(key) if key is not None else None
            if places is None:
                places = self._in_beat(beat, low, high, long)
                if key is not None and places is not None and len(known) < _MOST_KNOWN:
                    known[key] = places
            if places is None:
                return None
            done[low:high] = places
        if long and not self._in_order(done, long):
            return None
        return done

    def _sight(self, beat: _Beat, low: int, high: int) -> _Sight:
        """All that decides how a beat is fitted, where no place in it is given."""
        union = self._union
        a, b = beat.source
        voices = []
        for line, indices in zip(self._lines, self._indices, strict=True):
            first, last = bisect_left(indices, low), bisect_left(indices, high)
            if first != last:
                spans = tuple([x for x in line.straight if x[0] < b and x[1] > a])
                voices.append((line.positions[first:last], line.held or first > 0, spans))
        here = range(low, high)
        silent = tuple([i - low for i in here if i in self._silent]) if self._silent else ()
        fixed = tuple([i - low for i in here if union[i] in self._fixed]) if self._fixed else ()
        return self._mode, self._finest, tuple(union[low:high]), tuple(voices), silent, fixed

    def _in_order(self, places: Sequence[mpq], long: dict[int, mpq]) -> bool:
        """Are the places in order, and those of each voice apart?"""
        for i in range(1, len(places)):
            if places[i] < places[i - 1]:
                return False
            silent = i in self._silent or i - 1 in self._silent
            if places[i] == places[i - 1] and (i in long) == (i - 1 in long) and not silent:
                return False
        return all(places[a] < places[b] for indices in self._indices for a, b in pairwise(indices))

    def _in_beat(
        self, beat: _Beat, low: int, high: int, long: dict[int, mpq]
    ) -> Sequence[mpq] | None:
        images = self._images[low:high]
        here = {i: long[i] for i in range(low, high) if i in long}
        if len(here) == high - low:
            return [here[i] for i in range(low, high)]
        if not self._given and beat.linear and (beat.whole or _on_half_divisions(images, beat)):
            return [here.get(i, image) for i, image in enumerate(images, low)]
        division = (beat.end - beat.start) / max(beat.divisions, 1)
        positions = self._union[low:high]
        given = {i: self._given[p] for i, p in enumerate(positions, low) if p in self._given}
        settled = {**here, **given}
        patterns: Counter[tuple[tuple[int, ...], bool]] = Counter()
        tuplet: set[int] = set(here)
        plain: set[int] = set()
        a, b = beat.source
        slope = (beat.end - beat.start) / (b - a)
        shares = int(lcm(1, *(((p - a) / (b - a)).denominator for p in positions)))
        for n, (line, indices) in enumerate(zip(self._lines, self._indices, strict=True)):
            first, last = bisect_left(indices, low), bisect_left(indices, high)
            if first == last:
                continue
            own = indices[first:last]
            filled = line.held or first > 0
            patterns[tuple(i - low for i in own), filled] += 1
            is_long = not self._long.get(n, _NONE).isdisjoint(own)
            straight = not is_long and not given and self._maps_straight(line, own, beat, shares)
            if straight:
                for i in own:
                    settled.setdefault(i, beat.start + (self._union[i] - a) * slope)
                tuplet.update(own)
            elif not is_long:
                kept = [] if given else self._kept_tuplets(line, own, beat)
                settled.update((i, self._images[i]) for i in kept if i not in settled)
                tuplet.update(kept)
                plain.update(i for i in own if i not in kept or self._opens(line, i))
                if beat.linear and _on_half_divisions([self._images[i] for i in own], beat):
                    settled.update((i, self._images[i]) for i in own if i not in settled)
        fixed = [i for i in range(low, high) if self._union[i] in self._fixed]
        if any(settled.get(i, self._images[i]) != self._images[i] for i in fixed):
            # An upbeat that begins inside a tuplet keeps the map's image with all that is in it.
            return images if not here else None
        pinned = [
            i - low
            for i in range(low, high)
            if i not in settled and self._source.rank(self._union[i]) <= _BEAT_LEVEL
        ]
        if self._mode == "foot" and beat.bend in images:
            pinned.append(images.index(beat.bend))
        task = beat_fit.Beat(
            tuple((image - beat.start) / division for image in images),
            max(beat.divisions, 2),
            tuple(
                beat_fit.Pattern(shape, filled, n)
                for (shape, filled), n in sorted(patterns.items())
            ),
            tuple(sorted({*pinned, *(i - low for i in fixed)})),
            tuple(sorted((i - low, (p - beat.start) / division) for i, p in settled.items())),
            tuple(sorted(i - low for i in (given.keys() - plain if given else tuplet - plain))),
            images.index(beat.bend) if beat.bend in images else None,
            self._finest,
            tuple(i - low for i in range(low, high) if i in self._silent),
        )
        if here and not all(0 <= place <= beat.divisions for _, place in task.settled):
            return None
        found = [
            beat.start + p * division for p in beat_fit.place(task, free=self._mode != "ratio")
        ]
        within = [i for i in fixed if self._images[i] > beat.start]
        crowded = within and not _on_half_divisions(found, beat)
        if crowded or any(found[i - low] != self._images[i] for i in within):
            return images  # an upbeat that begins inside the beat
        return found

    def _kept_tuplets(self, line: Line, own: Sequence[int], beat: _Beat) -> list[int]:
        """What stands in tuplets inside the beat that the map only moves: they stay tuplets."""
        kept: list[int] = []
        half = (beat.end - beat.start) / (2 * max(beat.divisions, 1))
        for start, end in line.straight:
            a, b = self._warp(start), self._warp(end)
            if not (beat.source[0] <= start and end <= beat.source[1]) or b - a != end - start:
                continue
            inside = [i for i in own if start <= self._union[i] < end]
            moved = all(self._images[i] - a == self._union[i] - start for i in inside)
            if moved and ((a - beat.start) / half).denominator == 1:
                kept.extend(inside)
        return kept

    def _opens(self, line: Line, i: int) -> bool:
        return any(self._union[i] == start for start, _ in line.straight)

    def _maps_straight(self, line: Line, own: Sequence[int], beat: _Beat, shares: int) -> bool:
        """Does a voice divide the beat in the target's manner?"""
        a, b = beat.source
        spans = [span for span in line.straight if span[0] < b and span[1] > a]
        if spans:
            reached = a
            for start, end in spans:
                if start > reached:
                    return False
                reached = max(reached, end)
            return spans[0][0] == a and reached == b
        if not beat.kind or shares == 1:
            return False
        if beat.kind == "simple" and is_power_of_two(shares):
            return False
        grid = int(lcm(1, *(((self._union[i] - a) / (b - a)).denominator for i in own)))
        if beat.kind == "simple":
            return not is_power_of_two(grid)
        return grid > 1 and grid % 3 != 0


_Sight = tuple[object, ...]
_MOST_KNOWN = 1024
_BEAT_LEVEL = 2
_NONE: frozenset[int] = frozenset()


@lru_cache(maxsize=2048)
def _beats(
    warp: TimeMap, source: Metre, target: Metre
) -> tuple[tuple[_Beat, ...], tuple[dict[_Sight, Sequence[mpq]], ...]]:
    """The beats of the target, and for each what is known of how it is fitted."""
    back = warp.inverse()
    bends = [image for _, image in warp.points]
    found = []
    for node in target.beat_nodes:
        start, end = back(node.start), back(node.end)
        inner = bends[bisect_right(bends, node.start) : bisect_left(bends, node.end)]
        home = source.beat_node_at(start)
        whole = home.start == start and home.end == end
        kind = "simple" if _halves(home, start, end) else ""
        if whole and home.ternary:
            kind = "ternary"
        slope = (node.end - node.start) / (end - start)
        whole = whole or all(is_power_of_two(int(n)) for n in (slope.numerator, slope.denominator))
        parts = len(node.children)
        bend = inner[0] if len(inner) == 1 else None
        stretch = (start, end)
        found.append(_Beat(node.start, node.end, parts, stretch, not inner, whole, kind, bend))
    return tuple(found), tuple({} for _ in found)


def _halves(beat: Node, start: mpq, end: mpq) -> bool:
    """True for a whole beat, and for a part of one that halving leads to."""
    shares = ((start - beat.start) / beat.length, (end - beat.start) / beat.length)
    return end <= beat.end and all(is_power_of_two(int(s.denominator)) for s in shares)


def _on_half_divisions(images: Sequence[mpq], beat: _Beat) -> bool:
    half = (beat.end - beat.start) / (2 * max(beat.divisions, 1))
    return all(((image - beat.start) / half).denominator == 1 for image in images)
