"""The stretches of a bar inside which a beam may run, and the rests it is carried over.

The rules are told in :mod:`rhythm.notate.beams`.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from itertools import pairwise
from typing import NamedTuple

from gmpy2 import mpq

from rhythm.exact.tree import Node
from rhythm.notate.metric_grid import Grid

__all__ = ["Stem", "Stretch", "beam_stretches", "is_carried"]

_EIGHTH = mpq(1, 8)
_QUARTER = mpq(1, 4)
_LONGEST = mpq(3, 2)
_NAMES = {0: "bar", 1: "half-bar"}


class Stem(NamedTuple):
    """What beaming needs to know of a symbol: where it stands, its flags, the tuplet around it."""

    start: mpq
    end: mpq
    flags: int
    rest: bool = False
    tuplet: tuple[mpq, mpq] | None = None  # start and end of the outermost
    sung: bool = False  # a syllable begins on it
    slurred: bool = False  # a slur begins on it


class Stretch(NamedTuple):
    """A part of the bar inside which a primary beam may run."""

    start: mpq
    end: mpq
    compound: bool = False

    def holds(self, start: mpq, end: mpq) -> bool:
        """True where all from ``start`` to ``end`` lies in it."""
        return self.start <= start and end <= self.end


def beam_stretches(grid: Grid, stems: Sequence[Stem]) -> list[Stretch]:
    """The stretches that tile the metre where the stems stand."""
    lo, hi = stems[0].start, max(stem.end for stem in stems)
    found: list[Stretch] = []
    begins = [stem.start for stem in stems]
    ordered = all(a <= b for a, b in pairwise(begins))
    for root in grid.roots(lo, hi):
        own = slice(bisect_left(begins, root.start), bisect_left(begins, root.end))
        _descend(grid, root, stems[own] if ordered else stems, found)
    return found


def _descend(grid: Grid, cell: Node, stems: Sequence[Stem], found: list[Stretch]) -> None:
    dotted = cell.compound or (grid.whole and cell.is_beat)
    group = cell.is_beat and cell.length.numerator != 1  # a dotted beat, or a group of five
    if group or dotted or cell.length <= _QUARTER or _is_joined(grid, cell, stems):
        found.append(Stretch(cell.start, cell.end, dotted))
        return
    for part in cell.parts:
        _descend(grid, part, stems, found)


def _is_joined(grid: Grid, cell: Node, stems: Sequence[Stem]) -> bool:
    """Do the parts of a cell share a beam? It is asked where notes with flags meet between them."""
    inside = [s for s in stems if cell.start <= s.start < cell.end]
    flagged = [s for s in inside if s.flags and not s.rest]
    eighths = all(s.end - s.start == _EIGHTH and not s.tuplet for s in flagged)
    counts = [sum(p.start <= s.start < p.end for s in flagged) for p in cell.parts]
    house = eighths and _joins_eighths(cell, counts)
    if cell.length > _LONGEST or not _meet(cell, inside):
        return house
    place = f"{_NAMES.get(cell.rank, 'beat')} of {cell.length}"
    if not eighths:
        said = grid.says("joined", f"{place}, shorter notes")
    else:
        said = grid.says("joined", f"{place}, eighths {'+'.join(map(str, counts))}")
        said = said or grid.says("joined", f"{place}, eighths")
    return said == "joined" if said else house


def _meet(cell: Node, inside: Sequence[Stem]) -> bool:
    """Do two notes with flags meet where two parts of the cell do?"""
    edges = {part.start for part in cell.parts[1:]}
    return any(
        b.start in edges and a.end == b.start and a.flags and b.flags and not (a.rest or b.rest)
        for a, b in pairwise(inside)
    )


def _joins_eighths(cell: Node, counts: Sequence[int]) -> bool:
    """Half a 4/4 bar, a full 3/4 bar, or a 2/4 bar in which a beat has one eighth alone."""
    if any(part.length != _QUARTER for part in cell.parts):
        return False
    if len(counts) == 2:
        return cell.rank > 0 or 1 in counts
    return counts == [2, 2, 2]


def is_carried(grid: Grid, stems: Sequence[Stem], i: int, stretches: Sequence[Stretch]) -> bool:
    """Is a beam carried over what stands at ``i``, a rest between two notes of its stretch?

    The house carries it between the only two notes of a beat, in the two usual figures.
    """
    first, last = i, i
    while first > 0 and stems[first].rest:
        first -= 1
    while last + 1 < len(stems) and stems[last].rest:
        last += 1
    run = stems[first : last + 1]
    before, after = run[0], run[-1]
    if not stems[i].rest or not (before.flags and after.flags) or before.rest or after.rest:
        return False
    if any(rest.tuplet for rest in run[1:-1]) or any(a.end != b.start for a, b in pairwise(run)):
        return False
    beat = next((s for s in stretches if s.holds(before.start, after.end)), None)
    if beat is None:
        return False
    lengths = [stem.end - stem.start for stem in run]
    whole = beat.end - beat.start
    house = ""
    if len(run) == 3 and (beat.start, beat.end) == (before.start, after.end):
        if beat.compound and lengths[0] == lengths[1] == whole / 3:
            house = "8 8r 8"
        elif not beat.compound and lengths[0] == whole / 2 == _EIGHTH and lengths[1] == whole / 4:
            house = "8 16r 16"
    place = house or ("elsewhere in a dotted beat" if beat.compound else "elsewhere")
    said = grid.says("over rests", place)
    return said == "joined" if said else bool(house)
