"""Which notes share a beam, and at how many levels.

Beams show the beats. Notes are joined by the beat; eighths, where a stretch holds nothing shorter,
by the half-bar in 4/4 (never across its middle), by the whole bar where six of them fill 3/4, and
in 2/4 where one would else stand alone beside its neighbours; half-note beats by their quarters as
soon as anything shorter than an eighth is there; compound metres by the dotted beat, additive ones
by the group (OpenLearn music notation 4.2; Open Music Theory). Each of two neighbouring tuplets
has a beam of its own; a triplet within a simple beat shares the beat's. A short note with no
neighbour at its level gets a hook. A rest ends a beam, but for the two figures in which editors
carry it across: the eighth, sixteenth rest and sixteenth that fill a quarter, and the eighths
around a rest that fill a compound beat (counted in
docs/spelling.md).
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from gmpy2 import mpq

from rhythm.exact.tree import Node
from rhythm.notate.metric_grid import Grid

__all__ = ["FLAGS", "Stem", "beam_stems", "hold_beams"]

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
    alone: bool = False  # no beam leads to it from the note before


def beam_stems(
    grid: Grid, stems: Sequence[Stem], held: Sequence[tuple[str, ...] | None] = ()
) -> list[tuple[str, ...]]:
    """The beam words of each symbol, from the eighth beam down; empty for a note on its own.

    ``held`` are words that stay as they are (see :func:`hold_beams`), None where they are open.
    """
    free = stems
    if held:
        free = [s if h is None else s._replace(flags=0) for s, h in zip(stems, held, strict=True)]
    words: list[tuple[str, ...]] = [h or () for h in held] or [()] * len(stems)
    for group in _groups(grid, free):
        for i, beams in zip(group, _levels(grid, [free[i] for i in group]), strict=True):
            words[i] = beams
    return words


def hold_beams(
    stems: Sequence[Stem], written: Sequence[tuple[str, ...] | None]
) -> list[tuple[str, ...] | None]:
    """Which of the ``written`` words may stay: those of whole groups in which nothing changed.

    ``written`` has None for a symbol that is not as the source had it. Rests inside a group are
    no matter.
    """
    held: list[tuple[str, ...] | None] = [None] * len(stems)
    group: list[int] | None = None
    for i, (stem, words) in enumerate(zip(stems, written, strict=True)):
        if stem.rest:
            continue
        joined = i == 0 or stems[i - 1].end == stem.start
        first = words[0] if words else ""
        if words is None or not joined:
            group = None
        if first == "begin":
            group = [i]
        elif first in ("continue", "end") and group is not None:
            group.append(i)
            if first == "end":
                for k in group:
                    held[k] = written[k]
                group = None
        elif words == ():
            held[i] = ()
    return held


def _groups(grid: Grid, stems: Sequence[Stem]) -> list[list[int]]:
    """Indices of the symbols that share a primary beam, group by group."""
    if not any(stem.flags and not stem.rest for stem in stems):
        return []
    stretches = _stretches(grid, stems)
    groups: list[list[int]] = []
    open_key: object = None
    for i, stem in enumerate(stems):
        if stem.rest or not stem.flags:
            if not _is_carried(stems, i, stretches):
                open_key = None
            continue
        key = _key(stem, stretches)
        joined = i > 0 and stems[i - 1].end == stem.start and not _are_apart(stems[i - 1], stem)
        joined = joined and not stem.alone
        if key == open_key and joined:
            groups[-1].append(i)
        else:
            groups.append([i])
        open_key = key
    return [group for group in groups if len(group) > 1]


def _is_carried(stems: Sequence[Stem], i: int, stretches: Sequence[_BeamRun]) -> bool:
    """True for a rest between the only two notes of a beat, in the two usual figures."""
    rest = stems[i]
    if not rest.rest or rest.tuplet or not 0 < i < len(stems) - 1:
        return False
    before, after = stems[i - 1], stems[i + 1]
    beat = next((s for s in stretches if s.start == before.start and s.end == after.end), None)
    if beat is None or before.rest or after.rest or not (before.flags and after.flags):
        return False
    first, silent = before.end - before.start, rest.end - rest.start
    length = beat.end - beat.start
    if beat.compound:
        return first == silent == length / 3
    return first == length / 2 == _EIGHTH and silent == length / 4


class _BeamRun(NamedTuple):
    """A part of the bar inside which a primary beam may run."""

    start: mpq
    end: mpq
    compound: bool = False

    def holds(self, start: mpq, end: mpq) -> bool:
        """True where all from ``start`` to ``end`` lies in it."""
        return self.start <= start and end <= self.end


def _key(stem: Stem, stretches: Sequence[_BeamRun]) -> object:
    """What a stem shares with those on its beam: the stretch, or a tuplet that is more than it."""
    home = next((s for s in stretches if s.start <= stem.start < s.end), None)
    if stem.tuplet and (home is None or home.compound or not home.holds(*stem.tuplet)):
        return stem.tuplet
    return home.start if home is not None else None


def _are_apart(stem: Stem, after: Stem) -> bool:
    """True for the end of one tuplet and the start of the next."""
    return stem.tuplet is not None and after.tuplet is not None and stem.tuplet != after.tuplet


def _stretches(grid: Grid, stems: Sequence[Stem]) -> list[_BeamRun]:
    lo, hi = stems[0].start, max(stem.end for stem in stems)
    found: list[_BeamRun] = []
    for root in grid.roots(lo, hi):
        _descend(grid, root, stems, found)
    return found


def _descend(grid: Grid, cell: Node, stems: Sequence[Stem], found: list[_BeamRun]) -> None:
    dotted = cell.compound or (grid.whole and cell.is_beat)
    group = cell.is_beat and cell.length.numerator != 1  # a dotted beat, or a group of five
    if group or dotted or cell.length <= _QUARTER or _joins_eighths(cell, stems):
        found.append(_BeamRun(cell.start, cell.end, dotted))
        return
    for part in cell.parts:
        _descend(grid, part, stems, found)


def _joins_eighths(cell: Node, stems: Sequence[Stem]) -> bool:
    """Half a 4/4 bar, a full 3/4 bar, or a 2/4 bar in which a beat has one eighth alone."""
    parts = cell.parts
    if any(part.length != _QUARTER for part in parts) or not _only_eighths(cell, stems):
        return False
    counts = [
        sum(1 for s in stems if p.start <= s.start < p.end and s.flags and not s.rest)
        for p in parts
    ]
    if len(parts) == 2:
        return cell.rank > 0 or 1 in counts
    return counts == [2, 2, 2]


def _only_eighths(cell: Node, stems: Sequence[Stem]) -> bool:
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
    if level == 1 or grid.rank(stem.start) > 2:
        return False
    return grid.beats(stem.start, stem.end)[0].length >= _QUARTER


def _hook(grid: Grid, stems: Sequence[Stem], i: int, last: int) -> str:
    if i == 0:
        return "forward hook"
    if i == last:
        return "backward hook"
    stronger = grid.rank(stems[i].start) < grid.rank(stems[i].end)
    return "forward hook" if stronger else "backward hook"
