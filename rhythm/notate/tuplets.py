"""Where tuplets are needed, and which: from bare durations to brackets.

A boundary between notes that no halving of the metre reaches needs a tuplet around it. Of the
stretches that could be one (cells of the metric tree, or plain values laid from the last boundary
on the grid) the one that takes the fewest symbols is chosen, then a beat, then the shortest. In a
plain span ``n`` notes stand in the time of the largest power of two below ``n`` (3:2, 5:4, 7:4,
9:8); in a dotted one of three times a power of two (2:3, 4:3, 5:6, 7:6, 8:6). What is still off
the grid inside a tuplet is a tuplet in it. A ratio the source wrote is kept where it still holds.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Iterator, Sequence, Set
from itertools import groupby, pairwise
from typing import NamedTuple

from gmpy2 import lcm, mpq

from rhythm.exact.tree import OFF, Node
from rhythm.notate.bar_items import Sign, Slot
from rhythm.notate.irregular_tuplets import bind_loose, loose_signs, tuplet_normal
from rhythm.notate.metric_grid import Grid, is_dyadic, odd_part, unit_grid
from rhythm.notate.rests import fill_rest
from rhythm.notate.values import symbol_of, write_note
from rhythm.score.model import Tuplet

__all__ = ["Window", "window_over", "write_slots"]

_SHORTEST_SPAN = mpq(1, 1024)  # the shortest symbol: nothing shorter holds two
_DEEPEST = 2
_MOST_UNITS = 99
_HIDING = 3
_USUAL = 7
_LEAST = mpq(1, 4096)
_UPBEATS = (mpq(1, 16), mpq(1, 8), mpq(1, 4), mpq(1, 2))
_QUARTER = mpq(1, 4)
_ZERO = mpq(0)


class Window(NamedTuple):
    """A tuplet to be: ``actual`` units in the time of ``normal`` over ``length`` from ``start``."""

    start: mpq
    length: mpq
    actual: int
    normal: int

    @property
    def end(self) -> mpq:
        """Start plus length."""
        return self.start + self.length

    @property
    def unit(self) -> mpq:
        """The written value of one unit."""
        return self.length / self.normal


def write_slots(grid: Grid, slots: Sequence[Slot], depth: int = 0) -> list[Sign]:
    """The symbols of ``slots``, which stand in order and do not overlap."""
    edges = sorted({edge for slot in slots for edge in (slot.start, slot.end)})
    off = [edge for edge in edges if grid.rank(edge) == OFF]
    hinted = any(slot.hints for slot in slots)
    free = not grid.tuplet and not any(slot.bound for slot in slots)
    if off and free and any(slot.rest for slot in slots):
        slots = _rests_by_beat(grid, slots, edges)
        edges = sorted({edge for slot in slots for edge in (slot.start, slot.end)})
    usual = _usual_windows(grid, slots, edges, off) if free else []
    if not off and not hinted and not usual:
        return list(_plain(grid, slots))
    windows = _hinted_windows(grid, slots, depth) if hinted else []
    windows += [u for u in usual if not any(w.start < u.end and u.start < w.end for w in windows)]
    off = [e for e in off if not any(w.start < e < w.end for w in windows)]
    if off:
        windows += _needed_windows(grid, slots, edges, off, windows, depth)
    windows.sort()
    return _write_around(grid, slots, windows, depth)


def _rests_by_beat(grid: Grid, slots: Sequence[Slot], edges: Sequence[mpq]) -> list[Slot]:
    """Silence that ends or begins inside the tuplet of one beat is written apart from that tuplet.

    4 4r 3:2(8r 8 8), and not one long rest of a larger tuplet that hides the beat.
    """
    found: list[Slot] = []
    for slot in slots:
        cuts: list[mpq] = []
        if slot.rest:
            within = grid.rank(slot.start), grid.rank(slot.end)
            if within[0] != OFF and within[1] == OFF:
                cuts = [beat.start for beat in _tuplet_beats(grid, slot.end, edges)]
            elif within[0] == OFF and within[1] != OFF:
                cuts = [beat.end for beat in _tuplet_beats(grid, slot.start, edges)]
        cuts = sorted(cut for cut in cuts if slot.start < cut < slot.end)
        for start, end in pairwise((slot.start, *cuts, slot.end)):
            found.append(slot._replace(start=start, end=end))
    return found


def _tuplet_beats(grid: Grid, edge: mpq, edges: Sequence[mpq]) -> list[Node]:
    """The beat around ``edge``, or its quarter, where a tuplet over just that would hold it."""
    beat = next((b for b in grid.beats(edge, edge + _LEAST) if b.start < edge < b.end), None)
    if beat is None or beat.compound:
        return []
    while beat.length > _QUARTER:
        beat = next(part for part in beat.parts if edge < part.end)
        if edge <= beat.start:
            return []
    inside = [(e - beat.start) / beat.length for e in edges if beat.start < e < beat.end]
    count = odd_part(int(lcm(*(share.denominator for share in inside))))
    known = set(edges)
    # One of its ends may be what this rest covers; the other must be a note's.
    ends = [beat.start in known, beat.end in known]
    return [beat] if any(ends) and count <= _USUAL else []


def window_over(start: mpq, length: mpq, actual: int) -> Window | None:
    """The usual tuplet of ``actual`` units over ``length``: None where no plain unit fits."""
    dotted = int(length.numerator) == 3
    if not dotted and int(length.numerator) & (int(length.numerator) - 1):
        return None
    normal = tuplet_normal(actual, dotted)
    window = Window(start, length, actual, normal)
    return window if actual != normal and symbol_of(window.unit, 0) else None


def _plain(grid: Grid, slots: Iterable[Slot]) -> Iterator[Sign]:
    for slot in slots:
        if slot.rest:
            symbols = fill_rest(grid, slot.start, slot.end)
        else:
            symbols = write_note(grid, slot.start, slot.end, slot.dots)
        for symbol in symbols:
            yield Sign(slot.item, *symbol)


def _clip(slots: Iterable[Slot], start: mpq, end: mpq) -> list[Slot]:
    """The parts of the slots between ``start`` and ``end``."""
    if start >= end:
        return []
    return [
        slot._replace(start=max(slot.start, start), end=min(slot.end, end))
        for slot in slots
        if slot.start < end and slot.end > start
    ]


def _write_around(
    grid: Grid, slots: Sequence[Slot], windows: Sequence[Window], depth: int
) -> list[Sign]:
    """Write what is inside each window as its tuplet, and what is between them plainly."""
    signs: list[Sign] = []
    at = min(slot.start for slot in slots)
    last = max(slot.end for slot in slots)
    for window in windows:
        signs += _write_between(grid, _clip(slots, at, window.start))
        signs += _write_inside(window, _clip(slots, window.start, window.end), depth)
        at = window.end
    signs += _write_between(grid, _clip(slots, at, last))
    return signs


def _write_between(grid: Grid, slots: Sequence[Slot]) -> list[Sign]:
    signs: list[Sign] = []
    for slot in slots:
        if OFF in (grid.rank(slot.start), grid.rank(slot.end)):
            signs += loose_signs(slot)
        else:
            signs += _plain(grid, (slot,))
    return bind_loose(signs)


def _write_inside(window: Window, slots: Sequence[Slot], depth: int) -> list[Sign]:
    if not slots:
        return []
    inner = _inner_slots(window, slots)
    signs = write_slots(unit_grid(window.actual, window.unit), inner, depth + 1)
    return [_outward(window, sign) for sign in signs]


def _inner_slots(window: Window, slots: Sequence[Slot]) -> list[Slot]:
    scale = mpq(window.actual, window.normal)
    ratio = (window.actual, window.normal)
    return [
        slot._replace(
            start=(slot.start - window.start) * scale,
            end=(slot.end - window.start) * scale,
            hints=slot.hints[1:] if slot.hints and slot.hints[0][:2] == ratio else slot.hints,
        )
        for slot in slots
    ]


def _outward(window: Window, sign: Sign) -> Sign:
    scale = mpq(window.normal, window.actual)
    inner = tuple(
        Tuplet(
            t.actual,
            t.normal,
            t.unit,
            window.start + t.offset * scale,
            t.length * scale,
            t.number + 1,
        )
        for t in sign.tuplets
    )
    own = Tuplet(window.actual, window.normal, window.unit, window.start, window.length)
    return Sign(
        sign.item,
        window.start + sign.start * scale,
        window.start + sign.end * scale,
        sign.type,
        sign.dots,
        (sign.ratio[0] * window.actual, sign.ratio[1] * window.normal),
        (own, *inner),
    )


# Choosing windows


def _hinted_windows(grid: Grid, slots: Sequence[Slot], depth: int) -> list[Window]:
    """The tuplets the source wrote, over the items they held, where their ratio still fits."""
    if depth >= _DEEPEST:
        return []
    windows: list[Window] = []
    for hint, group in groupby(slots, key=lambda slot: slot.hints[0][:3] if slot.hints else None):
        if hint is None:
            continue
        members = list(group)
        shares = [slot.hints[0].share for slot in members]
        known = [share for share in shares if share is not None]
        if len(known) == len(shares) and sum(known, _ZERO) != 1:
            continue
        start, end = members[0].start, members[-1].end
        window = Window(start, end - start, hint[0], hint[1])
        if _holds(grid, window, members, depth):
            windows.append(window)
    return windows


def _usual_windows(
    grid: Grid, slots: Sequence[Slot], edges: Sequence[mpq], off: Sequence[mpq]
) -> list[Window]:
    """The figures that are known by sight, whatever else could write them."""
    windows: list[Window] = []
    if off or grid.uneven:
        struck = {slot.start for slot in slots if not slot.rest}
        for beat in grid.beats(edges[0], edges[-1]):
            inside = edges[bisect_right(edges, beat.start) : bisect_left(edges, beat.end)]
            if grid.feel == "duple" and beat.compound:
                windows += _duplet(beat, inside)
                continue
            if grid.feel == "triple" and _is_in_three(grid, beat, inside):
                count = 3
            else:
                count = _usual_count(grid, beat, inside, struck)
            if count:
                window = window_over(beat.start, beat.length, count)
                windows += [window] if window else []
    return windows


def _duplet(cell: Node, inside: Sequence[mpq]) -> list[Window]:
    """Two in the time of three, or four in the time of six: an eighth is half a beat in both."""
    places = {4 * (edge - cell.start) / cell.length for edge in inside}
    if not places or not all(is_dyadic(place) for place in places):
        return []
    actual, normal = (4, 6) if places == {1, 2, 3} else (2, 3)
    window = Window(cell.start, cell.length, actual, normal)
    return [window] if symbol_of(window.unit, 0) else []


def _is_in_three(grid: Grid, beat: Node, inside: Sequence[mpq]) -> bool:
    """Is a simple beat divided in three, each third into halves, quarters...?"""
    places = [3 * (edge - beat.start) / beat.length for edge in inside]
    return (
        not beat.triple
        and any(grid.rank(edge) == OFF for edge in inside)
        and all(odd_part(int(place.denominator)) == 1 for place in places)
    )


def _usual_count(grid: Grid, beat: Node, inside: Sequence[mpq], struck: Set[mpq]) -> int:
    """Two, four or eight in the time of three, a triplet whose middle note is cut, six; else 0.

    The even ones are for compound beats cut evenly; a dotted note before a rest is no duplet. The
    cut triplet would else pass for two quick ones, which six even notes are: editors part them.
    Uneven ones in both halves are one sextuplet, not two brackets over two notes each.
    """
    if not inside:
        return 0
    if beat.compound:
        eighth = beat.length / 8
        places = {(edge - beat.start) / eighth for edge in inside}
        if any(place.denominator != 1 for place in places):
            return 0
        if places == {4} or not places <= {2, 4, 6}:
            if not struck >= set(inside):
                return 0
            if places != {4}:
                return 8
            return 2 if grid.says("duplet") == "2:3" else 0
        return 4
    if beat.length > _QUARTER:
        return 0
    sixth = beat.length / 6
    sixths = [place for place in range(1, 6) if beat.start + place * sixth in inside]
    if 3 not in sixths or len(sixths) != len(inside) or len(sixths) < 3:
        return 0
    if not ({2, 4} < set(sixths) or sixths[0] < 3 < sixths[-1]):
        return 0  # one half is plain: it goes under no bracket, whatever the hand
    said = grid.says("six in a beat" if len(sixths) == 5 else "sixths")
    if said:
        return 6 if said == "one 6:4" else 0
    if len(sixths) == 5:
        return 0
    if {2, 4} < set(sixths):
        return 3
    return 6 if sixths[0] < 3 < sixths[-1] else 0


def _holds(grid: Grid, window: Window, members: Sequence[Slot], depth: int) -> bool:
    if symbol_of(window.unit, 0) is None or OFF in (grid.rank(window.start), grid.rank(window.end)):
        return False
    if any(a.end != b.start for a, b in pairwise(members)):
        return False
    if all(slot.bound for slot in members):
        return True
    if odd_part(window.actual) > 1 and not any(
        grid.rank(slot.start) == OFF for slot in members[1:]
    ):
        return False  # plain values say the same
    inside = _write_inside(window, members, depth)
    if any(len(slot.hints) > 1 for slot in members):
        # Brackets within a bracket say how the group is made: one bracket for all may cost less.
        return all(sign.tuplets for sign in inside)
    if any(sign.ratio != (window.actual, window.normal) for sign in inside):
        return False
    bare = [slot._replace(hints=()) for slot in members]
    return _cost(inside) <= _cost(write_slots(grid, bare, depth + 1))


def _needed_windows(
    grid: Grid,
    slots: Sequence[Slot],
    edges: Sequence[mpq],
    off: Sequence[mpq],
    taken: Sequence[Window],
    depth: int,
) -> list[Window]:
    """For each run of edges off the grid, the cheapest tuplets that make it writable."""
    if depth >= _DEEPEST:
        return []
    windows: list[Window] = []
    for left, right, run in _runs(grid, edges, off):
        settled = [*taken, *windows]
        others = [edge for edge in off if not left <= edge <= right]
        shortest = min(slot.end - slot.start for slot in _clip(slots, left, right))
        candidates = [
            spans
            for spans in _candidates(grid, left, right, run, shortest)
            if not any(w.start < t.end and t.start < w.end for w in spans for t in settled)
            and not any(w.start < e < w.end for w in spans for e in others)
            and not any(w.start < root.start < w.end for w in spans for root in grid.roots(*w.ends))
        ]
        first = min((spans[0].start for spans in candidates), default=left)
        last = max((spans[-1].end for spans in candidates), default=right)
        concerned = _clip(slots, min(first, left), max(last, right))
        best: list[Window] = []
        best_cost = _full_cost(grid, concerned, best, depth)
        for candidate in candidates:
            for choice in _with_ratios(candidate, run):
                cost = _full_cost(grid, concerned, choice, depth)
                if cost < best_cost:
                    best, best_cost = choice, cost
        windows += best
    return windows


def _runs(
    grid: Grid, edges: Sequence[mpq], off: Sequence[mpq]
) -> Iterator[tuple[mpq, mpq, list[mpq]]]:
    """Each run of edges off the grid, with the edges on the grid (or the last ones) about it."""
    missing = set(off)
    run: list[mpq] = []
    left = grid.beats(edges[0], edges[-1])[0].start if edges[0] in missing else edges[0]
    for edge in edges:
        if edge in missing:
            run.append(edge)
            continue
        if run:
            yield left, edge, run
            run = []
        left = edge
    if run:
        yield left, grid.beats(left, run[-1])[-1].end, run


class _TupletSpan(NamedTuple):
    start: mpq
    length: mpq

    @property
    def end(self) -> mpq:
        return self.start + self.length

    @property
    def ends(self) -> tuple[mpq, mpq]:
        return self.start, self.end


def _candidates(
    grid: Grid, left: mpq, right: mpq, run: Sequence[mpq], shortest: mpq
) -> Iterator[tuple[_TupletSpan, ...]]:
    """Sets of stretches over ``shortest`` that hold every edge of ``run``, small ones first."""
    seen: set[tuple[_TupletSpan, ...]] = set()
    levels: list[tuple[_TupletSpan, ...]] = []
    cells = [c for c in grid.roots(left, right) if any(c.start < e < c.end for e in run)]
    while cells and cells[0].length > shortest:
        levels.append(tuple(_TupletSpan(c.start, c.length) for c in cells))
        cells = [p for c in cells for p in c.parts if any(p.start < e < p.end for e in run)]
    length = mpq(1)
    while length > max(shortest, _SHORTEST_SPAN):
        within = sorted({(edge - left) // length for edge in run if (edge - left) % length})
        if not (right - left) % length or length * 2 > right - left:
            levels.append(tuple(_TupletSpan(left + nth * length, length) for nth in within))
        length /= 2
    levels.append((_TupletSpan(left, right - left),))
    if left < 0:  # an upbeat begins inside a tuplet: measure from the bar line it leads to
        levels += [(_TupletSpan(right - length, length),) for length in _UPBEATS]
    for spans in sorted(levels, key=lambda spans: (sum(s.length for s in spans), -len(spans))):
        if spans and spans not in seen and spans[0].length <= 2 * (right - left):
            seen.add(spans)
            yield spans


def _with_ratios(spans: Sequence[_TupletSpan], run: Sequence[mpq]) -> Iterator[list[Window]]:
    """The spans as tuplets: first of as many units as the edges ask for, then fewer, to nest in."""
    options: list[list[Window]] = []
    for span in spans:
        shares = [(edge - span.start) / span.length for edge in run if span.start < edge < span.end]
        count = odd_part(int(lcm(*(share.denominator for share in shares))))
        if count > _MOST_UNITS:
            return
        counts = [count, *(d for d in range(3, count, 2) if count % d == 0)]
        if count == 1:
            counts = [2, 4]
        found = [w for n in counts if (w := window_over(span.start, span.length, n))]
        if not found:
            return
        options.append(found)
    for i in range(max(map(len, options), default=0)):
        yield [found[min(i, len(found) - 1)] for found in options]


def _cost(signs: Sequence[Sign]) -> int:
    """Two for a symbol, one for a dot and for a tuplet inside another."""
    nested = {t for sign in signs for t in sign.tuplets if t.number > 1}
    return 2 * len(signs) + len(nested) + sum(sign.dots for sign in signs)


def _full_cost(
    grid: Grid, slots: Sequence[Slot], windows: Sequence[Window], depth: int
) -> tuple[int, int, int, mpq]:
    bare = [slot._replace(hints=()) for slot in slots]
    signs = _write_around(grid, bare, windows, depth)
    meant = {w.start for w in windows}
    loose = sum(1 for sign in signs if sign.tuplets and sign.tuplets[0].offset not in meant)
    hidden = sum(_hidden_beats(grid, w, slots) + _is_broken(grid, w, slots) for w in windows)
    hidden += sum(2 for w in windows if w.actual > _USUAL)
    hidden += sum(_HIDING for w in windows if w.start < 0)
    odd = sum(1 for w in windows if w.length != grid.beats(w.start, w.end)[0].length)
    spread = sum((w.length for w in windows), _ZERO)
    return loose, _cost(signs) + hidden, odd, spread


def _hidden_beats(grid: Grid, window: Window, slots: Sequence[Slot]) -> int:
    """What it costs that a tuplet over several beats could be one for each, or is cut finer."""
    if grid.tuplet:
        return 0
    beat = grid.beats(window.start, window.end)[0].length
    if window.length <= beat:
        return 0
    step = window.length / window.actual
    for_each = (beat / step).denominator == 1
    finer = any((edge - window.start) % step for edge in _inner_edges(window, slots))
    astride = not grid.uneven and max(grid.rank(window.start), grid.rank(window.end)) > grid.pulse
    return 3 * _HIDING if for_each or finer or astride else 0


def _is_broken(grid: Grid, window: Window, slots: Sequence[Slot]) -> bool:
    """True for 8 3:2(16 8) in one beat: 3:2(8. 16 8) shows the triplet that it is part of."""
    if grid.tuplet or window.actual != 3:
        return False
    beat = grid.beats(window.start, window.end)[0]
    return (
        not beat.compound
        and window.start == beat.start + beat.length / 2
        and window.end == beat.end
        and _inner_edges(window, slots) == {window.start + window.length / 3}
    )


def _inner_edges(window: Window, slots: Sequence[Slot]) -> set[mpq]:
    edges = {edge for slot in slots for edge in (slot.start, slot.end)}
    return {edge for edge in edges if window.start < edge < window.end}
