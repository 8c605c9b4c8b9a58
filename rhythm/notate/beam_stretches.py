"""The stretches of a bar inside which a beam may run, and the rests it is carried over.

The rules are told in :mod:`rhythm.notate.beams`.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from itertools import pairwise
from typing import NamedTuple

from gmpy2 import mpq

from rhythm.exact.tree import Node
from rhythm.notate.metric_grid import Grid

__all__ = [
    "Figure",
    "Joint",
    "Stem",
    "Stretch",
    "beam_stretches",
    "figure",
    "is_carried",
    "is_stretch",
    "joint",
    "stretch_of",
]

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
    unjoined: bool = False  # no beam led to it where one beat held it and the note before


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
    if is_stretch(grid, cell) or _is_joined(grid, cell, stems):
        found.append(stretch_of(grid, cell))
        return
    for part in cell.parts:
        _descend(grid, part, stems, found)


def is_stretch(grid: Grid, cell: Node) -> bool:
    """Is a cell under one beam whatever stands in it: a dotted beat, a group, a quarter?"""
    group = cell.is_beat and cell.length.numerator != 1  # a dotted beat, or a group of five
    return group or _is_dotted(grid, cell) or cell.length <= _QUARTER


def stretch_of(grid: Grid, cell: Node) -> Stretch:
    """The cell as one stretch."""
    return Stretch(cell.start, cell.end, _is_dotted(grid, cell))


def _is_dotted(grid: Grid, cell: Node) -> bool:
    return cell.compound or (grid.whole and cell.is_beat)


class Joint(NamedTuple):
    """Whether the house joins the parts of a cell, and the places to ask about, first that first.

    There are none where no notes with flags meet between the parts.
    """

    house: bool
    places: tuple[str, ...]


def joint(cell: Node, inside: Sequence[Stem], meets: bool) -> Joint:
    """What is to be asked before the parts of a cell share a beam.

    ``inside`` are the stems in it, ``meets`` says that notes with flags meet where two parts do.
    """
    flagged = [s for s in inside if s.flags and not s.rest]
    edges = [part.start for part in cell.parts[1:]]
    counts = [0] * len(cell.parts)
    eighths = True
    for stem in flagged:
        counts[bisect_right(edges, stem.start)] += 1
        if eighths and (stem.tuplet or stem.end - stem.start != _EIGHTH):
            eighths = False
    house = eighths and _joins_eighths(cell, counts)
    if cell.length > _LONGEST or not meets:
        return Joint(house, ())
    place = f"{_NAMES.get(cell.rank, 'beat')} of {cell.length}"
    if not eighths:
        return Joint(house, (f"{place}, shorter notes",))
    return Joint(house, (f"{place}, eighths {'+'.join(map(str, counts))}", f"{place}, eighths"))


def _is_joined(grid: Grid, cell: Node, stems: Sequence[Stem]) -> bool:
    """Do the parts of a cell share a beam? It is asked where notes with flags meet between them."""
    start, end = cell.start, cell.end
    inside = [stem for stem in stems if start <= stem.start < end]
    asked = joint(cell, inside, _meet([part.start for part in cell.parts[1:]], inside))
    for place in asked.places:
        said = grid.says("joined", place)
        if said:
            return said == "joined"
    return asked.house


def _meet(edges: Sequence[mpq], inside: Sequence[Stem]) -> bool:
    """Do two notes with flags meet where two parts of a cell do?"""
    return any(
        a.flags and b.flags and b.start in edges and a.end == b.start and not (a.rest or b.rest)
        for a, b in pairwise(inside)
    )


def _joins_eighths(cell: Node, counts: Sequence[int]) -> bool:
    """Half a 4/4 bar, a full 3/4 bar, or a 2/4 bar in which a beat has one eighth alone."""
    if any(part.length != _QUARTER for part in cell.parts):
        return False
    if len(counts) == 2:
        return cell.rank > 0 or 1 in counts
    return counts == [2, 2, 2]


class Figure(NamedTuple):
    """A run of rests between two notes of a stretch: the place to ask about, the house's answer."""

    place: str
    house: bool


def is_carried(grid: Grid, stems: Sequence[Stem], i: int, stretches: Sequence[Stretch]) -> bool:
    """Is a beam carried over what stands at ``i``, a rest between two notes of its stretch?

    The house carries it between the only two notes of a beat, in the two usual figures.
    """
    first, last = i, i
    while first > 0 and stems[first].rest:
        first -= 1
    while last + 1 < len(stems) and stems[last].rest:
        last += 1
    found = figure(stems[first : last + 1], stretches) if stems[i].rest else None
    if found is None:
        return False
    said = grid.says("over rests", found.place)
    return said == "joined" if said else found.house


def figure(run: Sequence[Stem], stretches: Sequence[Stretch]) -> Figure | None:
    """What is to be asked of a note, rests and a note in one stretch; None of anything else."""
    before, after = run[0], run[-1]
    if not (before.flags and after.flags) or before.rest or after.rest:
        return None
    if any(rest.tuplet for rest in run[1:-1]) or any(a.end != b.start for a, b in pairwise(run)):
        return None
    beat = next((s for s in stretches if s.holds(before.start, after.end)), None)
    if beat is None:
        return None
    lengths = [stem.end - stem.start for stem in run]
    whole = beat.end - beat.start
    if len(run) == 3 and (beat.start, beat.end) == (before.start, after.end):
        if beat.compound and lengths[0] == lengths[1] == whole / 3:
            return Figure("8 8r 8", True)
        if not beat.compound and lengths[0] == whole / 2 == _EIGHTH and lengths[1] == whole / 4:
            return Figure("8 16r 16", True)
    return Figure("elsewhere in a dotted beat" if beat.compound else "elsewhere", False)
