"""A tempo that follows a value, and a number of equal notes over a span.

Conventions
-----------
Values and lengths are ``gmpy2.mpq`` in whole notes; a tempo is beats per minute, any one beat.
"""

from __future__ import annotations

from numbers import Rational

from gmpy2 import mpq

from rhythm.exact.errors import KindError, RequestError
from rhythm.exact.expressions import evaluate
from rhythm.exact.frozen import dataclass
from rhythm.exact.values import format_value, is_power_of_two, name_value, symbol, value

__all__ = ["Tempo", "TupletFit", "least_tuplet", "tempo_relation"]


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


def tempo_relation(
    tempo: mpq | int | Rational | str,
    old: mpq | int | Rational | str,
    new: mpq | int | Rational | str,
) -> Tempo:
    """The tempo after ``old`` becomes ``new``: Q_new = Q_old · v_new / v_old, for the same beat.

    The old triplet eighth becomes the new eighth: 84 becomes 126 (Carter, Eight Etudes and a
    Fantasy, after DeLone 1975). ``tempo`` may be a decimal text ("92.5"). Raises RequestError where
    a tempo or a value is not above 0.
    """
    if isinstance(tempo, bool) or not isinstance(tempo, (str, Rational, type(mpq()))):
        raise KindError(f"{tempo!r} is not an exact tempo", legal="beats a minute: 84, or '92.5'")
    before = evaluate(tempo) if isinstance(tempo, str) else value(tempo)
    was, becomes = (evaluate(one) if isinstance(one, str) else value(one) for one in (old, new))
    for what, amount in (("tempo", before), ("value", was), ("value", becomes)):
        if amount <= 0:
            raise RequestError(f"a {what} of {amount}", legal="above 0")
    return Tempo(before, was, becomes, before * becomes / was)


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


def least_tuplet(notes: int, span: str | mpq) -> TupletFit:
    """The plainest way to write so many equal notes over a span.

    Plain or dotted notes where they fit. Over a simple span, n in the time of the largest power of
    two not above n (5:4, 7:4, 13:8); over a span of 3, 5, 7... times a plain value, in the time of
    the nearest of that number times a power of two (2:3, 4:3, 5:6, 7:6, 8:6), the smaller of two
    equally near. Over 9 or 15 plain values, three of which make a beat, the dotted value counts as
    well (2:3 dotted quarters over 9/8). Two, four or eight over three beats are tuplets though
    dotted notes would fit: that is how compound time writes them.
    Raises RequestError where notes are not 1 to 1024 or the span is no such value.
    """
    length = evaluate(span) if isinstance(span, str) else value(span)
    if not 1 <= notes <= 1024:
        raise RequestError(f"{notes} notes", legal="1 to 1024 notes")
    if length <= 0 or not is_power_of_two(int(length.denominator)):
        raise RequestError(
            f"a span of {length}", legal="a sum of plain values, such as 1/4, 3/8 or 5/4"
        )
    odd = int(length.numerator)
    while odd % 2 == 0:
        odd //= 2
    each = length / notes
    in_threes = odd == 3 and is_power_of_two(notes)
    if notes == 1 or (symbol(each) is not None and not in_threes):
        return TupletFit(length, notes, notes, each, each)
    if odd == 1:
        normal = 1 << (notes.bit_length() - 1)
    else:
        bases = (odd, odd // 3) if odd > 3 and odd % 3 == 0 else (odd,)
        counts = [base << step for base in bases for step in range(notes.bit_length() + 1)]
        normal = min(counts, key=lambda count: (abs(count - notes), count))
    return TupletFit(length, notes, normal, length / normal, each)
