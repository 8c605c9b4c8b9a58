"""Fit one beat: the places of every instant at which any voice begins or ends something in it.

All voices are placed together. An *instant* of the source gets one place, so what is struck
together stays together; no two instants change their order; and two may meet only where a tuplet
and a plain division do (the second of two eighths on the third of a triplet), or where a note of
one voice only ends, never inside a voice.

The rule (this library's own; its worked values are common practice):

1. Where every note of every voice is one plain or dotted symbol as the map has it, the map's own
   image stands: an uneven figure keeps its character, also on a finer grid.
2. Otherwise the instants are placed on the grid of half divisions (sixteenths where the division
   is an eighth), none moved by more than one division. What stood on a beat stays on it, and what
   stood off the beat stays off. Chosen is the least number of written symbols, summed over the
   voices, then the least displacement, then the earlier placement. A tie costs a symbol; in a
   ternary beat a note that does not start on a division and crosses one costs one more. An even
   pair keeps its foot: where the map makes it long and short, other than long and short costs two.
3. Where that grid has no room, quarter divisions are tried, then the nearest places on eighths of
   a division; at last the image itself, bent only where it would change the order.

Conventions
-----------
Places are counted in divisions of the beat from its start. A beat of two or three divisions.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from itertools import pairwise

from gmpy2 import mpq

from rhythm.exact.frozen import dataclass

__all__ = ["Beat", "Pattern", "place", "symbols_needed"]

_GRIDS = (2, 4)
"""Places in a division on which all placements are looked at, in this order."""

_FINE = (8, 16)
"""Places in a division on which the nearest is taken."""


@dataclass(frozen=True, slots=True)
class Pattern:
    """What voices alike show in a beat: indices of instants, and how many voices do.

    ``filled`` says that what stands before the first instant is written too.
    """

    instants: tuple[int, ...]
    filled: bool
    voices: int


@dataclass(frozen=True, slots=True)
class Beat:
    """The whole pattern of a beat; ``images`` rise strictly from 0 or later.

    ``pinned`` are the indices of what stood on a beat: it does not move where its image is a place
    of the grid. ``settled`` are places that are given (index, place). ``tuplet`` are the indices of
    instants that only tuplets have. ``foot`` is the instant where the map bends, the middle of an
    even pair. ``finest`` is the finest grid on which the map's own image may stand. At ``silent``
    instants notes end, and none begins.
    """

    images: tuple[mpq, ...]
    divisions: int
    patterns: tuple[Pattern, ...]
    pinned: tuple[int, ...] = ()
    settled: tuple[tuple[int, mpq], ...] = ()
    tuplet: tuple[int, ...] = ()
    foot: int | None = None
    finest: int = 8
    silent: tuple[int, ...] = ()


@lru_cache(maxsize=65536)
def place(beat: Beat, *, free: bool = True) -> tuple[mpq, ...]:
    """The place of every instant; not ``free``: no grid is looked at."""
    settled = dict(beat.settled)
    images = tuple(settled.get(i, image) for i, image in enumerate(beat.images))
    meeting = _Meeting(beat)
    in_order = meeting.allows(images)
    if not free:
        return images if in_order else _bent(beat, settled)
    plain: tuple[int, mpq, tuple[mpq, ...]] | None = None
    if in_order:
        for grid in (n for n in (*_GRIDS, *_FINE) if n <= beat.finest):
            cells = [image * grid for image in images]
            if all(c.denominator == 1 for i, c in enumerate(cells) if i not in settled):
                symbols = _symbols_of(beat, cells, grid)
                snaps = sum(
                    _snaps(p, cells, grid, beat.divisions) * p.voices for p in beat.patterns
                )
                if symbols - snaps == sum(_notes(p, cells) * p.voices for p in beat.patterns):
                    return images
                if grid <= _GRIDS[-1]:
                    plain = symbols, mpq(0), images
                break
    for grid in _GRIDS:
        found = _on_grid(beat, settled, meeting, grid)
        if found is not None:
            return found[2] if plain is None or found < plain else plain[2]
    for grid in _FINE:
        nearest = _nearest(beat, settled, meeting, grid)
        if nearest is not None:
            return nearest
    return images if in_order else _bent(beat, settled)


class _Meeting:
    """Which instants may come to stand in one place, and whether an order of places is kept."""

    def __init__(self, beat: Beat) -> None:
        self._tuplet = frozenset(beat.tuplet)
        self._silent = frozenset(beat.silent)
        shared: set[int] = set()  # what is struck by a tuplet and a plain voice alike
        self._together: set[tuple[int, int]] = set()
        for pattern in beat.patterns:
            inside = pattern.instants
            if not self._tuplet.isdisjoint(inside):
                shared.update(i for i in inside if i not in self._tuplet)
            self._together.update((a, b) for n, a in enumerate(inside) for b in inside[n + 1 :])
        self._neither = shared

    def may(self, earlier: int, later: int) -> bool:
        """May these two, the earlier first, stand in one place?"""
        if (earlier, later) in self._together:
            return False
        if earlier in self._silent or later in self._silent:
            return True
        if (earlier in self._tuplet) == (later in self._tuplet):
            return False
        return earlier not in self._neither and later not in self._neither

    def allows(self, places: Sequence[mpq]) -> bool:
        """Do the places keep the order, meeting only where that is allowed?"""
        for i in range(1, len(places)):
            if places[i] < places[i - 1]:
                return False
            j = i - 1
            while j >= 0 and places[j] == places[i]:
                if not self.may(j, i):
                    return False
                j -= 1
        return True


def _bent(beat: Beat, settled: dict[int, mpq]) -> tuple[mpq, ...]:
    """The image, stretched between the settled places so that it keeps the order."""
    ends = mpq(beat.divisions)
    known = [(i, beat.images[i], p) for i, p in sorted(settled.items())]
    done: list[mpq] = []
    for i, image in enumerate(beat.images):
        if i in settled:
            done.append(settled[i])
            continue
        before = max((k for k in known if k[0] < i), default=(-1, mpq(0), mpq(0)))
        after = min((k for k in known if k[0] > i), default=(len(beat.images), ends, ends))
        share = (image - before[1]) / (after[1] - before[1])
        done.append(before[2] + share * (after[2] - before[2]))
    return tuple(done)


def _on_grid(
    beat: Beat, settled: dict[int, mpq], meeting: _Meeting, grid: int
) -> tuple[int, mpq, tuple[mpq, ...]] | None:
    """The best placement on a grid: its symbols, its displacement, the places."""
    cells = beat.divisions * grid
    exact = [image * grid for image in beat.images]
    choices: list[Sequence[mpq]] = []
    for i, image in enumerate(exact):
        if i in settled:
            choices.append((settled[i] * grid,))
        elif image == 0 or (i in beat.pinned and image.denominator == 1):
            choices.append((image,))
        else:
            low, high = max(image - grid, mpq(1)), min(image + grid, mpq(cells - 1))
            choices.append([mpq(c) for c in range(-int(-low // 1), int(high // 1) + 1)])
        if not choices[-1]:
            return None
    # An upper bound from what comes later keeps the search small.
    ceilings = [choices[-1][-1]]
    for options in reversed(choices[:-1]):
        ceilings.append(min(options[-1], ceilings[-1]))
    ceilings.reverse()
    best: tuple[int, mpq, tuple[mpq, ...]] | None = None
    chosen: list[mpq] = []
    costs: dict[tuple[mpq, mpq], int] = {}
    free = [i for i in range(len(exact)) if i not in settled]
    patterns = [p for p in beat.patterns if any(i not in settled for i in p.instants)]

    def measure() -> tuple[int, mpq, tuple[mpq, ...]]:
        symbols = 0
        for pattern in patterns:
            cost = _symbols(pattern, chosen, grid, beat.divisions, costs)
            symbols += pattern.voices * (cost + _limp(beat, pattern, chosen, grid))
        moves = sum((abs(chosen[i] - exact[i]) for i in free), mpq(0))
        return symbols, moves, tuple(chosen)

    def extend(i: int) -> None:
        nonlocal best
        if i == len(choices):
            rank = measure()
            if best is None or rank < best:
                best = rank
            return
        for cell in choices[i]:
            if cell > ceilings[i]:
                break
            if chosen:
                if cell < chosen[-1]:
                    continue
                j = i - 1
                while j >= 0 and chosen[j] == cell and meeting.may(j, i):
                    j -= 1
                if j >= 0 and chosen[j] == cell:
                    continue
            chosen.append(cell)
            extend(i + 1)
            chosen.pop()

    extend(0)
    if best is None:
        return None
    rest = [p for p in beat.patterns if p not in patterns]
    settled_symbols = sum(
        p.voices * _symbols(p, best[2], grid, beat.divisions, costs) for p in rest
    )
    return best[0] + settled_symbols, best[1] / grid, tuple(cell / grid for cell in best[2])


def _nearest(
    beat: Beat, settled: dict[int, mpq], meeting: _Meeting, grid: int
) -> tuple[mpq, ...] | None:
    """Every free instant on the nearest place that is left for it, from the first to the last."""
    cells = beat.divisions * grid
    found: list[mpq] = []
    for i, image in enumerate(beat.images):
        if i in settled or image == 0:
            found.append(settled.get(i, image))
            continue
        low = found[-1] * grid if found else mpq(0)
        nearest = int((image * grid + mpq(1, 2)) // 1)
        cell = max(nearest, int(low // 1) + 1, 1)
        found.append(mpq(min(cell, cells - 1), grid))
    return tuple(found) if meeting.allows(found) else None


def _limp(beat: Beat, pattern: Pattern, places: Sequence[mpq], grid: int) -> int:
    """What it costs where an even pair no longer goes the way the map sends it."""
    foot = beat.foot
    if foot is None or pattern.instants not in ((foot,), (0, foot)):
        return 0
    middle = mpq(beat.divisions * grid, 2)
    image, place = beat.images[foot] * grid - middle, places[foot] - middle
    return 2 if (image > 0) != (place > 0) or (image < 0) != (place < 0) else 0


def _snaps(pattern: Pattern, places: Sequence[mpq], grid: int, divisions: int) -> int:
    """How many dotted notes of the pattern close two divisions of three behind a short note.

    One symbol writes such a snap (16th, dotted eighth), though it does not begin on a division.
    """
    starts = [*(places[i] for i in pattern.instants), mpq(divisions * grid)]
    return sum(
        divisions == 3 and b - a == mpq(3 * grid, 2) and b % grid == 0 and grid > 1
        for a, b in pairwise(starts)
    )


def _notes(pattern: Pattern, places: Sequence[mpq]) -> int:
    """How many symbols the pattern has at the least."""
    first = places[pattern.instants[0]]
    return len(pattern.instants) + (1 if pattern.filled and first > 0 else 0)


def _symbols_of(beat: Beat, cells: Sequence[mpq], grid: int) -> int:
    costs: dict[tuple[mpq, mpq], int] = {}
    return sum(p.voices * _symbols(p, cells, grid, beat.divisions, costs) for p in beat.patterns)


def _symbols(
    pattern: Pattern,
    places: Sequence[mpq],
    grid: int,
    divisions: int,
    costs: dict[tuple[mpq, mpq], int],
) -> int:
    """The number of symbols that one voice's part of the beat is written with."""
    starts = [places[i] for i in pattern.instants]
    if pattern.filled and starts[0] > 0:
        starts.insert(0, mpq(0))
    starts.append(mpq(divisions * grid))
    total = 0
    for pair in pairwise(starts):
        cost = costs.get(pair)
        if cost is None:
            cost = costs[pair] = _cost(*pair, grid, divisions)
        total += cost
    return total


def _cost(start: mpq, end: mpq, grid: int, divisions: int) -> int:
    length = end - start
    if length.denominator != 1 or start.denominator != 1:
        return 3  # beside the grid: a plain voice that shares an instant with a tuplet
    cost = symbols_needed(int(length))
    off = start % grid
    if divisions == 3 and off and start - off + grid < end:
        cost += 1
    return cost


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
