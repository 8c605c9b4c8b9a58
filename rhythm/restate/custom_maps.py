"""Maps of one's own: ``1/8=1/4, 1/4=3/8`` says where positions of a beat or a bar go.

Conventions
-----------
Each pair is source position = target position, in whole notes from the start of the beat (or of
the bar); 0=0 is understood. The last pair must be the ends: the length of the source's beat and
of the target's.
"""

from __future__ import annotations

from collections.abc import Callable

from gmpy2 import mpq

from rhythm.exact.errors import RequestError
from rhythm.exact.metre import Metre
from rhythm.exact.time_map import TimeMap
from rhythm.exact.values import format_value

__all__ = ["Mapping", "parse_map"]

Mapping = Callable[[Metre, Metre], TimeMap]

_LEGAL = "write rising pairs that end at the ends, such as 1/8=1/4, 1/4=3/8"


def parse_map(pairs: str | TimeMap, by: str = "beat") -> Mapping:
    """A function from (source metre, target metre) to the map of a bar.

    ``pairs`` is their text, or the map itself; ``by`` is ``beat`` or ``bar``. Raises
    RequestError where the pairs do not rise strictly; the function raises it where they do not end
    at the ends of the beats (or bars) it is given.
    """
    warp = TimeMap(_from_zero(_points(pairs) if isinstance(pairs, str) else pairs.points))
    if any(warp.points[0]):
        raise RequestError(f"the map begins at {_pair(*warp.points[0])}", legal="it begins at 0=0")
    ends = warp.points[-1]

    def by_bar(source: Metre, target: Metre) -> TimeMap:
        _ends_at(ends, source.length, target.length, "bar")
        return warp

    def by_beat(source: Metre, target: Metre) -> TimeMap:
        if len(source.beats) != len(target.beats):
            raise RequestError(
                f"{source} has {len(source.beats)} beats and {target} {len(target.beats)}",
                legal="a map of the beat needs as many beats on both sides; map the bar instead",
            )
        for beat, image in zip(source.beats, target.beats, strict=True):
            _ends_at(ends, beat, image, "beat")
        return TimeMap.join([warp] * len(source.beats))

    if by not in ("beat", "bar"):
        raise RequestError(f"a map of the {by!r} is not known", legal="legal are beat and bar")
    return by_bar if by == "bar" else by_beat


Points = tuple[tuple[mpq, mpq], ...]


def _points(text: str) -> Points:
    """The pairs as they are written: a single one, the ends, says all of an even map."""
    return TimeMap.points_of(text)


def _from_zero(points: Points) -> Points:
    """The points with 0=0, which is understood, before them."""
    return points if not all(x > 0 for x in points[0]) else ((mpq(0), mpq(0)), *points)


def _pair(a: mpq, b: mpq) -> str:
    return f"{format_value(a)}={format_value(b)}"


def _ends_at(ends: tuple[mpq, mpq], source: mpq, target: mpq, what: str) -> None:
    if ends != (source, target):
        raise RequestError(
            f"the map ends at {_pair(*ends)}, the {what} at {_pair(source, target)}", legal=_LEGAL
        )
