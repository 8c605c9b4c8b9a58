"""The metric tree laid over one bar, or over the inside of one tuplet.

Spelling asks two things of a metre: how strong the boundary at a moment is, and which cells (bar,
half-bar, beat, division, then halves without end) tile a stretch of time. A :class:`Grid` answers
both for a bar that may begin in the middle of its metre (an upbeat) or run past it (a cadenza: the
metre is counted on), and for the units of a tuplet, in the tuplet's own written time.

Conventions
-----------
Positions are whole notes from the bar's start, or from the tuplet's start in written time. Ranks
are those of :mod:`rhythm.exact.tree`.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache

from gmpy2 import mpq

from rhythm.exact.metre import Metre
from rhythm.exact.tree import MetricTree, Node, beats_of
from rhythm.notate.usage import HOUSE, Answers, Usage

__all__ = ["Grid", "bar_grid", "is_dyadic", "odd_part", "unit_grid"]

_QUARTER = mpq(1, 4)
_HALF = mpq(1, 2)


def odd_part(n: int) -> int:
    """``n`` (1 or more) with every factor of two taken out."""
    return n // (n & -n)


def is_dyadic(x: mpq) -> bool:
    """True where ``x`` is a whole number of some 1/2, 1/4, 1/8 ..."""
    d = int(x.denominator)
    return d & (d - 1) == 0


class Grid:
    """The cells that tile one bar (or tuplet) and the rank of every position in it.

    ``shift`` is where in ``top`` position 0 stands; past the end of ``top`` it starts again.
    ``uneven`` says that its beats are compound or unequal, ``tuplet`` that it is a tuplet's inside.
    ``pulse`` is the rank of what a player counts: the beat, or the quarters of half-note beats.
    ``feel`` is ``duple`` where compound beats are divided in two throughout, and read so, or
    ``triple`` where simple ones are divided in three. ``whole`` says that a beam may fill each
    beat, however long. ``usage`` answers what is asked about ``metre``.
    """

    __slots__ = (
        "_ranks",
        "_turns",
        "feel",
        "metre",
        "pulse",
        "shift",
        "top",
        "tuplet",
        "uneven",
        "usage",
        "whole",
    )

    def __init__(
        self,
        top: Node,
        shift: mpq,
        *,
        uneven: bool = False,
        tuplet: bool = False,
        feel: str = "",
        whole: bool = False,
        usage: Answers = HOUSE,
        metre: str = "",
    ) -> None:
        self.top = top
        self.shift = shift
        self.uneven = uneven
        self.tuplet = tuplet
        self.feel = feel
        self.usage = usage
        self.metre = metre
        self.whole = whole
        self._ranks = MetricTree(top)
        self._turns: dict[int, Node] = {}  # a bar may hold hundreds of its metre
        half_beats = not tuplet and all(b.length == _HALF and not b.triple for b in beats_of(top))
        self.pulse = 3 if half_beats else 2

    def answered_by(self, usage: Answers) -> Grid:
        """The same grid where somebody else is asked."""
        twin = object.__new__(Grid)
        for name in Grid.__slots__:
            setattr(twin, name, getattr(self, name))
        twin.usage = usage
        return twin

    def rank(self, position: mpq) -> int:
        """How strong the boundary at ``position`` is; ``OFF`` where there is none."""
        return self._ranks.rank((position + self.shift) % self.top.length)

    def says(self, question: str, place: str = "") -> str:
        """What the usage answers here (:mod:`rhythm.notate.usage`)."""
        return self.usage.answer(question, self.metre, place)

    def roots(self, lo: mpq, hi: mpq) -> Iterator[Node]:
        """The whole metres, laid end to end, that touch ``lo`` to ``hi``."""
        length = self.top.length
        turn = int((lo + self.shift) // length)
        while True:
            by = turn * length - self.shift
            if by >= hi:
                return
            if turn not in self._turns:
                self._turns[turn] = self.top.moved(by) if by else self.top
            yield self._turns[turn]
            turn += 1

    def beats(self, lo: mpq, hi: mpq) -> list[Node]:
        """The beats (or groups that act as beats) that touch ``lo`` to ``hi``."""
        found: list[Node] = []
        for root in self.roots(lo, hi):
            found.extend(c for c in beats_of(root) if c.start < hi and c.end > lo)
        return found


def _plain_top(length: mpq) -> Node:
    """Quarter beats with nothing above them, for music without a metre."""
    count = max(1, -(-length // _QUARTER))
    half = _QUARTER / 2
    beats = tuple(
        Node(at, _QUARTER, "beat", tuple(Node(at + i * half, half, "division") for i in (0, 1)))
        for at in (_QUARTER * i for i in range(int(count)))
    )
    return Node(mpq(0), _QUARTER * count, "bar", beats)


@lru_cache(maxsize=4096)
def bar_grid(
    metre: Metre | None, length: mpq, shift: mpq, feel: str = "", usage: Usage = HOUSE
) -> Grid:
    """The grid of a bar of ``metre`` whose content begins ``shift`` into it.

    No note stands on the beats of a metre in other units than note values: its bars are plain.
    """
    if metre is None or not metre.length or not metre.in_note_values:
        return Grid(_plain_top(length), mpq(0), usage=usage)
    beats = metre.beat_nodes
    uneven = any(beat.compound for beat in beats) or len({beat.length for beat in beats}) > 1
    return Grid(metre.tree, shift, uneven=uneven, feel=feel, usage=usage, metre=str(metre))


_UNIT_TREES = {6: (3, 2), 9: (3, 3), 12: (3, 4), 15: (5, 3), 10: (5, 2), 14: (7, 2)}


@lru_cache(maxsize=1024)
def unit_grid(count: int, unit: mpq) -> Grid:
    """The grid inside a tuplet of ``count`` units, in written time."""
    outer, inner = _UNIT_TREES.get(count, (count, 1))
    step = unit * inner
    units = range(inner) if inner > 1 else ()
    parts = tuple(
        Node(at, step, "unit", tuple(Node(at + unit * k, unit, "division") for k in units))
        for at in (step * i for i in range(outer))
    )
    if count & (count - 1) == 0:
        parts = ()  # halves say it
    # A triplet is a beat of three: its first two units share one rest, as in a compound beat.
    kind = "unit" if count == 3 or not parts else "bar"
    return Grid(Node(mpq(0), unit * count, kind, parts, rank=0), mpq(0), tuplet=True)
