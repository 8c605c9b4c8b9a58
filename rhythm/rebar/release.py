"""Tuplets released: notes last what they look like, in bars whose metres hold them.

Conventions
-----------
A *region* is a stretch of time under brackets, of any voice, without a gap or a seam that all
brackets share: one bracket, or several that overlap. A *stretch* is by how much longer time takes
there: N/M under a bracket N:M. Positions are whole notes from the passage's start.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from itertools import accumulate, pairwise
from typing import NamedTuple

from gmpy2 import lcm, mpq

from rhythm.exact.errors import MusicError, Place
from rhythm.exact.frozen import dataclass
from rhythm.exact.metre import Metre, Term
from rhythm.exact.metre_of_length import simplest_metre
from rhythm.exact.time_map import TimeMap
from rhythm.exact.tree import FINEST
from rhythm.notate.metric_grid import odd_part
from rhythm.rebar.bar_plan import BarPlan, starts
from rhythm.rebar.passage import Passage, PlacedEvent, VoiceLine
from rhythm.rebar.rebar import lift_bars
from rhythm.rebar.rebuilding import settle
from rhythm.rebar.telling import counted, outcome, redrawn
from rhythm.score.model import Piece, Score
from rhythm.score.outcome import Fact, Outcome, Report
from rhythm.score.select import Bars

__all__ = ["WAYS", "dissolve"]

_QUARTER = mpq(1, 4)

WAYS = {"written": mpq(1), "halved": mpq(1, 2)}
"""What share of what they look like notes last once released."""


class _Bracketed(NamedTuple):
    """A written note in a tuplet: start, end, ratio; and its outermost bracket.

    ``actual`` counts the units of a bracket that stands alone; it is 0 in nested ones.
    """

    start: mpq
    end: mpq
    ratio: mpq
    opens: mpq
    closes: mpq
    actual: int


@dataclass(frozen=True, slots=True)
class _Region:
    """``steps`` are stretches, each with where it ends; ``actual`` counts a lone bracket's units.

    ``actual`` is 0 where several brackets overlap or their ratio is not that of the stretch.
    """

    start: mpq
    end: mpq
    steps: tuple[tuple[mpq, mpq], ...]
    actual: int

    @property
    def changes(self) -> bool:
        """Whether anything is stretched."""
        return any(factor != 1 for _, factor in self.steps)


class _Cell(NamedTuple):
    """A beat to be: its length, the unit it is counted in, and whether it was several beats.

    ``unit`` is 0 where its length alone says how it is counted.
    """

    length: mpq
    unit: mpq
    joined: bool


def dissolve(score: Score, way: str, bars: str | Bars | None) -> Outcome[Report]:
    """Tuplets released into plain notes, in bars whose metres hold them.

    Arithmetic, ``written``: where a bracket N:M stands, time takes N/M as long for all voices, so
    its notes last what they look like; a bar of 4/4 with one triplet beat becomes 2+2+2+3/8, one
    of nothing but triplets 12/8, one of 6/8 in duplets 2/4. Under ``halved`` time takes half as
    long again: triplet eighths become plain sixteenths, and 2/4 of nothing but triplets 6/16. The
    beats under one bracket become one group: a quarter triplet and a quarter in 3/4 are four
    quarters in 4/4. Nested brackets are released together. Where voices differ so much that no
    stretch lets all notes look as they did, time is stretched as little as gives all of them plain
    values. The report has ``released``, how many stretches of brackets there were. Raises
    MusicError where there are no plain values.
    """
    share = WAYS[way]
    passage = lift_bars(score, bars)
    edges = _edges(passage)
    regions = [_region(passage, group, edges) for group in _groups(_spans(passage, share))]
    if not regions:
        return Outcome(score, None, Report(idle="there are no tuplets"))
    warp = _warp(regions, passage.length)
    released = passage.warped(warp, _released_bars(passage, warp, regions))
    settled = settle(released.each(_without_brackets), bound=True)
    words = f"{counted(len(regions), 'stretch', 'stretches')} of tuplets made plain"
    facts = [Fact("released", len(regions), words), redrawn(passage, settled)]
    return outcome(passage, settled, bars, facts)


def _without_brackets(strand: VoiceLine) -> Iterator[PlacedEvent]:
    for each in strand.laid:
        inside = any(_is_inside(piece) for piece in each.event.pieces)
        yield each.in_tuplets(()) if inside else each


def _ratio(piece: Piece) -> mpq:
    """Of all its tuplets together, without the 2:1 of a double tremolo."""
    return mpq(piece.ratio[0], piece.ratio[1]) / (2 if piece.tremolo else 1)


def _is_inside(piece: Piece) -> bool:
    """Whether it is in a tuplet; 3:2 within 2:3 lasts what it looks like and is."""
    return bool(piece.tuplets) or _ratio(piece) != 1


def _spans(passage: Passage, share: mpq) -> list[_Bracketed]:
    """Every visible written note in a tuplet, in order; each is to last this share of its look."""
    found: set[_Bracketed] = set()
    bars = passage.score.bars
    base = bars[passage.first].start if bars else mpq(0)
    for strand in passage.strands:
        for each in strand.laid:
            for piece in each.event.pieces:
                ratio = _ratio(piece) * share
                if not (_is_inside(piece) and each.event.visible):
                    continue
                bar = bars[piece.bar].start - base
                start, end = bar + piece.offset, bar + piece.end
                opens, closes, actual = start, end, 0
                if piece.tuplets:
                    outer = piece.tuplets[0]
                    opens = min(start, bar + outer.offset)
                    closes = max(end, bar + outer.offset + outer.length)
                    actual = outer.actual if len(piece.tuplets) == 1 else 0
                found.add(_Bracketed(start, end, ratio, opens, closes, actual))
    return sorted(found, key=lambda span: (span.opens, span.start))


def _groups(spans: Iterable[_Bracketed]) -> Iterator[list[_Bracketed]]:
    """The spans whose brackets overlap, together."""
    group: list[_Bracketed] = []
    end = mpq(0)
    for span in spans:
        if group and span.opens >= end:
            yield group
            group = []
        end = max(end, span.closes) if group else span.closes
        group.append(span)
    if group:
        yield group


def _region(passage: Passage, spans: Sequence[_Bracketed], everywhere: Sequence[mpq]) -> _Region:
    start, end = spans[0].opens, max(span.closes for span in spans)
    edges = [*everywhere[bisect_right(everywhere, start) : bisect_left(everywhere, end)], end]
    ratios = sorted({span.ratio for span in spans})
    for steps in (_as_written(spans, end), *([(end, ratio)] for ratio in ratios)):
        if steps and _makes_plain(start, steps, edges):
            break
    else:
        odd = int(lcm(*(odd_part(int((edge - start).denominator)) for edge in edges)))
        steps = [(end, mpq(odd, 1 << (odd.bit_length() - 1)))]
        if not _makes_plain(start, steps, edges):
            bars = passage.score.bars
            at = bisect_right([bar.start for bar in bars], bars[passage.first].start + start) - 1
            shown = " and ".join(f"{r.numerator}:{r.denominator}" for r in ratios)
            raise MusicError(
                f"no plain values hold brackets of {shown} that stand together",
                place=Place(bar=bars[at].number),
                legal="release the bars around it, with a passage of bars",
            )
    extents = {(span.opens, span.closes, span.actual) for span in spans}
    alone = len(extents) == 1 and len(ratios) == 1 and steps == [(end, ratios[0])]
    return _Region(start, end, tuple(steps), spans[0].actual if alone else 0)


def _edges(passage: Passage) -> list[mpq]:
    """Where anything visible begins or ends, in order."""
    laid = (each for strand in passage.strands for each in strand.laid if each.event.visible)
    return sorted({at for each in laid for at in (each.onset, each.end)})


def _as_written(spans: Sequence[_Bracketed], end: mpq) -> list[tuple[mpq, mpq]]:
    """Each note's own ratio while it lasts; none where two that sound together differ."""
    steps: list[tuple[mpq, mpq]] = []
    cuts = sorted({at for span in spans for at in (span.start, span.end)} | {end, spans[0].opens})
    for a, b in pairwise(cuts):
        factors = {span.ratio for span in spans if span.start <= a and b <= span.end}
        if len(factors) > 1:
            return []
        # Where the voice of a bracket is silent without a rest, its time goes on as before.
        steps.append((b, factors.pop() if factors else steps[-1][1] if steps else spans[0].ratio))
    return _merged(steps)


