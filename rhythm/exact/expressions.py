"""Sums with note values as a musician says them: ``24*1/32``, ``a quarter tied to an eighth``.

The text is read by hand, never evaluated. Grammar, loosest first::

    sum      = product { ("+" | "-" | "plus" | "minus" | "and" | "tied to" | ...) product }
    product  = item { ("*" | "x" | "×" | "times" | "of" | "/" | ":") item | item-next-to-it }
    item     = ["-"] ( number | fraction | name | symbol | metre | "(" sum ")" )

A fraction is written without spaces (``1/32``) and binds tighter than any operator. A number
before a name or a bracket multiplies it (``2 eighths``, ``two eighths``, ``1 1/2 quarters``), and
so does ``bars of``. Names are those of :func:`rhythm.exact.values.value`, in the singular or the
plural; :mod:`rhythm.exact.wording` knows the symbols and the turns of speech.

Every quantity knows what it is: a *number* (``24``), a *length* (``2 eighths``), or a *fraction*
(``1/32``), which is a length unless it stands beside one. Numbers and lengths are not added up,
and lengths are not multiplied: what would have to be guessed is refused.
"""

from __future__ import annotations

from gmpy2 import mpq

from rhythm.exact.errors import RequestError
from rhythm.exact.frozen import dataclass
from rhythm.exact.metre import Metre
from rhythm.exact.values import NOTE_TYPES, format_value, name_value, plural, value
from rhythm.exact.wording import Token, nearest, tokens_of, unclear

__all__ = ["FRACTION", "LENGTH", "NUMBER", "Quantity", "evaluate", "quantity"]

_LONGEST = 2000  # characters; a sum nobody wrote by hand is refused before it costs anything
_DEEPEST = 40  # brackets in brackets

NUMBER = "number"
LENGTH = "length"
FRACTION = "fraction"

_PARTS = frozenset(NOTE_TYPES.values()) - {mpq(1), mpq(2), mpq(4), mpq(8)}


@dataclass(frozen=True, slots=True)
class Quantity:
    """An exact amount, and what it is: :data:`NUMBER`, :data:`LENGTH` or :data:`FRACTION`.

    ``name`` is the note value it was written as, where it was written as just that; ``part`` is
    True of what may also be a part of something (a half, three quarters).
    """

    amount: mpq
    kind: str
    name: str = ""
    part: bool = False

    @property
    def shown(self) -> str:
        """What an error calls it."""
        if self.kind == LENGTH and self.amount > 0:
            return self.name or name_value(self.amount)
        return format_value(self.amount)


