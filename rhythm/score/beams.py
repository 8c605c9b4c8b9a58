"""Which notes share a beam, and at how many levels.

Beams show the beats. Notes are joined by the beat; eighths, where a stretch holds nothing shorter,
by the half-bar in 4/4 (never across its middle) and by the whole bar in 2/4, 3/4 and 3/8; compound
metres by the dotted beat, additive ones by the group (OpenLearn music notation 4.2; Open Music
Theory). A short note with no neighbour at its level gets a hook. A rest ends a beam.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from gmpy2 import mpq

from rhythm.score.grid import Cell, Grid

__all__ = ["FLAGS", "Stem", "beam_stems"]

FLAGS = {
    name: count
    for count, name in enumerate(
        ("eighth", "16th", "32nd", "64th", "128th", "256th", "512th", "1024th"), start=1
    )
}
"""How many flags (or beams) a type has; types not named have none."""

_EIGHTH = mpq(1, 8)
_QUARTER = mpq(1, 4)


class Stem(NamedTuple):
    """What beaming needs to know of a symbol: where it stands, its flags, the tuplet around it."""

    start: mpq
    end: mpq
    flags: int
    rest: bool = False
    tuplet: tuple[mpq, mpq] | None = None  # start and end of the outermost
    dots: int = 0


def beam_stems(grid: Grid, stems: Sequence[Stem]) -> list[tuple[str, ...]]:
    """The beam words of each symbol, from the eighth beam down; empty for a note on its own."""
    words: list[tuple[str, ...]] = [()] * len(stems)
    for group in _groups(grid, stems):
        for i, beams in zip(group, _levels(grid, [stems[i] for i in group]), strict=True):
            words[i] = beams
    return words


def _groups(grid: Grid, stems: Sequence[Stem]) -> list[list[int]]:
    """Indices of the symbols that share a primary beam, group by group."""
    if not any(stem.flags and not stem.rest for stem in stems):
        return []
    stretches = _stretches(grid, stems)
    groups: list[list[int]] = []
    open_key: object = None
    for i, stem in enumerate(stems):
        if stem.rest or not stem.flags:
            open_key = None
            continue
        key = _key(stem, stretches)
        if key == open_key and stems[i - 1].end == stem.start:
            groups[-1].append(i)
        else:
            groups.append([i])
        open_key = key
    return [group for group in groups if len(group) > 1]


def _key(stem: Stem, stretches: Sequence[tuple[mpq, mpq]]) -> object:
    for start, end in stretches:
        if start <= stem.start < end:
            if stem.tuplet and (stem.tuplet[0] < start or stem.tuplet[1] > end):
                return stem.tuplet
            return start
    return None


def _stretches(grid: Grid, stems: Sequence[Stem]) -> list[tuple[mpq, mpq]]:
    """The stretches of the bar inside which a primary beam may run."""
    lo, hi = stems[0].start, max(stem.end for stem in stems)
    found: list[tuple[mpq, mpq]] = []
    for root in grid.roots(lo, hi):
        _descend(root, stems, found)
    return found


def _descend(cell: Cell, stems: Sequence[Stem], found: list[tuple[mpq, mpq]]) -> None:
    if cell.beat or (_joins_eighths(cell) and _only_eighths(cell, stems)):
        found.append((cell.start, cell.end))
        return
    for part in cell.parts:
        _descend(part, stems, found)


def _joins_eighths(cell: Cell) -> bool:
    """A cell made of two or three quarter beats: half a 4/4 bar, a 2/4 or a 3/4 bar."""
    parts = cell.parts
    return all(part.beat and part.length == _QUARTER for part in parts) and len(parts) <= 3


def _only_eighths(cell: Cell, stems: Sequence[Stem]) -> bool:
    inside = [s for s in stems if cell.start <= s.start < cell.end and s.flags and not s.rest]
    return all(s.end - s.start == _EIGHTH and not s.tuplet for s in inside)


def _levels(grid: Grid, stems: Sequence[Stem]) -> list[tuple[str, ...]]:
    """The words of one group at every level."""
    words: list[list[str]] = [[] for _ in stems]
    last = len(stems) - 1
    for level in range(1, max(stem.flags for stem in stems) + 1):
        run: list[int] = []
        for i, stem in enumerate(stems):
            if stem.flags < level:
                continue
            run.append(i)
            ends = i == last or stems[i + 1].flags < level or _breaks(grid, stems[i + 1], level)
            if not ends:
                continue
            if len(run) == 1:
                words[i].append(_hook(grid, stems, i, last))
            else:
                for k in run:
                    word = "begin" if k == run[0] else "end" if k == run[-1] else "continue"
                    words[k].append(word)
            run = []
    return [tuple(w) for w in words]


def _breaks(grid: Grid, stem: Stem, level: int) -> bool:
    """True where secondary beams start afresh: at a beat inside a longer primary beam."""
    return level > 1 and grid.rank(stem.start) <= 2


def _hook(grid: Grid, stems: Sequence[Stem], i: int, last: int) -> str:
    if i == 0:
        return "forward hook"
    if i == last:
        return "backward hook"
    stronger = grid.rank(stems[i].start) < grid.rank(stems[i].end)
    return "forward hook" if stronger else "backward hook"