def _merged(steps: Sequence[tuple[mpq, mpq]]) -> list[tuple[mpq, mpq]]:
    found: list[tuple[mpq, mpq]] = []
    for end, factor in steps:
        if found and found[-1][1] == factor:
            found.pop()
        found.append((end, factor))
    return found


def _makes_plain(start: mpq, steps: Sequence[tuple[mpq, mpq]], edges: Iterable[mpq]) -> bool:
    """Whether the stretches bring every edge to where plain values reach."""
    points = [(start, mpq(0))]
    for end, factor in steps:
        at, image = points[-1]
        points.append((end, image + (end - at) * factor))
    warp = TimeMap(tuple(points))
    return all((warp(edge) / FINEST).denominator == 1 for edge in edges)


def _warp(regions: Iterable[_Region], length: mpq) -> TimeMap:
    points = [(mpq(0), mpq(0))]
    for region in regions:
        for end, factor in ((region.start, mpq(1)), *region.steps):
            at, image = points[-1]
            if end > at:
                points.append((end, image + (end - at) * factor))
    at, image = points[-1]
    if length > at:
        points.append((length, image + length - at))
    return TimeMap(tuple(points))


def _released_bars(passage: Passage, warp: TimeMap, regions: Sequence[_Region]) -> list[BarPlan]:
    """The bars at their new lengths, each with a metre of its beats' images.

    Bars that a repeat splits are one bar still; an upbeat has the metre of the bar it leads to.
    """
    changed = [region for region in regions if region.changes]
    begins = starts(passage.bars)
    plan: list[BarPlan] = []
    first = 0
    while first < len(passage.bars):
        after = first + 1
        while after < len(passage.bars) and passage.bars[after].tail:
            after += 1
        group = passage.bars[first:after]
        lines = [*begins[first:after], begins[after - 1] + group[-1].length]
        images = [warp(b) - warp(a) for a, b in pairwise(lines)]
        within = lines[0], lines[-1]
        here = [region for region in changed if region.start < within[1] and region.end > within[0]]
        if not here or group[0].metre is None or not group[0].metre.length:
            plan += [replace(bar, length=image) for bar, image in zip(group, images, strict=True)]
        else:
            metre = _released_metre(group, within, warp, here)
            plan += [
                replace(bar, length=warp(b) - warp(a), metre=metre, shift=warp(a) - warp(lines[0]))
                for bar, (a, b) in zip(group, pairwise(lines), strict=True)
            ]
        first = after
    if passage.bars[0].is_upbeat and len(plan) > 1:
        plan[0] = _leading_to(plan[1], plan[0])
    return plan