class _Reader:
    """Walks the tokens once, left to right."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.tokens = tokens_of(text)
        self.next = 0
        self.depth = 0

    @property
    def token(self) -> Token:
        return self.tokens[self.next]

    def take(self, *signs: str) -> str:
        """The sign at hand if it is one of these, else nothing."""
        if self.token.kind == "sign" and self.token.text in signs:
            self.next += 1
            return self.tokens[self.next - 1].text
        return ""

    def sum(self) -> Quantity:
        total = self.product()
        while sign := self.take("+", "-"):
            term = self.product()
            kind = self.common(total, term)
            change = term.amount if sign == "+" else -term.amount
            total = Quantity(total.amount + change, kind)
        return total

    def common(self, left: Quantity, right: Quantity) -> str:
        """What a sum of the two is. Raises RequestError for a number and a length."""
        kinds = {left.kind, right.kind}
        if kinds == {NUMBER, LENGTH}:
            number, length = (left, right) if left.kind == NUMBER else (right, left)
            raise unclear(
                self.text,
                f"{number.shown} is a number and {length.shown} is a length",
                f"say what {number.shown} counts, or put numbers in brackets: (3 + 2) quarters",
            )
        return LENGTH if LENGTH in kinds else NUMBER if NUMBER in kinds else FRACTION

    def product(self) -> Quantity:
        start = self.next
        result = self.item()
        while True:
            if self.take("*"):
                result = self.times(result, self.item())
            elif self.take("of"):
                result = self.part_of(result, self.item())
            elif sign := self.take("/", ":"):
                divisor = self.item()
                if sign == ":" and self.beside_a_length() and divisor.kind == NUMBER:
                    raise self.no_ratio(result, divisor)
                result = self.divided(result, divisor)
            elif self.multiplies(start) and (self.token.kind in ("name", "length", "(")):
                result = self.times(result, self.item())
            else:
                return result

    def multiplies(self, start: int) -> bool:
        """Whether what was read last multiplies what stands next to it."""
        last = self.tokens[self.next - 1]
        if last.kind == "number":
            return True
        if last.text != ")" or self.token.kind == "(":
            return False
        return self.tokens[start].kind == "("  # (3+3+2) eighths

    def beside_a_length(self) -> bool:
        return self.token.kind in ("name", "length")

    def no_ratio(self, top: Quantity, bottom: Quantity) -> RequestError:
        actual, normal = top.shown, bottom.shown
        return unclear(
            self.text,
            f"{actual}:{normal} before a value is a tuplet, and its notes were not counted",
            f"say {actual} in the time of {normal} eighths, or name the note: quintuplet sixteenth",
        )

    def times(self, left: Quantity, right: Quantity) -> Quantity:
        kinds = (left.kind, right.kind)
        if kinds == (LENGTH, LENGTH):
            raise unclear(
                self.text,
                f"{left.shown} times {right.shown}: a length times a length is nothing",
                "multiply a length by a number",
            )
        kind = LENGTH if LENGTH in kinds else FRACTION if FRACTION in kinds else NUMBER
        counted = left.kind == NUMBER and bool(right.name)
        name = f"{left.shown} {plural(right.name, left.amount)}" if counted else ""
        return Quantity(left.amount * right.amount, kind, name, part=counted and right.part)

    def part_of(self, left: Quantity, right: Quantity) -> Quantity:
        """``half of a dotted quarter``: the name of a value says which part is meant."""
        if left.part:
            left = Quantity(left.amount, FRACTION)
        return self.times(left, right)

    def divided(self, left: Quantity, right: Quantity) -> Quantity:
        if not right.amount:
            raise unclear(self.text, "a division by nothing")
        if left.kind == NUMBER and right.kind == LENGTH:
            raise unclear(
                self.text,
                f"the number {left.shown} cannot be divided by {right.shown}",
                "divide a length by a number, or a length by a length",
            )
        both_lengths = right.kind == LENGTH or (left.kind == LENGTH and right.kind == FRACTION)
        kind = NUMBER if both_lengths else left.kind
        return Quantity(left.amount / right.amount, kind)

    def item(self) -> Quantity:
        token = self.token
        if self.take("-"):
            inner = self.item()
            return Quantity(-inner.amount, inner.kind)
        if token.kind == "(":
            self.next += 1
            self.depth += 1
            if self.depth > _DEEPEST:
                raise unclear(self.text, f"more than {_DEEPEST} brackets in brackets")
            inner = self.sum()
            if not self.take(")"):
                raise unclear(self.text, "a bracket is not closed")
            self.depth -= 1
            return inner
        if token.kind == "number":
            self.next += 1
            return self.number(token.text)
        if token.kind == "length":
            self.next += 1
            return Quantity(Metre.parse(token.text).length, LENGTH)
        if token.kind == "name":
            return self.name()
        if token.kind == "end":
            raise unclear(self.text, "something is missing at the end")
        raise unclear(self.text, f"{token.text!r} stands where a value belongs")

    def number(self, text: str) -> Quantity:
        whole, _, part = text.rpartition(" ")
        top, _, bottom = part.partition("/")
        integer, _, decimals = top.partition(".")
        if bottom and not int(bottom):
            raise unclear(self.text, "a division by nothing")
        amount = mpq(int(integer + decimals), 10 ** len(decimals) * int(bottom or 1))
        if whole:
            return Quantity(mpq(int(whole)) + amount, NUMBER)
        return Quantity(amount, FRACTION if bottom else NUMBER)

    def name(self) -> Quantity:
        words = []
        while self.token.kind == "name":
            words.append(self.token.text)
            self.next += 1
        name = " ".join(words)
        try:
            length = value(name)
            return Quantity(length, LENGTH, name, part=len(words) == 1 and length in _PARTS)
        except RequestError as error:
            legal = nearest(words) or error.legal
            raise RequestError(
                f"cannot reckon {_shortened(self.text)!r}: {_shortened(name)!r} names no note"
                " value",
                legal=legal,
            ) from None


def _shortened(text: str) -> str:
    return text if len(text) <= 60 else text[:57] + "..."


def quantity(text: str) -> Quantity:
    """The exact amount of a sum such as ``dotted quarter + 2 eighths``, and what it is.

    Raises RequestError where the text is not a sum of values (see the module's grammar), adds a
    number to a length, or multiplies two lengths.
    """
    if len(text) > _LONGEST:
        raise RequestError(
            f"a sum of {len(text)} characters", legal=f"at most {_LONGEST} characters"
        )
    if not text.strip():
        raise unclear(text, "nothing is written")
    reader = _Reader(text)
    total = reader.sum()
    if reader.token.kind != "end":
        raise unclear(text, f"{reader.token.text!r} stands where a sign or the end belongs")
    return total


def evaluate(text: str) -> mpq:
    """The exact value, in whole notes, of a sum such as ``dotted quarter + 2 eighths``.

    Raises RequestError as :func:`quantity` does.
    """
    return quantity(text).amount
