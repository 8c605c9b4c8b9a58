"""Exact answers to what fits where: sums of note values, tempo relations, the least tuplet.

Conventions
-----------
Values and lengths are ``gmpy2.mpq`` in whole notes; a tempo is beats per minute, any one beat. The
answers are frozen values with ``to_dict`` for JSON, where exact values become texts ("3/4").
"""

from __future__ import annotations

from dataclasses import dataclass

from gmpy2 import mpq

from rhythm.exact.errors import RequestError
from rhythm.exact.expressions import evaluate
from rhythm.exact.metre import Metre
from rhythm.exact.values import format_value, name_value

__all__ = ["Reckoning", "Tempo", "TupletFit", "least_tuplet", "reckon", "tempo_relation"]

# The plain signatures a length is looked up in, commonest spelling of each length first.
_PLAIN = (
    "2/4", "3/4", "4/4", "5/4", "6/4", "7/4", "2/2", "3/2", "4/2",
    "3/8", "5/8", "6/8", "7/8", "8/8", "9/8", "10/8", "11/8", "12/8", "15/8", "18/8",
    "1/4", "9/4", "12/4", "2/8", "4/8", "3/16", "5/16", "6/16", "7/16", "9/16", "12/16",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Reckoning:
    """What a sum of values comes to.

    ``fills`` are the plain signatures whose bar is exactly that long. With a ``metre`` asked for,
    ``bars`` whole bars of it are filled, ``rest`` stands in the next one and ``left`` is what that
    bar still wants (both 0 where the bars come out even).
    """

    expression: str
    value: mpq
    name: str
    fills: tuple[str, ...]
    metre: Metre | None = None
    bars: int = 0
    rest: mpq | None = None
    left: mpq | None = None

    def to_dict(self) -> dict[str, object]:
        """Plain values for JSON; exact values as texts."""
        result: dict[str, object] = {
            "expression": self.expression,
            "value": format_value(self.value),
            "name": self.name,
            "fills": list(self.fills),
        }
        if self.metre is not None and self.rest is not None and self.left is not None:
            result |= {
                "metre": str(self.metre),
                "bars": self.bars,
                "rest": format_value(self.rest),
                "left": format_value(self.left),
            }
        return result


def reckon(expression: str, in_: str | Metre | None = None) -> Reckoning:
    """What a sum of note values comes to, which plain bars it fills, and what is left of a bar.

    ``reckon("24*1/32", in_="6/4")`` is 3/4, a dotted half; it fills a bar of 3/4 and leaves 3/4 of
    the bar of 6/4. Raises RequestError for text that is no sum of values, or no metre.
    """
    total = evaluate(expression)
    fills = tuple(text for text in _PLAIN if Metre.parse(text).length == total)
    name = name_value(total) if total > 0 else "nothing" if not total else "less than nothing"
    if in_ is None:
        return Reckoning(expression, total, name, fills)
    metre = Metre.parse(in_) if isinstance(in_, str) else in_
    if metre.length <= 0:
        raise RequestError(f"a bar of {metre} has no length to fill", legal="a metre such as 6/4")
    if total < 0:
        raise RequestError(
            f"{expression!r} comes to {format_value(total)}", legal="0 or more to fill a bar"
        )
    bars, rest = divmod(total, metre.length)
    left = metre.length - rest if rest else mpq(0)
    return Reckoning(expression, total, name, fills, metre, int(bars), rest, left)


@dataclass(frozen=True, slots=True)
class Tempo:
    """A tempo before and after a change in which ``old`` lasts as long as ``new`` does then."""

    before: mpq
    old: mpq
    new: mpq
    after: mpq

    def to_dict(self) -> dict[str, object]:
        """Plain values for JSON; exact values as texts."""
        return {
            "before": str(self.before),
            "old": format_value(self.old),
            "new": format_value(self.new),
            "after": str(self.after),
        }


def tempo_relation(tempo: int | str | mpq, old: mpq, new: mpq) -> Tempo:
    """The tempo after ``old`` becomes ``new``: Q_new = Q_old · v_new / v_old, for the same beat.

    The old triplet eighth becomes the new eighth: 84 becomes 126 (Carter, Eight Etudes and a
    Fantasy, after DeLone 1975). ``tempo`` may be a decimal text ("92.5"). Raises RequestError where
    a tempo or a value is not above 0.
    """
    if isinstance(tempo, bool) or not isinstance(tempo, int | str | type(mpq(0))):
        raise TypeError("a tempo is an int, an exact value or a text such as '92.5'")
    before = evaluate(tempo) if isinstance(tempo, str) else mpq(tempo)
    for what, value in (("tempo", before), ("value", old), ("value", new)):
        if value <= 0:
            raise RequestError(f"a {what} of {value}", legal="above 0")
    return Tempo(before, old, new, before * new / old)


@dataclass(frozen=True, slots=True)
class TupletFit:
    """``notes`` equal notes over ``span``, written as ``notes`` in the time of ``normal``.

    ``unit`` is the written value of one note, ``each`` its sounding value. Where ``notes`` equals
    ``normal`` no tuplet is needed.
    """

    span: mpq
    notes: int
    normal: int
    unit: mpq
    each: mpq

    @property
    def plain(self) -> bool:
        """True where plain notes do."""
        return self.notes == self.normal

    def __str__(self) -> str:
        unit = name_value(self.unit)
        if self.plain:
            return f"{self.notes} × {unit}"
        return f"{self.notes}:{self.normal} × {unit}"

    def to_dict(self) -> dict[str, object]:
        """Plain values for JSON; exact values as texts."""
        return {
            "span": format_value(self.span),
            "notes": self.notes,
            "normal": self.normal,
            "unit": format_value(self.unit),
            "each": format_value(self.each),
        }


def least_tuplet(notes: int, span: mpq) -> TupletFit:
    """The plainest way to write so many equal notes over a span.

    Over a simple span, n in the time of the largest power of two not above n (5:4, 7:4, 13:8);
    over a span of 3, 5, 7... times a plain value, in the time of the nearest of that number times
    a power of two (2:3, 4:3, 5:6, 7:6, 8:6), the smaller of two equally near.
    Raises RequestError where notes are not 1 to 1024 or the span is no such value.
    """
    if not 1 <= notes <= 1024:
        raise RequestError(f"{notes} notes", legal="1 to 1024 notes")
    if span <= 0 or int(span.denominator) & (int(span.denominator) - 1):
        raise RequestError(
            f"a span of {span}", legal="a sum of plain values, such as 1/4, 3/8 or 5/4"
        )
    odd = int(span.numerator)
    while odd % 2 == 0:
        odd //= 2
    normal = odd
    while normal * 2 <= notes or (odd > 1 and abs(normal * 2 - notes) < abs(normal - notes)):
        normal *= 2
    if odd > 1 and normal > odd and abs(normal // 2 - notes) <= abs(normal - notes):
        normal //= 2
    return TupletFit(span, notes, normal, span / normal, span / notes)
