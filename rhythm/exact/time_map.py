"""Warps: strictly increasing, piecewise-linear maps of exact time.

A change of feel is such a map: "the middle of each quarter goes to two thirds of the dotted
quarter". A warp is given by its breakpoints; past its first and last point it goes on with the
slope it has there, so that music which runs over the bar line is carried along.

Conventions
-----------
Positions are ``gmpy2.mpq`` in whole notes. Breakpoints that lie on the line between their
neighbours are dropped, so equal maps over equal spans are equal values.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import field
from itertools import pairwise
from numbers import Rational
from typing import TYPE_CHECKING, TypeAlias

from gmpy2 import mpq

from rhythm.exact.errors import KindError, RequestError
from rhythm.exact.frozen import dataclass
from rhythm.exact.values import value

__all__ = ["TimeMap"]

_ARROW = re.compile(r"\s*(?:=|→|->)\s*")
_LEGAL = "write rising pairs of positions, such as 0=0, 1/8=1/4, 1/4=3/8"


Exact: TypeAlias = mpq | int | Rational | str


@dataclass(frozen=True, slots=True, repr=False)
class TimeMap:
    """A map of time by its breakpoints ``(position, image)``, at least two, in order.

    It is made of them, or of text: ``TimeMap("0=0, 1/8=1/4, 1/4=3/8")``.
    Raises :class:`RequestError` where the points do not rise strictly on both sides.
    """

    points: tuple[tuple[mpq, mpq], ...]
    if TYPE_CHECKING:

        def __init__(self, points: str | Iterable[tuple[Exact, Exact]]) -> None: ...

    _xs: tuple[mpq, ...] = field(init=False, repr=False, compare=False)
    _slopes: tuple[mpq, ...] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        given: object = self.points
        if isinstance(given, str):
            points = list(TimeMap.parse(given).points)
        elif isinstance(given, Iterable):
            points = [_pair(point) for point in given]
        else:
            raise KindError(f"{given!r} is not a map of time", legal=_LEGAL)
        if len(points) < 2:
            raise RequestError("a map of time has too few points", legal="give at least two")
        for (x0, y0), (x1, y1) in pairwise(points):
            if x1 <= x0 or y1 <= y0:
                raise RequestError(
                    f"the map of time does not rise from {x0}={y0} to {x1}={y1}",
                    legal="positions and images must both rise strictly",
                )
        kept = [points[0]]
        for here, after in pairwise(points[1:]):
            before = kept[-1]
            rise = (here[1] - before[1]) * (after[0] - here[0])
            if rise != (after[1] - here[1]) * (here[0] - before[0]):
                kept.append(here)
        kept.append(points[-1])
        object.__setattr__(self, "points", tuple(kept))
        object.__setattr__(self, "_xs", tuple(x for x, _ in kept))
        slopes = tuple((y1 - y0) / (x1 - x0) for (x0, y0), (x1, y1) in pairwise(kept))
        object.__setattr__(self, "_slopes", slopes)

    @classmethod
    def linear(cls, a: Exact, b: Exact) -> TimeMap:
        """The even map of a span of length ``a`` onto one of length ``b``, both from 0."""
        return cls(((mpq(0), mpq(0)), (value(a), value(b))))

    @classmethod
    def join(cls, warps: Iterable[TimeMap]) -> TimeMap:
        """Maps one after the other: each is shifted to start where the one before ended."""
        points: list[tuple[mpq, mpq]] = []
        for warp in warps:
            if not points:
                points.extend(warp.points)
                continue
            dx = points[-1][0] - warp.points[0][0]
            dy = points[-1][1] - warp.points[0][1]
            points.extend((x + dx, y + dy) for x, y in warp.points[1:])
        return cls(tuple(points))

    @classmethod
    def parse(cls, text: str) -> TimeMap:
        """Read ``0=0, 1/8=1/4, 1/4=3/8`` (arrows, → and ``->``, do as well); ``str`` inverts.

        Raises :class:`RequestError`.
        """
        return cls(cls.points_of(text))

    @staticmethod
    def points_of(text: str) -> tuple[tuple[mpq, mpq], ...]:
        """The pairs that :meth:`parse` makes a map of, be it a single one."""
        points = []
        for pair in text.split(","):
            sides = _ARROW.split(pair.strip())
            if len(sides) != 2:
                raise RequestError(
                    f"{pair.strip()!r} is not a point of a map of time",
                    legal=_LEGAL,
                )
            points.append((value(sides[0]), value(sides[1])))
        return tuple(points)

    def __str__(self) -> str:
        return ", ".join(f"{x}={y}" for x, y in self.points)

    def __repr__(self) -> str:
        return f"TimeMap({str(self)!r})"

    def __call__(self, t: mpq) -> mpq:
        """The image of ``t``; past the ends the first or last slope goes on."""
        i = bisect_right(self._xs, t) - 1
        if i < 0:
            i = 0
        elif i >= len(self._slopes):
            i = len(self._slopes) - 1
        x, y = self.points[i]
        return y + (t - x) * self._slopes[i]

    @property
    def start(self) -> mpq:
        """The first position the map was made for."""
        return self._xs[0]

    @property
    def end(self) -> mpq:
        """The last position the map was made for."""
        return self._xs[-1]

    @property
    def length(self) -> mpq:
        """The length of the span it was made for."""
        return self._xs[-1] - self._xs[0]

    @property
    def image_length(self) -> mpq:
        """The length of that span's image."""
        return self.points[-1][1] - self.points[0][1]

    def inverse(self) -> TimeMap:
        """The map back."""
        return TimeMap(tuple((y, x) for x, y in self.points))

    def then(self, other: TimeMap) -> TimeMap:
        """This map followed by ``other``, with the breakpoints of both."""
        back = self.inverse()
        xs = sorted({*self._xs, *(back(x) for x in other._xs)})
        return TimeMap(tuple((x, other(self(x))) for x in xs))

    def restrict(self, a: mpq, b: mpq) -> TimeMap:
        """The map on the span from ``a`` to ``b`` (``a`` < ``b``), positions as they are."""
        inner = (point for point in self.points if a < point[0] < b)
        return TimeMap(((a, self(a)), *inner, (b, self(b))))

    def shift(self, src: mpq | int, dst: mpq | int) -> TimeMap:
        """The map with its positions moved by ``src`` and its images by ``dst``."""
        return TimeMap(tuple((x + src, y + dst) for x, y in self.points))


def _pair(point: object) -> tuple[mpq, mpq]:
    """A breakpoint from anything that two exact values can be taken from."""
    if isinstance(point, str) or not isinstance(point, Sequence) or len(point) != 2:
        raise KindError(f"{point!r} is not a point of a map of time", legal=_LEGAL)
    return value(point[0]), value(point[1])
