"""How the checker speaks: amounts with their article, and rests that fill."""

from __future__ import annotations

from functools import lru_cache

from gmpy2 import mpq

from rhythm.exact.values import MAX_DOTS, name_value, symbol, symbol_value

__all__ = ["a_symbol", "a_value", "filling_rests"]

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
