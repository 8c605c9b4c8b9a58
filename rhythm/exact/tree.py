"""The tree of a bar: how numbers of units unfold into halves, groups, beats and divisions.

The usual grouping (common practice): units in threes make dotted beats over 8 and smaller units,
equal beats gather in halves and groups, 5 is 3+2, 7 is 2+2+3, 8/8 is 3+3+2, other numbers threes
first.

Conventions
-----------
Lengths and starts are ``gmpy2.mpq`` in whole notes, starts from the start of the bar.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from gmpy2 import mpq

from rhythm.exact.values import is_power_of_two

__all__ = ["Element", "Node", "beats_of", "grow", "levels_of"]

Element = tuple[int, int]
"""A number that a signature adds up, and its unit."""


@dataclass(frozen=True, slots=True)
class Node:
    """A stretch of the bar: ``kind`` is bar, half, group, beat or division."""

    start: mpq
    length: mpq
    kind: str
    children: tuple[Node, ...] = ()

    @property
    def end(self) -> mpq:
        """Start plus length."""
        return self.start + self.length

    @property
    def ternary(self) -> bool:
        """True for a beat that divides in three."""
        return self.kind == "beat" and len(self.children) == 3


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


_DEPTH = {"bar": 0, "half": 1, "group": 1, "beat": 2, "division": 3}


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
    """The beats of a tree, in order."""
    if tree.kind == "beat":
        return (tree,)
    return tuple(beat for child in tree.children for beat in beats_of(child))


def levels_of(tree: Node) -> dict[mpq, int]:
    """Where the nodes of a tree start, and how strong each start is: 0 bar to 3 division."""
    levels: dict[mpq, int] = {}
    pending = [tree]
    while pending:
        node = pending.pop()
        depth = _DEPTH[node.kind]
        levels[node.start] = min(levels.get(node.start, depth), depth)
        pending.extend(node.children)
    return levels
