"""The metric tree laid over one bar, or over the inside of one tuplet.

Spelling asks two things of a metre: how strong the boundary at a moment is, and which cells (bar,
half-bar, beat, division, then halves without end) tile a stretch of time. A :class:`Grid` answers
both for a bar that may begin in the middle of its metre (an upbeat) or run past it (a cadenza: the
metre is counted on), and for the units of a tuplet, in the tuplet's own written time.

Conventions
-----------
Positions are whole notes from the bar's start, or from the tuplet's start in written time. Ranks
count downwards: 0 is the start of a bar, 1 a half-bar or a group of beats, 2 a beat, 3 a division,
4 and more the halves below. A position on no binary subdivision, or on one finer than there
are symbols for, has rank ``OFF``.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache

from gmpy2 import mpq

from rhythm.exact.metre import Metre
from rhythm.exact.tree import Node

__all__ = ["FINEST", "OFF", "Cell", "Grid", "bar_grid", "is_dyadic", "odd_part", "unit_grid"]

OFF = 1000
"""The rank of a position that no halving reaches: only a tuplet gets there."""

FINEST = mpq(1, 1024)
"""The shortest value there is a symbol for; nothing finer is on any grid."""

_RANKS = {"bar": 0, "half": 1, "group": 1, "beat": 2, "division": 3}
_QUARTER = mpq(1, 4)
_HALF = mpq(1, 2)


def odd_part(n: int) -> int:
    """``n`` (1 or more) with every factor of two taken out."""
    return n // (n & -n)


def is_dyadic(x: mpq) -> bool:
    """True where ``x`` is a whole number of some 1/2, 1/4, 1/8 ..."""
    d = int(x.denominator)
    return d & (d - 1) == 0


class Cell:
    """One node of the tree: a stretch of time, its rank and its parts.

    ``compound`` marks a beat of three divisions whose written value is dotted; ``triple`` any cell
    of three equal parts. Cells without parts of their own fall into halves when asked.
    """

    __slots__ = ("_parts", "beat", "compound", "length", "rank", "start", "triple")

    def __init__(
        self,
        start: mpq,
        length: mpq,
        rank: int,
        parts: tuple[Cell, ...] = (),
        *,
        compound: bool = False,
        beat: bool = False,
    ) -> None:
        self.start = start
        self.length = length
        self.rank = rank
        self.compound = compound
        self.beat = beat
        self.triple = len(parts) == 3 and len({part.length for part in parts}) == 1
        self._parts = parts

    @property
    def end(self) -> mpq:
        """Start plus length."""
        return self.start + self.length

    @property
    def parts(self) -> tuple[Cell, ...]:
        """The cells one step down; never empty."""
        if not self._parts:
            half = self.length / 2
            rank = max(self.rank + 1, 4)
            self._parts = (
                Cell(self.start, half, rank),
                Cell(self.start + half, half, rank),
            )
        return self._parts

    @property
    def is_even_pair(self) -> bool:
        """True for two equal parts."""
        parts = self.parts
        return len(parts) == 2 and parts[0].length == parts[1].length

    @property
    def is_dotted(self) -> bool:
        """True for a compound beat, and for cells made of nothing but compound beats."""
        return self.compound or (
            not self.beat and bool(self._parts) and all(part.is_dotted for part in self._parts)
        )

    @property
    def joins_rests(self) -> bool:
        """True where one rest may stand for the first two of three parts."""
        return self.triple and self.beat

    def moved(self, by: mpq) -> Cell:
        """The same cell ``by`` later."""
        return Cell(
            self.start + by,
            self.length,
            self.rank,
            tuple(part.moved(by) for part in self._parts),
            compound=self.compound,
            beat=self.beat,
        )


class Grid:
    """The cells that tile one bar (or tuplet) and the rank of every position in it.

    ``shift`` is where in ``top`` position 0 stands; past the end of ``top`` it starts again.
    ``uneven`` says that its beats are compound or unequal, ``tuplet`` that it is a tuplet's inside.
    ``pulse`` is the rank of what a player counts: the beat, or the quarters of half-note beats.
    ``duple`` says that compound beats are divided in two throughout, and read so.
    """

    __slots__ = ("_ranks", "duple", "pulse", "shift", "top", "tuplet", "uneven")

    def __init__(
        self,
        top: Cell,
        shift: mpq,
        *,
        uneven: bool = False,
        tuplet: bool = False,
        duple: bool = False,
    ) -> None:
        self.top = top
        self.shift = shift
        self.uneven = uneven
        self.tuplet = tuplet
        self.duple = duple
        self._ranks: dict[mpq, int] = {}
        self._note_ranks(top)
        half_beats = not tuplet and all(b.length == _HALF and not b.triple for b in _beats_of(top))
        self.pulse = 3 if half_beats else 2

    def _note_ranks(self, cell: Cell) -> None:
        self._ranks[cell.start] = min(cell.rank, self._ranks.get(cell.start, OFF))
        for part in cell._parts:
            self._note_ranks(part)

    def rank(self, position: mpq) -> int:
        """How strong the boundary at ``position`` is; ``OFF`` where there is none."""
        at = (position + self.shift) % self.top.length
        known = self._ranks.get(at)
        if known is None:
            known = self._ranks[at] = self._find_rank(at)
        return known

    def _find_rank(self, at: mpq) -> int:
        if (at / FINEST).denominator != 1:
            return OFF  # however far cells have been halved by now
        cell = self.top
        while cell._parts:
            cell = next(part for part in cell._parts if at < part.end)
            if cell.start == at:
                return cell.rank
        share = (at - cell.start) / cell.length
        if not is_dyadic(share) or cell.length / share.denominator < FINEST:
            return OFF
        return max(cell.rank, 3) + int(share.denominator).bit_length() - 1

    def roots(self, lo: mpq, hi: mpq) -> Iterator[Cell]:
        """The whole metres, laid end to end, that touch ``lo`` to ``hi``."""
        length = self.top.length
        turn = int((lo + self.shift) // length)
        while True:
            by = turn * length - self.shift
            if by >= hi:
                return
            yield self.top.moved(by) if by else self.top
            turn += 1

    def beats(self, lo: mpq, hi: mpq) -> list[Cell]:
        """The beats (or groups that act as beats) that touch ``lo`` to ``hi``."""
        found: list[Cell] = []
        for root in self.roots(lo, hi):
            found.extend(c for c in _beats_of(root) if c.start < hi and c.end > lo)
        return found


def _beats_of(cell: Cell) -> Iterator[Cell]:
    if cell.beat or not cell._parts:
        yield cell
        return
    for part in cell._parts:
        yield from _beats_of(part)


def _cell(node: Node) -> Cell:
    parts = tuple(_cell(child) for child in node.children)
    dotted = int(node.length.numerator) == 3 and len(parts) == 3
    rank = _RANKS[node.kind]
    # A bar of one beat (3/8) is its own beat; its tree has no beat below the bar.
    beat = node.kind == "beat" or (
        node.kind in ("bar", "group", "half")
        and bool(parts)
        and all(child.kind == "division" for child in node.children)
    )
    return Cell(node.start, node.length, rank, parts, compound=beat and dotted, beat=beat)


def _plain_top(length: mpq) -> Cell:
    """Quarter beats with nothing above them, for music without a metre."""
    count = max(1, -(-length // _QUARTER))
    half = _QUARTER / 2
    beats = tuple(
        Cell(
            _QUARTER * i,
            _QUARTER,
            2,
            (Cell(_QUARTER * i, half, 3), Cell(_QUARTER * i + half, half, 3)),
            beat=True,
        )
        for i in range(int(count))
    )
    return Cell(mpq(0), _QUARTER * count, 0, beats)


@lru_cache(maxsize=4096)
def bar_grid(metre: Metre | None, length: mpq, shift: mpq, duple: bool = False) -> Grid:
    """The grid of a bar of ``metre`` whose content begins ``shift`` into it.

    No note stands on the beats of a metre in other units than note values: its bars are plain.
    """
    if metre is None or not metre.length or not metre.in_note_values:
        return Grid(_plain_top(length), mpq(0))
    top = _cell(metre.tree)
    beats = list(_beats_of(top))
    uneven = any(beat.compound for beat in beats) or len({beat.length for beat in beats}) > 1
    return Grid(top, shift, uneven=uneven, duple=duple)


_UNIT_TREES = {6: (3, 2), 9: (3, 3), 12: (3, 4), 15: (5, 3), 10: (5, 2), 14: (7, 2)}


@lru_cache(maxsize=1024)
def unit_grid(count: int, unit: mpq) -> Grid:
    """The grid inside a tuplet of ``count`` units, in written time."""
    outer, inner = _UNIT_TREES.get(count, (count, 1))
    step = unit * inner
    parts = tuple(
        Cell(
            step * i,
            step,
            2,
            tuple(Cell(step * i + unit * k, unit, 3) for k in range(inner)) if inner > 1 else (),
            beat=True,
        )
        for i in range(outer)
    )
    if count & (count - 1) == 0:
        top = Cell(mpq(0), unit * count, 0)
        return Grid(top, mpq(0), tuplet=True)
    # A triplet is a beat of three: its first two units share one rest, as in a compound beat.
    return Grid(Cell(mpq(0), unit * count, 0, parts, beat=count == 3), mpq(0), tuplet=True)
