"""The lengths, bars, beats and numbers that a question speaks of."""

from __future__ import annotations

import re

from gmpy2 import mpq

from rhythm.exact.errors import RequestError
from rhythm.exact.expressions import LENGTH, NUMBER, Quantity, quantity
from rhythm.exact.frozen import dataclass
from rhythm.exact.metre import Metre
from rhythm.exact.values import name_value
from rhythm.exact.wording import SIGNATURE, unclear

__all__ = ["Thing", "beat_of", "metre_of", "number", "one_of", "thing"]


@dataclass(frozen=True, slots=True)
class Thing:
    """A length, the words it was called by, and the signature it is a bar or beat of."""

    length: mpq
    said: str
    metre: Metre | None = None


_BAR = re.compile(rf"(?:an? |the |one |each |every )?(?:whole )?bar (?:of|in) ({SIGNATURE}|c\|?)")
_SIGNATURE_ALONE = re.compile(SIGNATURE)
_BARS = re.compile(rf"(\S+(?: and a half)?) bars (?:of|in) ({SIGNATURE}|c\|?)")
_BEATS = re.compile(
    rf"(?:(?:an? |the |one )?|(?P<n>\S+) )beats? (?:of|in) (?:an? bar of )?(?P<m>{SIGNATURE}|c\|?)"
)
_PATTERN = re.compile(rf"{SIGNATURE}(?:\s+{SIGNATURE})+")


def metre_of(text: str) -> Metre:
    """Read a signature; ``c`` is common time."""
    return Metre.parse(text.upper() if text.startswith("c") else text)


def thing(text: str) -> Thing:
    """Read a length: a sum, a bar or beats of a signature."""
    text = text.strip().strip("'\"")
    if (found := _BAR.fullmatch(text)) is not None:
        metre = metre_of(found[1])
        return Thing(metre.length, f"a bar of {metre}", metre)
    if (found := _BEATS.fullmatch(text)) is not None:
        metre = metre_of(found["m"])
        count = number(found["n"]) if found["n"] else mpq(1)
        return Thing(count * beat_of(metre), text, metre)
    if (found := _BARS.fullmatch(text)) is not None:
        metre = metre_of(found[2])
        return Thing(quantity(text).amount, text, metre)
    amount = quantity(text)
    if amount.kind == NUMBER:
        raise unclear(
            text,
            f"{amount.shown} is a number, not a length",
            f"say {amount.shown} of what, such as {amount.shown} quarters",
        )
    alone = _SIGNATURE_ALONE.fullmatch(text) is not None
    return Thing(amount.amount, text, Metre.parse(text) if alone else None)


def number(text: str) -> mpq:
    """Read a number. Raises RequestError for a length."""
    found: Quantity = quantity(text)
    if found.kind == LENGTH:
        raise unclear(text, f"{found.shown} is a length, not a number", "a number, such as 3")
    return found.amount


def beat_of(metre: Metre) -> mpq:
    """The beat of a signature. Raises RequestError where its beats are not equal."""
    lengths = set(metre.beats)
    if len(lengths) != 1:
        shown = ", ".join(map(name_value, metre.beats))
        raise RequestError(
            f"the beats of {metre} are not equal ({shown})", legal="name the value that is counted"
        )
    return lengths.pop()


def one_of(unit: str) -> Thing:
    """The value that is counted, in the plural as it is said; bars of a signature too."""
    bars = re.fullmatch(rf"bars? (?:of|in) ({SIGNATURE})", unit)
    if bars is not None:
        metre = Metre.parse(bars[1])
        return Thing(metre.length, f"a bar of {metre}", metre)
    alone = re.fullmatch(rf"({SIGNATURE}) bars?", unit)
    if alone is not None:
        metre = Metre.parse(alone[1])
        return Thing(metre.length, f"a bar of {metre}", metre)
    return thing(unit)
