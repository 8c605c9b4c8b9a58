"""The tree of a bar: how numbers of units unfold into halves, groups, beats and divisions.

The usual grouping (common practice): units in threes make dotted beats over 8 and smaller units,
equal beats gather in halves and groups, 5 is 3+2, 7 is 2+2+3, 8/8 is 3+3+2, other numbers threes
first.

This is the one tree of the project: restating matches bars by it, notation asks it what a note may
hide, and measures of difficulty weigh by it.

Conventions
-----------
Lengths and starts are ``gmpy2.mpq`` in whole notes, starts from the start of the bar. The *rank* of
a position says what begins there: 0 the bar, 1 a half-bar or group of beats, 2 a beat, 3 a
division, 4 and more the halves below, and :data:`OFF` where no halving leads, or only one finer
than there are symbols for. Its *depth* counts how many nodes one inside another lie above it, so a
beat of 3/4 is one deep and a beat of 4/4 two.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import field
from functools import cached_property

from gmpy2 import mpq

from rhythm.exact.frozen import dataclass
from rhythm.exact.values import is_power_of_two

__all__ = ["FINEST", "OFF", "RANKS", "Element", "MetricTree", "Node", "beats_of", "grow"]

OFF = 1000
"""The rank of a position that no halving reaches: only a tuplet gets there."""

FINEST = mpq(1, 1024)
"""The shortest value there is a symbol for; nothing finer is on any tree."""

RANKS = {"bar": 0, "half": 1, "group": 1, "beat": 2, "unit": 2, "division": 3}
"""How strong the start of each kind of node is."""

Element = tuple[int, int]
"""A number that a signature adds up, and its unit."""


@dataclass(frozen=True, slots=True)
class Node:
    """A stretch of the bar: ``kind`` is bar, half, group, beat, division, or part of a division.

    In a tuplet the units, and groups of them, are of the kind ``unit``. ``rank`` is how strong its
    start is, where its kind does not say it. ``children`` are its own parts; what has none falls
    into halves.
    """

    start: mpq
    length: mpq
    kind: str
    children: tuple[Node, ...] = ()
    rank: int = -1
    _halves: tuple[Node, ...] = field(default=(), init=False, repr=False, compare=False)
    _beats: tuple[Node, ...] | None = field(default=None, init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        if self.rank < 0:
            object.__setattr__(self, "rank", RANKS[self.kind])

    @property
    def end(self) -> mpq:
        """Start plus length."""
        return self.start + self.length

    @property
    def is_beat(self) -> bool:
        """True for a beat, and for what acts as one in a tuplet."""
        return self.kind in ("beat", "unit")

    @property
    def triple(self) -> bool:
        """True for three equal parts."""
        return len(self.children) == 3 and len({part.length for part in self.children}) == 1

    @property
    def ternary(self) -> bool:
        """True for a beat that divides in three."""
        return self.kind == "beat" and len(self.children) == 3

    @property
    def compound(self) -> bool:
        """True for a beat that divides in three and has a dotted value."""
        return self.ternary and int(self.length.numerator) == 3

    @property
    def parts(self) -> tuple[Node, ...]:
        """Its children, or its halves; never empty."""
        if self.children:
            return self.children
        if not self._halves:
            half, rank = self.length / 2, max(self.rank + 1, 4)
            halves = (
                Node(self.start, half, "part", (), rank),
                Node(self.start + half, half, "part", (), rank),
            )
            object.__setattr__(self, "_halves", halves)
        return self._halves

    @property
    def is_even_pair(self) -> bool:
        """True for two equal parts."""
        parts = self.parts
        return len(parts) == 2 and parts[0].length == parts[1].length

    @property
    def is_dotted(self) -> bool:
        """True for a compound beat, and for nodes made of nothing but compound beats."""
        return self.compound or (
            not self.is_beat
            and bool(self.children)
            and all(part.is_dotted for part in self.children)
        )

    @property
    def joins_rests(self) -> bool:
        """True where one rest may stand for the first two of three parts."""
        return self.triple and self.is_beat

    def moved(self, by: mpq) -> Node:
        """The same node ``by`` later."""
        children = tuple(part.moved(by) for part in self.children)
        return Node(self.start + by, self.length, self.kind, children, self.rank)


def _usual_groups(n: int) -> list[int]:
    """Twos and threes that add up to ``n``: 5 = 3+2, 7 = 2+2+3, else threes first."""
    if n == 7:
        return [2, 2, 3]
    if n < 4:
        return [n]
    threes, rest = divmod(n, 3)
    return [3] * threes if not rest else [3] * (threes - (rest == 1)) + [2] * (3 - rest)


@dataclass(frozen=True, slots=True)
class _Plan:
    """A node before it has a place: a beat (its number of divisions) or parts."""

    length: mpq
    divisions: int = 0
    parts: tuple[_Plan, ...] = ()


def _beat(units: int, unit: int, divisions: int) -> _Plan:
    return _Plan(mpq(units, unit), divisions)


def _group(parts: Sequence[_Plan]) -> _Plan:
    if len(parts) == 1:
        return parts[0]
    return _Plan(sum((part.length for part in parts), mpq(0)), 0, tuple(parts))


def _gather(beats: list[_Plan]) -> list[_Plan]:
    """Equal beats into halves and groups: 4 = 2+2, 5 = 3+2, 6 = 3+3, 8 = 4+4, 9 = 3+3+3."""
    n = len(beats)
    if n < 4:
        return beats
    if is_power_of_two(n) or n % 6 == 0:
        sizes = [n // 2] * 2
    elif n % 4 == 0:
        sizes = [4] * (n // 4)
    else:
        sizes = [3] * (n // 3) if n % 3 == 0 else _usual_groups(n)
    parts, at = [], 0
    for size in sizes:
        parts.append(_group(_gather(beats[at : at + size])))
        at += size
    return parts


def _element(n: int, unit: int, compound: bool, alone: bool) -> list[_Plan]:
    """The parts of ``n`` units; ``alone`` where they are the whole signature."""
    ternary, plain = _beat(3, unit, 3), _beat(1, unit, 2)
    if n % 3 == 0 and compound:
        return _gather([ternary] * (n // 3))
    if unit < 8 or not compound:
        return _gather([plain] * n)
    if n == 1 or (alone and n in (2, 4)):
        return _gather([plain] * n)
    if n in (2, 4) or (n > 8 and n % 4 == 0):
        return _gather([_beat(2, unit, 2)] * (n // 2))
    return [_beat(size, unit, 3 if size == 3 else 2) for size in _usual_groups(n)]


def _place(plan: _Plan, start: mpq, kind: str) -> Node:
    if plan.divisions:
        step = plan.length / plan.divisions
        children = tuple(Node(start + i * step, step, "division") for i in range(plan.divisions))
        return Node(start, plan.length, "beat", children)
    halves = len(plan.parts) == 2 and plan.parts[0].length == plan.parts[1].length
    placed, at = [], start
    for part in plan.parts:
        placed.append(_place(part, at, "half" if halves and kind == "bar" else "group"))
        at += part.length
    return Node(start, plan.length, kind, tuple(placed))


def grow(elements: Sequence[Element], compound: bool | None) -> Node:
    """The tree of a bar that adds up these elements; a bar without measure has no parts.

    ``compound`` says whether units in threes make one beat; None: over 8 and smaller units.
    """
    parts = [
        _element(n, unit, unit >= 8 if compound is None else compound, len(elements) == 1)
        for n, unit in elements
    ]
    whole = parts[0] if len(parts) == 1 else [_group(part) for part in parts]
    length = sum((plan.length for plan in whole), mpq(0))
    return _place(_Plan(length, 0, tuple(whole)), mpq(0), "bar")


def beats_of(tree: Node) -> tuple[Node, ...]:
    """The beats of a tree, in order; none of a bar without measure."""
    if tree._beats is None:
        object.__setattr__(tree, "_beats", tuple(_beats(tree)))
    return tree._beats or ()


def _beats(node: Node) -> Iterator[Node]:
    if node.is_beat:
        yield node
    for child in () if node.is_beat else node.children:
        yield from _beats(child)


class MetricTree:
    """The rank and the depth of every position of a tree whose top node begins at 0."""

    def __init__(self, top: Node) -> None:
        self.top = top
        self._known: dict[mpq, int] = {}
        self._note_ranks(top)

    def _note_ranks(self, node: Node) -> None:
        self._known[node.start] = min(node.rank, self._known.get(node.start, OFF))
        for child in node.children:
            self._note_ranks(child)

    def rank(self, at: mpq) -> int:
        """How strong the boundary ``at`` (0 to below the top's length) is."""
        known = self._known.get(at)
        if known is None:
            known = self._known[at] = self._find_rank(at)
        return known

    def _find_rank(self, at: mpq) -> int:
        if (at / FINEST).denominator != 1:
            return OFF  # however far nodes have been halved by now
        node = self.top
        while node.children:
            node = next(child for child in node.children if at < child.end)
        share = (at - node.start) / node.length
        halvings = int(share.denominator)
        if not is_power_of_two(halvings) or node.length / halvings < FINEST:
            return OFF
        return max(node.rank, 3) + halvings.bit_length() - 1

    @cached_property
    def levels(self) -> tuple[tuple[mpq, ...], tuple[int, ...]]:
        """Where nodes begin, in order, and how deep the strongest there is, from the bar's 0."""
        found: dict[mpq, int] = {}
        pending = [(self.top, 0)]
        while pending:
            node, depth = pending.pop()
            found[node.start] = min(depth, found.get(node.start, depth))
            pending += [(child, depth + 1) for child in node.children]
        return tuple(sorted(found)), tuple(found[place] for place in sorted(found))

    @cached_property
    def beat_depths(self) -> dict[mpq, int]:
        """How deep each beat stands, by where it begins."""
        found: dict[mpq, int] = {}
        pending = [(self.top, 0)]
        while pending:
            node, depth = pending.pop()
            if node.is_beat:
                found[node.start] = depth
            pending += [(child, depth + 1) for child in node.children]
        return found

    def depth(self, at: mpq) -> int:
        """How deep the boundary ``at`` stands; below the tree's leaves it goes on in halves.

        A position that no halving reaches (a tuplet) counts as a division of its beat: the second
        note of a triplet stands as deep as the second of two eighths.
        """
        places, depths = self.levels
        found = bisect_right(places, at) - 1
        if places[found] == at:
            return depths[found]
        beat = next(node for node in reversed(beats_of(self.top)) if node.start <= at)
        under = self.beat_depths[beat.start] + 1
        end = places[found + 1] if found + 1 < len(places) else self.top.length
        halvings, odd = _twos(int(((at - places[found]) / (end - places[found])).denominator))
        if odd == 1:
            return under + halvings
        return under + _twos(int(((at - beat.start) / beat.length).denominator))[0]


def _twos(number: int) -> tuple[int, int]:
    """How often two divides ``number``, and what is left."""
    count = (number & -number).bit_length() - 1
    return count, number >> count
