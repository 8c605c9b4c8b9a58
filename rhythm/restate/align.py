"""Align: where each moment of a bar goes when the bar is restated in another metre.

The trees of the two bars are matched from the top: the same number of parts, part by part;
otherwise each is split in two at a part boundary, as evenly as can be, and the halves are matched
in turn. The *lilt* is the foot that decides uneven splits: ``trochee`` puts the longer part first,
``iamb`` last; ``even`` matches uneven parts linearly; a ratio such as ``3:2`` sets where the
middle of a beat goes (swing, notes inégales). The rule is this library's own; its values are
common practice (the after-dance in triple time made from a duple dance is a trochee).

Conventions
-----------
The warp of a bar maps offsets from the bar's start, in whole notes, onto offsets from the start
of the restated bar. A tree's last level may be halved further: below the division all is binary.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import lru_cache

from gmpy2 import mpq

from rhythm.exact.errors import RequestError
from rhythm.exact.frozen import dataclass
from rhythm.exact.metre import Metre, Node
from rhythm.exact.nearest import nearest
from rhythm.exact.time_map import TimeMap
from rhythm.exact.values import is_power_of_two

__all__ = ["FEET", "Lilt", "align"]

FEET = ("trochee", "iamb", "even")
"""The named lilts."""

_RATIO = re.compile(r"(\d{1,4})\s*:\s*(\d{1,4})")


@dataclass(frozen=True, slots=True, repr=False)
class Lilt:
    """A foot, or the ratio ``long``:``short`` in which a beat is split.

    Groups of beats under a ratio are split as under the foot that it is an instance of: a trochee
    where its first part is the longer (3:2) or as long (1:1), an iamb where it is shorter (1:2).
    """

    foot: str
    ratio: tuple[int, int] | None = None

    @classmethod
    def parse(cls, lilt: str | Lilt) -> Lilt:
        """Read ``trochee``, ``iamb``, ``even`` or a ratio; ``str`` is the inverse.

        Raises :class:`RequestError`.
        """
        if isinstance(lilt, Lilt):
            return lilt
        text = lilt.strip()
        match = _RATIO.fullmatch(text)
        if match and int(match[1]) and int(match[2]):
            ratio = int(match[1]), int(match[2])
            return cls("trochee" if ratio[0] >= ratio[1] else "iamb", ratio)
        if text not in FEET:
            near = nearest(text, FEET)
            raise RequestError(
                f"{lilt!r} is not a lilt",
                legal=(f"did you mean {near}? " if near else "")
                + f"there are {', '.join(FEET)}, and ratios such as 2:1",
            )
        return cls(text)

    def __str__(self) -> str:
        return f"{self.ratio[0]}:{self.ratio[1]}" if self.ratio else self.foot

    def __repr__(self) -> str:
        return f"Lilt({str(self)!r})"

    @property
    def share(self) -> mpq | None:
        """The part of a beat that comes before its split, for a ratio."""
        return mpq(self.ratio[0], sum(self.ratio)) if self.ratio else None

    def share_of(self, ternary: bool) -> mpq | None:
        """The share as it is written in a beat that divides in three, or in two.

        What is a dotted pair in a simple beat (3:1) has no plain values in a ternary one: there
        the split stands on the nearest half division, the sharper of two (5/16 and 1/16).
        """
        share = self.share
        if share is None or not ternary or not is_power_of_two(int(share.denominator)):
            return share
        sixths = share * 6
        if share > mpq(1, 2):
            return mpq(int((sixths + mpq(1, 2)) // 1), 6)
        return mpq(-int((mpq(1, 2) - sixths) // 1), 6)


def align(source: Metre, target: Metre, *, lilt: str | Lilt = "trochee") -> TimeMap:
    """The warp of one bar of ``source`` onto one bar of ``target``.

    Raises :class:`RequestError` for a metre without length or an unknown lilt.
    """
    return _align_bars(source, target, Lilt.parse(lilt))


@lru_cache(maxsize=4096)
def _align_bars(source: Metre, target: Metre, lilt: Lilt) -> TimeMap:
    _measured(source, target)
    return _join(source.tree, target.tree, lilt)


def _measured(*metres: Metre) -> None:
    for metre in metres:
        if not metre.length:
            raise RequestError(f"{metre} has no length to align", legal="name a measured metre")


def _join(source: Node, target: Node, lilt: Lilt) -> TimeMap:
    points = [(source.start, target.start)]
    _match((source,), (target,), lilt, points)
    return TimeMap(tuple(points)).shift(-source.start, -target.start)


_Run = Sequence[Node]


def _match(source: _Run, target: _Run, lilt: Lilt, points: list[tuple[mpq, mpq]]) -> None:
    """Match two runs of neighbouring nodes; appends the breakpoints after the runs' start."""
    end = (source[-1].end, target[-1].end)
    ours, theirs = _parts(source), _parts(target)
    if lilt.share is not None and len(source) == len(target) == 1:
        beats = _deepest_single(source[0]), _deepest_single(target[0])
        if all(node.kind == "beat" for node in beats):
            dotted = beats[0].ternary or beats[1].ternary
            share = lilt.share_of(dotted) or lilt.share
            points.extend((_split_of_beat(*beats, share), end))
            return
    if len(ours) == len(theirs) == 1:
        points.append(end)
        return
    if len(ours) == len(theirs):
        for one, other in zip(ours, theirs, strict=True):
            _match((one,), (other,), lilt, points)
        return
    if lilt.foot == "even":
        points.append(end)
        return
    longer_first = lilt.foot == "trochee"
    halves = zip(_split(ours, longer_first), _split(theirs, longer_first), strict=True)
    for our_half, their_half in halves:
        _match(our_half, their_half, lilt, points)


def _deepest_single(node: Node) -> Node:
    while len(node.children) == 1:
        node = node.children[0]
    return node


def _parts(run: _Run) -> _Run:
    """What a run falls into: several nodes are its parts, one node has children."""
    while len(run) == 1 and run[0].children:
        run = run[0].children
    return run


def _split(run: _Run, longer_first: bool) -> tuple[_Run, _Run]:
    """The run in two, as evenly as can be."""
    if len(run) == 1:
        half = run[0].length / 2
        return (
            (Node(run[0].start, half, "division"),),
            (Node(run[0].start + half, half, "division"),),
        )
    start, end = run[0].start, run[-1].end
    first_wins = [(node.start - start) - (end - node.start) for node in run[1:]]
    best = min(
        range(len(first_wins)),
        key=lambda i: (abs(first_wins[i]), -first_wins[i] if longer_first else first_wins[i]),
    )
    return run[: best + 1], run[best + 1 :]


def _split_of_beat(source: Node, target: Node, share: mpq) -> tuple[mpq, mpq]:
    """The breakpoint inside a beat under a ratio.

    The middle of a simple beat goes to ``share`` of the target. A ternary beat that becomes a
    simple one gives the middle back, so the way back is the inverse; one that stays ternary has
    the end of its second division moved to ``share``.
    """
    before, after = mpq(1, 2), share
    if source.ternary:
        before, after = (mpq(2, 3), share) if target.ternary else (share, mpq(1, 2))
    return source.start + source.length * before, target.start + target.length * after