def _leading_to(bar: BarPlan, upbeat: BarPlan) -> BarPlan:
    if bar.metre is None or upbeat.length >= bar.full:
        return replace(upbeat, metre=simplest_metre(upbeat.length), shift=mpq(0))
    return replace(upbeat, metre=bar.metre, shift=bar.full - upbeat.length)


def _released_metre(
    group: Sequence[BarPlan], within: tuple[mpq, mpq], warp: TimeMap, regions: Sequence[_Region]
) -> Metre | None:
    metre, shift = group[0].metre, group[0].shift
    start, end = within
    if metre is None or end - start > metre.length:
        return simplest_metre(warp(end) - warp(start))
    beats = [start + node.start - shift for node in metre.beat_nodes]
    edges = [start, *(at for at in beats if start < at < end), end]
    kept = [at for at in edges if not any(r.start < at < r.end for r in regions)]
    kept = sorted({start, *kept, end})
    cells = []
    for a, b in pairwise(kept):
        length = warp(b) - warp(a)
        fills = [r.actual for r in regions if (r.start, r.end) == (a, b) and r.actual]
        unit = length / fills[0] if fills else mpq(0)
        cells.append(_Cell(length, unit, sum(a <= at < b for at in edges) > 1))
    return _metre_of(cells)


def _metre_of(cells: Sequence[_Cell]) -> Metre:
    """A metre with these beats: 12/8 for four of 3/8, 4/4 for 3/4 and 1/4, 2+2+3/8 for others."""
    lengths = [cell.length for cell in cells]
    if len(cells) == 1 and cells[0].unit.numerator == 1:
        return _counted(cells[0].length, cells[0].unit)
    joined = any(cell.joined for cell in cells)
    if not joined and len(set(lengths)) == 1 and lengths[0].numerator in (1, 3):
        return Metre.parse(f"{lengths[0].numerator * len(lengths)}/{lengths[0].denominator}")
    units = {cell.unit if cell.joined else cell.length for cell in cells}
    unit = max(units)
    if joined and len(units) == 1 and unit.numerator == 1 and unit >= _QUARTER:
        plain = Metre.parse(f"{sum(lengths) / unit}/{unit.denominator}")
        if _keeps_whole(plain, lengths):
            return plain
    counted = [cell.unit for cell in cells if cell.joined and cell.unit]
    bottom = max(int(lcm(*(int(each.denominator) for each in (*lengths, *counted)))), 4)
    return Metre((Term(tuple(int(length * bottom) for length in lengths), bottom),))


def _counted(length: mpq, unit: mpq) -> Metre:
    """So many units: 7/8, 6/8; but in pairs where the number is a power of two: 2/4, not 4/8."""
    count = length / unit
    while count > 2 and unit < _QUARTER and odd_part(int(count)) == 1:
        count, unit = count / 2, unit * 2
    return Metre.parse(f"{count}/{unit.denominator}")


def _keeps_whole(metre: Metre, lengths: Sequence[mpq]) -> bool:
    """Whether the groups of the metre are even, or none of its boundaries falls into a part."""
    edges = {mpq(0), *accumulate(lengths)}
    return len(set(metre.groups)) == 1 or all(at in edges for at in accumulate(metre.groups))
