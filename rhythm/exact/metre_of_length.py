"""The signature that a length makes when nothing else says one.

Conventions
-----------
Lengths are in whole notes. A signature is *usual* when its count of units is one that musicians
write over that unit: 2/4 and no 4/8, 3/8 and no 6/16 (common practice, no source).
"""

from __future__ import annotations

from functools import lru_cache

from gmpy2 import mpq

from rhythm.exact.metre import Metre
from rhythm.exact.values import is_power_of_two

__all__ = ["simplest_metre"]

_USUAL = {
    4: frozenset({1, 2, 3, 4, 5, 6, 7, 9}),
    8: frozenset({3, 5, 6, 7, 9, 11, 12, 13, 15}),
    2: frozenset({2, 3, 4, 5, 6, 7}),
    16: frozenset({3, 5, 7, 9, 11, 13, 15}),
}
"""The usual counts over each unit, the units in the order in which they are tried."""

_SMALLEST_UNIT = 64
_MOST_UNITS = 64


@lru_cache(maxsize=1024)
def simplest_metre(length: mpq, like: Metre | None = None) -> Metre | None:
    """The simplest signature that holds exactly ``length`` (whole notes, above 0).

    The unit of ``like`` stays where the count over it is usual, and where ``like`` is compound and
    the count one of threes: 5/8 and 3/8 beside 6/8, 6/16 beside 12/16. Else the first usual one
    over 4, 8, 2 and 16 is taken: a half beside 6/8 is 2/4, a breve beside 4/4 is 4/2. A length
    that has no usual signature is counted in quarters or the largest unit below that it needs. None
    where the length is no number of sixty-fourths or more than 64 such units.
    """
    if length <= 0 or not is_power_of_two(int(length.denominator)):
        return None
    unit = like.terms[-1].unit if like is not None and like.terms else 0
    if like is not None and is_power_of_two(unit):  # files may hold others
        count = length * unit
        if count in _USUAL.get(unit, ()) or (like.is_compound and count % 3 == 0 and count > 3):
            return _metre(count, unit)
    for unit, counts in _USUAL.items():
        if length * unit in counts:
            return _metre(length * unit, unit)
    unit = max(4, int(length.denominator))
    return _metre(length * unit, unit)


def _metre(count: mpq, unit: int) -> Metre | None:
    if unit > _SMALLEST_UNIT or count > _MOST_UNITS:
        return None
    return Metre.parse(f"{count}/{unit}")
