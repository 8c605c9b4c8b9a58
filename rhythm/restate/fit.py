"""Fit: put the warped onsets of a voice where a musician would write them.

The exact image of a rhythm under a warp is seldom what a copyist writes: a dotted eighth and a
sixteenth, sent to a dotted beat, would be 5/16 and 1/16; a musician writes 1/4 and 1/8. Fit looks
at one beat of the target at a time and chooses among the placements of its onsets on a grid.

The rule (this library's own; its worked values are common practice):

1. A beat under one slope keeps its exact image where it was a whole beat (a beat restated as a
   beat of the same kind), where the slope is a power of two, or where the image lies on the grid
   of half divisions anyhow.
2. A beat that is divided in the target's own manner maps straight: a triplet going to a ternary
   beat, a duplet going to a simple one, any other tuplet spanning the beat. A tuplet spanning
   several beats maps straight over its whole span. Where no tuplet is written in a beat, onsets
   that divide it against its own kind count as one (two dotted eighths are a duplet).
3. Otherwise the onsets are placed on the grid of half divisions (sixteenths where the division is
   an eighth), in order, none moved by more than one division. An onset that stood on the beat
   stays on it, and one that stood off the beat stays off: what is held over a beat keeps a part
   of it. Chosen is the least number of written symbols, then the least displacement, then the
   earlier placement. A tie costs a symbol; in a ternary beat a note that does not start on a
   division and crosses one costs one more.
4. Where the grid has no such placement, quarter divisions are tried, then the exact image stands.

Conventions
-----------
Positions are offsets from the bar's start, in whole notes. The *positions* of a voice are where
its events begin and where the last one ends; a note lasts to the next position, so nothing is lost
and nothing overlaps.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations, pairwise

from gmpy2 import lcm, mpq

from rhythm.exact.errors import RequestError
from rhythm.exact.metre import Metre
from rhythm.exact.time_map import TimeMap
from rhythm.exact.tree import Node
from rhythm.exact.values import is_power_of_two

__all__ = ["MODES", "fit_bar", "fit_beat", "symbols_needed"]

MODES = ("idiomatic", "ratio", "exact")
"""``idiomatic`` is the rule above; ``exact`` keeps the warp's own image; ``ratio`` keeps it too,
but for beats that are divided in the target's own manner, which map straight."""

_GRIDS = (2, 4)
"""Places in a division, tried in this order."""

Interval = tuple[mpq, mpq]


@dataclass(frozen=True, slots=True)
class _Beat:
    """One beat of the target and the stretch of the source that becomes it.

    ``linear`` says that one slope takes it there, ``whole`` that it was one beat, or that the
    slope only doubles or halves values.
    """

    start: mpq
    end: mpq
    divisions: int
    source: Interval
    linear: bool
    whole: bool
    kind: str  # of the source stretch: "simple", "ternary", or "" for more than a beat


def fit_bar(
    positions: Sequence[mpq],
    warp: TimeMap,
    source: Metre,
    target: Metre,
    *,
    straight: Sequence[Interval] = (),
    fixed: Collection[mpq] = (),
    held: bool = False,
    mode: str = "idiomatic",
) -> tuple[mpq, ...]:
    """Where the positions of one voice in one bar go, in the restated bar.

    ``positions`` rise strictly; ``warp`` maps the source bar onto the target bar; ``straight`` are
    the spans of written tuplets in the source, ``fixed`` are positions that keep the warp's image
    (the edges of an upbeat, which every voice shares). Positions before or past the bar take it
    too. ``held`` says that something sounds or rests up to the first position; without it
    the voice is empty there, and what is not written costs no symbol. Raises
    :class:`RequestError` for an unknown ``mode``.
    """
    if mode not in MODES:
        raise RequestError(f"{mode!r} is no way to fit", legal="use " + ", ".join(MODES))
    if mode == "exact":
        return tuple(warp(position) for position in positions)
    ordered = tuple(positions)
    spans = tuple(sorted(straight))
    free = mode == "idiomatic"
    return _fit_bar(ordered, warp, source, target, spans, frozenset(fixed), held, free)


@lru_cache(maxsize=16384)
def _fit_bar(
    positions: tuple[mpq, ...],
    warp: TimeMap,
    source: Metre,
    target: Metre,
    spans: tuple[Interval, ...],
    fixed: frozenset[mpq],
    held: bool,
    free: bool,
) -> tuple[mpq, ...]:
    beats = _beats(warp, source, target)
    bounds = [beat.start for beat in beats]
    images = [warp(position) for position in positions]
    edges = {*bounds, beats[-1].end}
    done: list[mpq | None] = [None] * len(images)
    for a, b in spans:
        # A tuplet over whole beats of the target maps straight over all of them.
        start, end = warp(a), warp(b)
        if start in edges and end in edges and len([x for x in bounds if start <= x < end]) > 1:
            for i in range(bisect_left(positions, a), bisect_left(positions, b)):
                done[i] = start + (positions[i] - a) * (end - start) / (b - a)
    for beat in beats:
        first, last = bisect_left(images, beat.start), bisect_left(images, beat.end)
        if first == last or done[first] is not None:
            continue
        inside = positions[first:last]
        filled = held or first > 0
        held_fast = frozenset(i for i, position in enumerate(inside) if position in fixed)
        done[first:last] = _fit_stretch(
            inside, images[first:last], beat, source, spans, held_fast, filled, free
        )
    return tuple(images[i] if place is None else place for i, place in enumerate(done))


@lru_cache(maxsize=2048)
def _beats(warp: TimeMap, source: Metre, target: Metre) -> tuple[_Beat, ...]:
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
        found.append(_Beat(node.start, node.end, parts, (start, end), not inner, whole, kind))
    return tuple(found)


