"""How a stretch of silence is written: the metric tree filled from the top.

A cell of the metre that is wholly silent takes one rest where one symbol has its length, else its
parts are looked at in turn; so a rest never hides a beat. Dotted rests stand for whole compound
beats and what is made of them, for the groups of 6/4 and 9/4, and for the first three quarters of
a quarter or less; the first two divisions of a compound beat share one rest, the last two do not
(Read, Music Notation; Open Music Theory). The units of a quintuplet or septuplet make no halves: a
silence among them takes the fewest rests.
"""

from __future__ import annotations

from collections.abc import Sequence

from gmpy2 import mpq

from rhythm.exact.tree import Node
from rhythm.notate.metric_grid import Grid
from rhythm.notate.values import Symbol, symbol_of

__all__ = ["fill_rest"]

_QUARTER = mpq(1, 4)


def fill_rest(grid: Grid, start: mpq, end: mpq) -> list[Symbol]:
    """The rests that fill ``start`` to ``end``, in order."""
    found: list[Symbol] = []
    for root in grid.roots(start, end):
        if grid.tuplet and len(root.parts) > 3:
            _fill_units(grid, root.parts, start, end, found)
        else:
            _fill(grid, root, start, end, found, threes=_in_threes(root))
    return found


def _fill_units(
    grid: Grid, units: Sequence[Node], start: mpq, end: mpq, found: list[Symbol]
) -> None:
    """Fill a tuplet of five, seven or more, whose units make no halves: few rests, large first."""
    i = 0
    while i < len(units):
        first = units[i].start
        silent = [k for k in range(i, len(units)) if start <= first and units[k].end <= end]
        last = next((k for k in (i + 3, i + 1) if k in silent), i)
        symbol = symbol_of(units[last].end - first, 0)
        if last > i and symbol is not None:
            found.append(Symbol(first, units[last].end, *symbol))
        else:
            _fill(grid, units[i], start, end, found)
            last = i
        i = last + 1


def _in_threes(root: Node) -> bool:
    """True for 6/4, 9/4 ...: a bar of nothing but groups of three, which rests show as beats."""
    return len(root.parts) > 1 and all(part.triple and not part.is_beat for part in root.parts)


def _fill(
    grid: Grid, cell: Node, start: mpq, end: mpq, found: list[Symbol], *, threes: bool = False
) -> None:
    if cell.end <= start or cell.start >= end:
        return
    if start <= cell.start and cell.end <= end:
        symbol = symbol_of(cell.length)
        dotted = (cell.is_dotted and _is_one(grid, cell)) or (threes and cell.triple)
        if symbol is not None and (not symbol[1] or dotted) and not _is_parted(grid, cell):
            found.append(Symbol(cell.start, cell.end, *symbol))
            return
    parts = cell.parts
    joins = cell.joins_rests or (threes and cell.triple)
    if joins and start <= cell.start and parts[1].end <= end and _are_joined(grid, cell, end):
        symbol = symbol_of(parts[1].end - cell.start)
        if symbol is not None and not symbol[1]:
            found.append(Symbol(cell.start, parts[1].end, *symbol))
            parts = parts[2:]
    elif _takes_dotted(cell, start, end) and _is_dotted_first(grid):
        stop = parts[1].parts[1].start
        symbol = symbol_of(stop - cell.start)
        if symbol is not None:
            found.append(Symbol(cell.start, stop, *symbol))
            return
    for part in parts:
        _fill(grid, part, start, end, found, threes=threes)


def _is_one(grid: Grid, cell: Node) -> bool:
    """Does a silent dotted beat, or what is made of two, take one rest?"""
    if cell.compound:
        return grid.says("silent beat") == "4.r"
    return cell.rank == 0 or grid.says("silent half") == "2.r"


def _is_parted(grid: Grid, cell: Node) -> bool:
    """Do two silent beats that make half a bar take a rest each?"""
    two = cell.kind == "half" and all(part.is_beat and not part.compound for part in cell.parts)
    return two and cell.length == 2 * _QUARTER and grid.says("half rest") == "4r 4r"


def _are_joined(grid: Grid, cell: Node, end: mpq) -> bool:
    """Do the first two eighths of a dotted beat share one rest? Of a silent beat they do."""
    if not cell.compound or end >= cell.end:
        return True
    return grid.says("first two") == "4r 8"


def _is_dotted_first(grid: Grid) -> bool:
    return grid.tuplet or grid.says("dotted rest") == "8.r 16"


def _takes_dotted(cell: Node, start: mpq, end: mpq) -> bool:
    """True where silence fills just the first three quarters of a quarter or less."""
    parts = cell.parts
    return (
        cell.length <= _QUARTER
        and len(parts) == 2
        and len(parts[1].parts) == 2
        and start <= cell.start
        and end == parts[1].parts[1].start
    )
