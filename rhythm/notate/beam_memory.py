"""Beams remembered: rhythms that an editor beams otherwise than the answers say.

A stretch of the metre (the bar, its parts, down to the beats) is known by its place and the rhythm
in it, by where slurs begin in it and whether notes with flags adjoin. The longest stretch that is
known decides; one that is known with its slurs goes before one that is known without.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from gmpy2 import mpq

from rhythm.exact.tree import Node
from rhythm.notate.beam_stretches import Stem
from rhythm.notate.metric_grid import Grid
from rhythm.notate.usage import Cell

__all__ = ["are_whole", "known_cells", "remembered"]

_SHORTEST = mpq(1, 4)

Words = tuple[str, ...]


def remembered(
    grid: Grid, stems: Sequence[Stem], held: Sequence[Words | None]
) -> list[Words | None]:
    """The words of the stems in stretches that the usage knows; others as they are ``held``."""
    words: list[Words | None] = list(held) or [None] * len(stems)
    settled = mpq(-1000)
    for cell, inside, keys in known_cells(grid, stems):
        if cell.start < settled:
            continue
        found = next((w for key in keys if (w := grid.usage.beaming(key)) is not None), None)
        if found is None or any(words[i] is not None for i in inside):
            continue
        for i, each in zip(inside, found, strict=True):
            words[i] = each
        settled = cell.end
    return words


def are_whole(stems: Sequence[Stem], words: Sequence[Words]) -> bool:
    """Do all beams that run here begin and end here, each note with as many as its flags?"""
    open_ = False
    for stem, each in zip(stems, words, strict=True):
        if len(each) not in (0, stem.flags):
            return False
        first = each[0] if each else ""
        if first == "begin":
            open_ = True
        elif first in ("continue", "end"):
            if not open_:
                return False
            open_ = first == "continue"
    return not open_


def known_cells(
    grid: Grid, stems: Sequence[Stem]
) -> Iterator[tuple[Node, list[int], tuple[Cell, ...]]]:
    """The stretches that a beam could lie in, each before its parts, and what they are known by."""
    if sum(1 for stem in stems if stem.flags and not stem.rest) < 2:
        return
    for root in grid.roots(stems[0].start, max(stem.end for stem in stems)):
        yield from _cells(grid, root, stems)


def _cells(
    grid: Grid, cell: Node, stems: Sequence[Stem]
) -> Iterator[tuple[Node, list[int], tuple[Cell, ...]]]:
    inside = [i for i, stem in enumerate(stems) if cell.start <= stem.start < cell.end]
    flagged = [stems[i] for i in inside if stems[i].flags and not stems[i].rest]
    if len(flagged) < 2:
        return
    if len(cell.parts) > 1 and flagged[-1].end <= cell.end:
        yield cell, inside, _keys(grid, cell, stems, inside)
    if not cell.is_beat and cell.length > _SHORTEST:
        for part in cell.parts:
            yield from _cells(grid, part, stems)


def _keys(grid: Grid, cell: Node, stems: Sequence[Stem], inside: Sequence[int]) -> tuple[Cell, ...]:
    first, last = inside[0], inside[-1]
    before = first > 0 and _adjoin(stems[first - 1], stems[first], cell.start)
    after = last + 1 < len(stems) and _adjoin(stems[last], stems[last + 1], cell.end)
    place = (cell.start + grid.shift) % grid.top.length
    rhythm = tuple(_shape(stems[i], cell.start) for i in inside)
    with_slurs = tuple((*shape, stems[i].slurred) for i, shape in zip(inside, rhythm, strict=True))
    return (
        Cell(grid.metre, place, cell.length, with_slurs, before, after),
        Cell(grid.metre, place, cell.length, rhythm, before, after),
    )


def _shape(stem: Stem, since: mpq) -> tuple[object, ...]:
    tuplet = stem.tuplet and (stem.tuplet[0] - since, stem.tuplet[1] - since)
    return (stem.start - since, stem.end - since, stem.flags, stem.rest, tuplet, stem.sung)


def _adjoin(one: Stem, other: Stem, edge: mpq) -> bool:
    notes = not (one.rest or other.rest)
    return notes and bool(one.flags and other.flags) and one.end == other.start == edge
