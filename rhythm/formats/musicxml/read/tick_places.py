"""Places in order, so that the nearest to a tick is found without a look at all of them."""

from __future__ import annotations

from bisect import bisect_left, bisect_right, insort
from collections.abc import Reversible, Sized
from itertools import islice
from typing import Protocol

from gmpy2 import mpq

__all__ = ["TickPlaces"]


class Places(Sized, Reversible[mpq], Protocol):
    """A list of places, or the keys of a dictionary, in the order in which they came."""


class TickPlaces:
    """The places that a cursor has been to in a bar, kept in order as they come.

    They are given again and again as the collection that they were put in, each time with new
    ones at its end: those alone are sorted in.
    """

    def __init__(self) -> None:
        self._order: list[mpq] = []
        self._taken = 0

    def nearest(self, places: Places, tick: mpq) -> mpq:
        """The one of ``places``, not empty, that is nearest to ``tick``; of two, the lower."""
        order = self._sorted(places)
        at = bisect_left(order, tick)
        around = order[max(at - 1, 0) : at + 1]
        return min(around, key=lambda place: abs(place - tick))

    def below(self, places: Places, tick: mpq) -> mpq | None:
        """The last of ``places`` that is not behind ``tick``, None where there is none."""
        order = self._sorted(places)
        at = bisect_right(order, tick)
        return order[at - 1] if at else None

    def forget(self) -> None:
        """The collection has lost some of its places: it is sorted anew when it is asked for."""
        self._order, self._taken = [], 0

    def _sorted(self, places: Places) -> list[mpq]:
        if not self._taken:
            self._order = sorted(places)
        else:
            for place in islice(reversed(places), len(places) - self._taken):
                insort(self._order, place)
        self._taken = len(places)
        return self._order
