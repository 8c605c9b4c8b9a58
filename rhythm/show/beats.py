"""The beats of bars: their numbers, their weights, what a click has of them and a count-in.

Conventions
-----------
Offsets are whole notes from a bar's start. Weights are those of
:class:`~rhythm.show.performed.Click`. A bar without a metre is counted in quarters.
"""

from __future__ import annotations

from bisect import bisect_right

from gmpy2 import mpq

from rhythm.exact.metre import Metre
from rhythm.score.model import Bar

__all__ = ["beat_number", "count_in", "count_in_places", "metre_of", "metric_places"]

_QUARTERS = Metre.parse("4/4")
_LIGHTEST = 3


def metre_of(bar: Bar) -> Metre:
    """The metre that a bar is counted in."""
    return bar.metre if bar.metre is not None and bar.metre.length else _QUARTERS


def beat_number(bar: Bar, offset: mpq) -> int:
    """The number of the beat that holds an offset from the bar's start, from 1."""
    metre = metre_of(bar)
    place = offset + bar.shift
    turns, inside = divmod(place, metre.length)
    starts = [node.start for node in metre.beat_nodes]
    return int(turns) * len(starts) + max(1, bisect_right(starts, inside))


def metric_places(bar: Bar) -> list[tuple[mpq, int]]:
    """The beats and divisions inside a bar, by offset, each with its weight (see Click)."""
    metre = metre_of(bar)
    places = sorted(
        {node.start for node in metre.beat_nodes}
        | {child.start for node in metre.beat_nodes for child in node.children}
    )
    found: list[tuple[mpq, int]] = []
    turn = mpq(0)
    while turn < bar.shift + bar.length:
        for place in places:
            offset = turn + place - bar.shift
            if 0 <= offset < bar.length:
                weight = max(0, _LIGHTEST - metre.rank(turn + place))
                found.append((offset, weight))
        turn += metre.length
    return found


def count_in(bar: Bar, pace: mpq) -> tuple[tuple[tuple[int, int], ...], int]:
    """One bar counted before ``bar``: (milliseconds, weight) of its beats, and its length.

    ``pace`` is how many milliseconds a whole note lasts.
    """
    places, whole = count_in_places(bar)
    return tuple((int(place * pace), weight) for place, weight in places), int(whole * pace)


def count_in_places(bar: Bar, bars: int = 1) -> tuple[tuple[tuple[mpq, int], ...], mpq]:
    """So many bars counted before ``bar``: (offset, weight) of their beats, and their length.

    Before an upbeat, or from the middle of a metre, the beats up to there are counted too.
    """
    metre = metre_of(bar)
    whole = metre.length * bars + bar.shift % metre.length
    counted: list[tuple[mpq, int]] = []
    turn = mpq(0)
    while turn < whole:
        for node in metre.beat_nodes:
            moment = turn + node.start
            if moment < whole:
                counted.append((moment, max(1, _LIGHTEST - metre.rank(moment))))
        turn += metre.length
    return tuple(counted), whole
