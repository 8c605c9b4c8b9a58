"""How the checker speaks: amounts with their article, rests that fill, the metre a length makes."""

from __future__ import annotations

from functools import lru_cache

from gmpy2 import mpq

from rhythm.exact.metre import Metre
from rhythm.exact.values import MAX_DOTS, is_power_of_two, name_value, symbol, symbol_value

__all__ = ["a_symbol", "a_value", "filling_rests", "simplest_metre"]

_SMALLEST_UNIT = 64
_MOST_BEATS = 64
_MOST_NAMED_DOTS = 3


@lru_cache(maxsize=1024)
def a_value(amount: mpq) -> str:
    """The size of an amount with its article: ``an eighth``, ``a half and an eighth``."""
    name = name_value(abs(amount))
    if name[0].isdigit() and "/" in name:
        return f"{name} of a whole note"
    return " and ".join(map(_with_article, name.split(" + ")))


def a_symbol(length: mpq) -> str:
    """A written value with its article and however many dots: ``a triple dotted 32nd``."""
    found = symbol(length, MAX_DOTS)
    if found is None or found[1] < _MOST_NAMED_DOTS:
        return a_value(length)
    dots = {3: "triple", 4: "quadruple"}[found[1]]
    return f"a {dots} dotted {name_value(symbol_value(found[0], 0))}"


def _with_article(name: str) -> str:
    return ("an " if name[0] in "aeio8" else "a ") + name


@lru_cache(maxsize=1024)
def filling_rests(amount: mpq) -> str:
    """The rest or rests that last ``amount``, as a musician asks for them."""
    name = name_value(amount)
    if name[0].isdigit() and "/" in name:
        return f"rests of {amount} of a whole note"
    return " and ".join(_with_article(each) + " rest" for each in name.split(" + "))


@lru_cache(maxsize=1024)
def simplest_metre(length: mpq, like: Metre | None = None) -> Metre | None:
    """The simplest signature that holds exactly ``length``, over the unit of ``like`` if it can.

    The unit gets smaller only where the length asks for it; a length that is no number of
    sixty-fourths, or too many units, has no signature (None).
    """
    unit = like.terms[-1].unit if like is not None and like.terms else 4
    unit = unit if is_power_of_two(unit) else 4  # files may hold others
    if length <= 0 or not is_power_of_two(int(length.denominator)):
        return None
    least = int(length.denominator)
    unit = max(unit, least)
    beats = int(length * unit)
    if unit > _SMALLEST_UNIT or beats > _MOST_BEATS:
        return None
    return Metre.parse(f"{beats}/{unit}")