def _halves(beat: Node, start: mpq, end: mpq) -> bool:
    """True for a whole beat, and for a part of one that halving leads to."""
    shares = ((start - beat.start) / beat.length, (end - beat.start) / beat.length)
    return end <= beat.end and all(is_power_of_two(int(s.denominator)) for s in shares)


def _fit_stretch(
    positions: Sequence[mpq],
    images: Sequence[mpq],
    beat: _Beat,
    source: Metre,
    spans: Sequence[Interval],
    fixed: frozenset[int],
    filled: bool,
    free: bool,
) -> Sequence[mpq]:
    """The places of the onsets in one beat of the target; not ``free``: no grid is looked at."""
    if beat.linear and (beat.whole or _on_half_divisions(images, beat)):
        return images
    a, b = beat.source
    if _maps_straight(positions, beat, spans):
        slope = (beat.end - beat.start) / (b - a)
        places = [beat.start + (position - a) * slope for position in positions]
        return places if all(places[i] == images[i] for i in fixed) else images
    if not free:
        return images
    length = beat.end - beat.start
    pinned = frozenset(
        i for i, position in enumerate(positions) if source.rank(position) <= _BEAT_LEVEL
    )
    relative = tuple(image - beat.start for image in images)
    placed = fit_beat(relative, length, beat.divisions == 3, pinned=pinned | fixed, filled=filled)
    if fixed and not _keeps(placed, relative, fixed, length / (beat.divisions * _GRIDS[0])):
        return images
    return [beat.start + place for place in placed]


def _keeps(placed: Sequence[mpq], images: Sequence[mpq], fixed: frozenset[int], cell: mpq) -> bool:
    """Did a placement leave the fixed positions alone without crowding the others?"""
    stays = all(placed[i] == images[i] for i in fixed)
    return stays and all((place / cell).denominator == 1 for place in placed)


_BEAT_LEVEL = 2


def _on_half_divisions(images: Sequence[mpq], beat: _Beat) -> bool:
    half = (beat.end - beat.start) / (2 * max(beat.divisions, 1))
    return all(((image - beat.start) / half).denominator == 1 for image in images)


def _maps_straight(positions: Sequence[mpq], beat: _Beat, spans: Sequence[Interval]) -> bool:
    a, b = beat.source
    here = [span for span in spans if span[0] < b and span[1] > a]
    if here:
        reached = a
        for start, end in here:
            if start > reached:
                return False
            reached = max(reached, end)
        return reached >= b and here[0][0] == a and reached == b
    if not beat.kind:
        return False
    shares = [(position - a) / (b - a) for position in positions]
    grid = int(lcm(1, *(share.denominator for share in shares)))
    if beat.kind == "simple":
        return not is_power_of_two(grid)
    return grid > 1 and grid % 3 != 0


def fit_beat(
    images: Sequence[mpq],
    length: mpq,
    ternary: bool,
    *,
    pinned: frozenset[int] = frozenset(),
    filled: bool = True,
) -> tuple[mpq, ...]:
    """Place the exact images of a beat's onsets on the grid of the beat.

    ``images`` rise strictly from 0 and stay below ``length``; ``pinned`` are the indices of those
    that stood on a beat and do not move where their image is a place of the grid; ``filled`` says
    that what stands before the first onset is written too.
    """
    divisions = 3 if ternary else 2
    division = length / divisions
    scaled = tuple(image / division for image in images)
    return tuple(place * division for place in _place(scaled, divisions, pinned, filled))


@lru_cache(maxsize=65536)
def _place(
    images: tuple[mpq, ...], divisions: int, pinned: frozenset[int], filled: bool
) -> tuple[mpq, ...]:
    """The best placement, in divisions; the images themselves where no grid has room."""
    for grid in _GRIDS:
        placed = _on_grid(images, divisions, grid, pinned, filled)
        if placed is not None:
            return tuple(mpq(cell, grid) for cell in placed)
    return images


def _on_grid(
    images: tuple[mpq, ...], divisions: int, grid: int, pinned: frozenset[int], filled: bool
) -> tuple[int, ...] | None:
    cells = divisions * grid
    exact = [image * grid for image in images]
    free = range(1, cells)
    lead: tuple[int, ...] = ()
    if exact[0] == 0:
        lead, exact = (0,), exact[1:]
    fixed = {
        i - len(lead): int(images[i] * grid)
        for i in pinned
        if i >= len(lead) and (images[i] * grid).denominator == 1
    }
    best: tuple[tuple[int, mpq, tuple[int, ...]], tuple[int, ...]] | None = None
    for chosen in combinations(free, len(exact)):
        if any(chosen[i] != cell for i, cell in fixed.items()):
            continue
        moves = [abs(cell - image) for cell, image in zip(chosen, exact, strict=True)]
        if any(move > grid for move in moves):
            continue
        whole = lead + chosen
        written = whole if whole[0] == 0 or not filled else (0, *whole)
        rank = (_symbols(written, cells, grid, divisions), sum(moves, mpq(0)), whole)
        if best is None or rank < best[0]:
            best = (rank, whole)
    return None if best is None else best[1]


def _symbols(places: tuple[int, ...], cells: int, grid: int, divisions: int) -> int:
    """The number of symbols that what begins at these places of a beat is written with."""
    total = 0
    for start, end in pairwise((*places, cells)):
        total += symbols_needed(end - start)
        off = start % grid
        if divisions == 3 and off and start - off + grid < end:
            total += 1
    return total


@lru_cache(maxsize=256)
def symbols_needed(units: int) -> int:
    """The least number of plain and dotted values that add up to ``units`` equal binary units."""
    count = 0
    while units:
        top = 1 << (units.bit_length() - 1)
        units -= top
        if units & (top >> 1):
            units -= top >> 1
        count += 1
    return count
