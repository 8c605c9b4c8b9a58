"""Which note values stand whole, and where the others are split and tied.

A player reads a rhythm by its beats: a written value may not hide a boundary stronger than the one
it starts on. The rules are those of the handbooks (Gould, Behind Bars; Read, Music Notation): a
note may cross weaker boundaries than its own; a plain value that lies evenly about the boundary it
crosses stays whole (the syncopations 1/8-1/4-1/8 and 1/4-1/2-1/4); so does a dotted value that
starts on a beat, or ends on a boundary at least as strong as the one it crosses; anything else is
split at the strongest boundary it crosses. Where the beat is a half note its quarters count as
beats too, and a quarter may lie about a beat (8 4 4 4 8 in 2/2). Beats of three divisions, and the
groups of additive metres, are never crossed from or to their inside.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from itertools import pairwise
from typing import NamedTuple

from gmpy2 import mpq

from rhythm.exact.tree import Node
from rhythm.exact.values import symbol
from rhythm.notate.metric_grid import Grid

__all__ = ["Symbol", "crossed", "split_note", "symbol_of", "write_note"]

_QUARTER = mpq(1, 4)
_MOST_METRES = 64  # a note over more is cut at every one: nobody looks for the best places
_PLACES = {0: "bar line", 1: "group", 2: "beat", 3: "division"}


class Symbol(NamedTuple):
    """One written symbol in the time of its grid: start, end, MusicXML type, dots."""

    start: mpq
    end: mpq
    type: str
    dots: int


@lru_cache(maxsize=65536)
def symbol_of(length: mpq, dots: int = 1) -> tuple[str, int] | None:
    """The type and dots of a plain or dotted value, else None."""
    return symbol(length, dots)


def crossed(grid: Grid, start: mpq, end: mpq) -> tuple[int, list[mpq], Node | None]:
    """The strongest boundaries strictly between ``start`` and ``end``, and the cell they divide.

    Answers their rank, their positions in order, and the cell (None between whole metres).
    """
    cells: tuple[Node, ...] = tuple(grid.roots(start, end))
    parent: Node | None = None
    while True:
        inside = [cell for cell in cells if start < cell.start < end]
        if inside:
            rank = min(cell.rank for cell in inside)
            return rank, [cell.start for cell in inside if cell.rank == rank], parent
        parent = next(cell for cell in cells if cell.start <= start < cell.end)
        cells = parent.parts


def _stands_whole(
    grid: Grid,
    start: mpq,
    end: mpq,
    dots: int,
    strongest: tuple[int, list[mpq], Node | None],
) -> bool:
    rank, places, parent = strongest
    first, last = grid.rank(start), grid.rank(end)
    if grid.uneven and rank <= 2 and (first > 2 or last > 2):
        return False
    if first <= rank:
        plain = not dots or grid.tuplet or grid.uneven
        return plain or grid.says("dotted note", _PLACES.get(rank, "")) == "whole"
    even = parent is None or len(parent.parts) != 2 or parent.is_even_pair
    if dots:
        whole = last <= rank or (dots == 1 and even and first == rank + 1 <= grid.pulse)
        question = "dotted syncopation"
    else:
        reach = rank + 1 if grid.pulse == 2 or end - start < _QUARTER else rank + 2
        whole = even and first <= reach and (start + end) / 2 in places
        question = "syncopation"
        if not whole and rank == 1 and first == reach + 1 and _is_about(start, end, places):
            return even and not grid.tuplet and grid.says("middle") == "whole"
    return whole and (grid.tuplet or grid.says(question, _PLACES.get(rank, "")) == "whole")


def _is_about(start: mpq, end: mpq, places: Sequence[mpq]) -> bool:
    """True for a quarter that lies evenly about one of the places."""
    return end - start == _QUARTER and (start + end) / 2 in places


def write_note(grid: Grid, start: mpq, end: mpq, dots: int = 1) -> list[Symbol]:
    """As :func:`split_note`; but one plain symbol on a multiple of itself may be two tied halves.

    Beethoven wrote two tied eighths for a quarter throughout the first fugue of his op. 133.
    """
    length = end - start
    if not grid.tuplet and not (start + grid.shift) % length:
        whole, half = symbol_of(length, 0), symbol_of(length / 2, 0)
        if whole and half and grid.says("two for one", whole[0]) == "two":
            middle = start + length / 2
            return [Symbol(start, middle, *half), Symbol(middle, end, *half)]
    return split_note(grid, start, end, dots)


def split_note(grid: Grid, start: mpq, end: mpq, dots: int = 1) -> list[Symbol]:
    """The tied symbols of a note from ``start`` to ``end``, at most ``dots`` dots each.

    Both ends must lie on binary subdivisions of the grid.
    """
    found = symbol_of(end - start, dots)
    strongest = crossed(grid, start, end)
    if found is not None and _stands_whole(grid, start, end, found[1], strongest):
        return [Symbol(start, end, *found)]
    rank, places, parent = strongest
    if parent is None and len(places) > _MOST_METRES:
        bars = pairwise((start, *places, end))
        return [symbol for bar in bars for symbol in split_note(grid, *bar, dots)]
    cut = places[0]
    if grid.rank(start) <= rank:
        cut = next((p for p in reversed(places) if symbol_of(p - start, dots)), places[-1])
    symbols = [*split_note(grid, start, cut, dots), *split_note(grid, cut, end, dots)]
    return _in_two(grid, start, end, dots) or symbols if len(symbols) == 3 else symbols


def _in_two(grid: Grid, start: mpq, end: mpq, dots: int) -> list[Symbol]:
    """Two symbols, cut at a beat, where the strongest boundary would make more: 2~ 8. in 4/4."""
    for beat in grid.beats(start, end):
        if start < beat.start < end:
            halves = (start, beat.start), (beat.start, end)
            found = [symbol_of(b - a, dots) for a, b in halves]
            if all(
                symbol and _stands_whole(grid, a, b, symbol[1], crossed(grid, a, b))
                for symbol, (a, b) in zip(found, halves, strict=True)
            ):
                return [Symbol(*half, *s) for half, s in zip(halves, found, strict=True) if s]
    return []
