"""Sums with note values as a musician writes them: ``24*1/32``, ``dotted quarter + 2 eighths``.

The text is read by hand, never evaluated. Grammar, loosest first::

    sum      = product { ("+" | "-" | "plus" | "minus") product }
    product  = item { ("*" | "x" | "×" | "times" | "of" | "/" | ":") item | item-next-to-it }
    item     = ["-"] ( number | fraction | name | "(" sum ")" )

A fraction is written without spaces (``1/32``) and binds tighter than any operator. A number
before a name or a bracket multiplies it (``2 eighths``, ``two eighths``), and so does ``bars of``.
Names are those of :func:`rhythm.exact.values.value`, in the singular or the plural.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from gmpy2 import mpq

from rhythm.exact.errors import RequestError
from rhythm.exact.values import value

__all__ = ["evaluate"]

_LONGEST = 2000  # characters; a sum nobody wrote by hand is refused before it costs anything
_DEEPEST = 40  # brackets in brackets
_DIGITS = 12  # of one number

_TOKEN = re.compile(
    r"\s*(?:(?P<number>\d+/\d+|\d+(?:\.\d+)?)|(?P<of>(?:bars?\s+)?of\b)"
    r"|(?P<word>[A-Za-z]+(?:-[A-Za-z]+)*)"
    r"|(?P<sign>[-+*/:×·()−]))"
)
_ORDINAL = re.compile(r"\s*(?P<ordinal>\d+(?:st|nd|rd|th))s?\b")
_SIGNS = {"plus": "+", "minus": "-", "−": "-", "times": "*", "x": "*", "×": "*", "·": "*", ":": "/"}
_COUNTS = ("one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven",
           "twelve")  # fmt: skip
_PLURALS = {"halves": "half", "breves": "breve", "longs": "long", "maximas": "maxima"}


@dataclass(frozen=True, slots=True)
class _Token:
    kind: str  # "number", "name", "sign" or "end"
    text: str
    at: int


def _tokens(text: str) -> list[_Token]:
    tokens: list[_Token] = []
    at = 0
    end = len(text.rstrip())
    while at < end:
        ordinal = _ORDINAL.match(text, at)
        match = ordinal or _TOKEN.match(text, at)
        if match is None:
            raise _unclear(text, f"{text[at:].split()[0]!r}")
        start = match.start() + len(match.group()) - len(match.group().lstrip())
        found = match.group().strip()
        if ordinal is not None:
            tokens.append(_Token("name", ordinal["ordinal"], start))
        elif match["number"]:
            if sum(map(str.isdigit, found)) > 2 * _DIGITS:
                raise _unclear(text, f"a number of more than {_DIGITS} digits")
            tokens.append(_Token("number", found, start))
        elif found.lower() in _COUNTS:
            tokens.append(_Token("number", str(_COUNTS.index(found.lower()) + 1), start))
        elif match["of"]:
            tokens.append(_Token("sign", "*", start))
        elif found.lower() in _SIGNS or match["sign"]:
            tokens.append(_Token("sign", _SIGNS.get(found.lower(), found), start))
        else:
            tokens.append(_Token("name", _singular(found.lower()), start))
        at = match.end()
    tokens.append(_Token("end", "", end))
    return tokens


def _singular(word: str) -> str:
    if word in _PLURALS:
        return _PLURALS[word]
    return word[:-1] if word.endswith("s") and len(word) > 2 else word


def _unclear(text: str, what: str) -> RequestError:
    shown = text if len(text) <= 60 else text[:57] + "..."
    return RequestError(
        f"cannot reckon {shown!r}: {what}",
        legal="numbers, fractions, note values by name, + - * / and brackets are understood",
    )


class _Reader:
    """Walks the tokens once, left to right."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.tokens = _tokens(text)
        self.next = 0
        self.depth = 0

    @property
    def token(self) -> _Token:
        return self.tokens[self.next]

    def take(self, *signs: str) -> str:
        """The sign at hand if it is one of these, else nothing."""
        if self.token.kind == "sign" and self.token.text in signs:
            self.next += 1
            return self.tokens[self.next - 1].text
        return ""

    def sum(self) -> mpq:
        total = self.product()
        while sign := self.take("+", "-"):
            term = self.product()
            total = total + term if sign == "+" else total - term
        return total

    def product(self) -> mpq:
        result = self.item()
        while True:
            if self.take("*"):
                result = result * self.item()
            elif self.take("/"):
                divisor = self.item()
                if not divisor:
                    raise _unclear(self.text, "a division by nothing")
                result = result / divisor
            elif self.tokens[self.next - 1].kind == "number" and (
                self.token.kind == "name" or self.token.text == "("
            ):
                result = result * self.item()
            else:
                return result

    def item(self) -> mpq:
        token = self.token
        if self.take("-"):
            return -self.item()
        if self.take("("):
            self.depth += 1
            if self.depth > _DEEPEST:
                raise _unclear(self.text, f"more than {_DEEPEST} brackets in brackets")
            inner = self.sum()
            if not self.take(")"):
                raise _unclear(self.text, "a bracket is not closed")
            self.depth -= 1
            return inner
        if token.kind == "number":
            self.next += 1
            return self.number(token.text)
        if token.kind == "name":
            return self.name()
        if token.kind == "end":
            raise _unclear(self.text, "something is missing at the end")
        raise _unclear(self.text, f"{token.text!r} stands where a value belongs")

    def number(self, text: str) -> mpq:
        top, _, bottom = text.partition("/")
        whole, _, decimals = top.partition(".")
        if bottom and not int(bottom):
            raise _unclear(self.text, "a division by nothing")
        return mpq(int(whole + decimals), 10 ** len(decimals) * int(bottom or 1))

    def name(self) -> mpq:
        words = []
        while self.token.kind == "name":
            words.append(self.token.text)
            self.next += 1
        try:
            return value(" ".join(words))
        except RequestError as error:
            raise RequestError(
                f"cannot reckon {self.text!r}: {error.problem}", legal=error.legal
            ) from None


def evaluate(text: str) -> mpq:
    """The exact value, in whole notes, of a sum such as ``dotted quarter + 2 eighths``.

    Raises RequestError where the text is not a sum of values (see the module's grammar).
    """
    if len(text) > _LONGEST:
        raise RequestError(
            f"a sum of {len(text)} characters", legal=f"at most {_LONGEST} characters"
        )
    if not text.strip():
        raise _unclear(text, "nothing is written")
    reader = _Reader(text)
    total = reader.sum()
    if reader.token.kind != "end":
        raise _unclear(text, f"{reader.token.text!r} stands where a sign or the end belongs")
    return total
