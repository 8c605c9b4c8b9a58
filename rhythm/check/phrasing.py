"""How the checker speaks: amounts with their article, and rests that fill."""

from __future__ import annotations

from functools import lru_cache

from gmpy2 import mpq

from rhythm.exact.values import MAX_DOTS, name_value, symbol, symbol_value

__all__ = ["a_symbol", "a_value", "bar_name", "filling_rests", "said_length"]

_MOST_NAMED_DOTS = 3
_MOST_DIGITS = 3
_SHORTEST = mpq(1, 256)
_MOST_AS_FRACTION = 4  # whole notes


@lru_cache(maxsize=1024)
def a_value(amount: mpq) -> str:
    """The size of an amount with its article: ``an eighth``, ``a half and an eighth``.

    What no one or two values make is given as the nearest: ``about a thirty-second``.
    """
    size = abs(amount)
    names = name_value(size).split(" + ")
    if _is_fraction(names[0]) or len(names) > 2 or size < _SHORTEST:
        if size < _SHORTEST:
            return "less than a 256th"
        nearest = min(_speakable(), key=lambda value: (abs(value - size), value))
        if abs(nearest - size) * 4 > size:
            return said_length(size)
        return f"about {_with_article(name_value(nearest))}"
    return " and ".join(map(_with_article, names))


def said_length(length: mpq) -> str:
    """A length in whole notes, no fraction of it with more than three digits a side."""
    whole, part = divmod(length, 1)
    if length.denominator == 1:
        return "a whole note" if length == 1 else f"{length} whole notes"
    if whole > _MOST_AS_FRACTION:
        return f"about {round(length)} whole notes"
    if max(len(str(length.numerator)), len(str(length.denominator))) <= _MOST_DIGITS:
        return f"{length} of a whole note"
    if not whole:
        return f"about {_nearest_fraction(part)} of a whole note"
    return f"about {round(length)} whole note{'s' * (round(length) > 1)}"


def _nearest_fraction(part: mpq) -> mpq:
    return mpq(max(round(part * 64), 1), 64)


@lru_cache(maxsize=1)
def _speakable() -> tuple[mpq, ...]:
    """The values that are named when an amount is none: plain, dotted and triplet ones."""
    plain = [mpq(2) / 2**power for power in range(9)]
    return tuple(
        v * by for v in plain for by in (mpq(1), mpq(3, 2), mpq(2, 3)) if v * by >= _SHORTEST
    )


def _is_fraction(name: str) -> bool:
    return name[0].isdigit() and "/" in name


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
    names = name_value(amount).split(" + ")
    if _is_fraction(names[0]) or len(names) > 3:
        return f"rests of {a_value(amount).removeprefix('about ')}"
    return " and ".join(_with_article(each) + " rest" for each in names)


def bar_name(number: str) -> str:
    """A bar's number as a musician says it: programs write X0 for an uncounted bar."""
    body = number.lstrip("Xx")
    return body if body.isdigit() else number
