"""Exact answers to what fits where: sums of note values, bars, cycles, tuplets and tempi.

Conventions
-----------
Values and lengths are ``gmpy2.mpq`` in whole notes; a tempo is beats per minute, any one beat. The
answers are frozen values with ``to_dict`` for JSON, where exact values become texts ("3/4").
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import replace
from itertools import islice
from numbers import Rational

from gmpy2 import mpq

from rhythm.exact.cycles import Filling, Meeting, fillings
from rhythm.exact.cycles import meet as meeting_of
from rhythm.exact.errors import RequestError
from rhythm.exact.expressions import evaluate
from rhythm.exact.frozen import dataclass
from rhythm.exact.metre import Metre
from rhythm.exact.pattern import MetrePattern
from rhythm.exact.questions.answer import Answer
from rhythm.exact.questions.forms import ask
from rhythm.exact.relations import Tempo, TupletFit, least_tuplet, tempo_relation
from rhythm.exact.values import format_value, name_value, value

__all__ = [
    "MOST_FILLINGS",
    "Reckoning",
    "cycle_length",
    "reckon",
]

MOST_FILLINGS = 1000
"""So many ways to fill a length are listed; of more it is only said that there are more."""

# The plain signatures a length is looked up in, commonest spelling of each length first.
_COMMON = (
    "2/4", "3/4", "4/4", "5/4", "6/4", "7/4", "2/2", "3/2", "4/2",
    "3/8", "5/8", "6/8", "7/8", "8/8", "9/8", "10/8", "11/8", "12/8", "15/8", "18/8",
    "1/4", "9/4", "12/4", "2/8", "4/8", "3/16", "5/16", "6/16", "7/16", "9/16", "12/16",
)  # fmt: skip
_UNITS = (2, 4, 8, 16, 32, 64)
_MOST_BEATS = 64
_METRE = r"\d+(?:\s*\+\s*\d+)*\s*/\s*\d+(?:\s*\*\s*\d+)?"
_METRES = re.compile(rf"{_METRE}(?:[\s,]+{_METRE})*")


@dataclass(frozen=True, slots=True)
class Reckoning:
    """The answers to what was asked; what was not asked is None or empty.

    A sum comes to ``value``; ``fills`` are the plain signatures whose bar is exactly that long.
    With a ``metre`` asked for, ``bars`` whole bars of it are filled, ``rest`` stands in the next
    one and ``left`` is what that bar still wants (both 0 where the bars come out even).
    ``fillings`` are the ways to fill the sum with whole bars, ``more`` says that there are more
    than :data:`MOST_FILLINGS`; ``tuplet`` is how to write equal notes over it. ``meeting`` is where
    cycles meet, ``tempo`` a tempo before and after a change, ``answer`` what a question in words
    gets.
    """

    expression: str | None = None
    value: mpq | None = None
    name: str = ""
    fills: tuple[str, ...] = ()
    metre: Metre | None = None
    bars: int = 0
    rest: mpq | None = None
    left: mpq | None = None
    fillings: tuple[Filling, ...] | None = None
    more: bool = False
    tuplet: TupletFit | None = None
    meeting: Meeting | None = None
    tempo: Tempo | None = None
    answer: Answer | None = None

    def to_dict(self) -> dict[str, object]:
        """Plain values for JSON, only what was asked; exact values as texts."""
        result: dict[str, object] = {}
        if self.answer is not None:
            result |= {"question": self.expression, **self.answer.to_dict()}
        if self.value is not None:
            result |= {
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
        if self.fillings is not None:
            result |= {"fillings": [way.to_dict() for way in self.fillings], "more": self.more}
        for name, part in (
            ("tuplet", self.tuplet),
            ("meeting", self.meeting),
            ("tempo", self.tempo),
        ):
            if part is not None:
                result[name] = part.to_dict()
        return result


def reckon(
    expression: str | mpq | int | Rational | None = None,
    in_: str | Metre | None = None,
    *,
    fill: Iterable[str | Metre] = (),
    notes: int | None = None,
    meet: Iterable[str | mpq | int | Rational | Metre | MetrePattern] = (),
    tempo: str | mpq | int | Rational | None = None,
    old: str | mpq | int | Rational | None = None,
    new: str | mpq | int | Rational | None = None,
) -> Reckoning:
    """Settle by exact arithmetic what fits where: whatever is asked is answered.

    Of a sum of note values: what it comes to and which plain bars it fills; how many bars of the
    metre ``in_``, and what is left; every way to ``fill`` it with whole bars of some metres; the
    plainest way to write so many equal ``notes`` over it. Apart from a sum: where cycles ``meet``
    (values, metres or patterns of metres); the tempo after ``tempo`` when the ``old`` value becomes
    the ``new`` one. ``reckon("24*1/32", in_="6/4")`` is 3/4, a dotted half; it fills a bar of 3/4
    and leaves 3/4 of the bar of 6/4. ``reckon(tempo=84, old="triplet eighth", new="eighth")`` is
    126. Instead of a sum, ``expression`` may be a question in words (``how many sixteenths in a
    dotted half``); its ``answer`` is a sentence, and the same as data.

    Raises RequestError for text that is no sum of values or no metre, for a question that has none
    of the forms that are understood, for one about a sum without a sum, and where only some of
    ``tempo``, ``old`` and ``new`` are given.
    """
    metres = tuple(Metre.parse(one) if isinstance(one, str) else one for one in fill)
    cycles = tuple(cycle_length(one) for one in meet)
    if expression is None and (in_ is not None or metres or notes is not None):
        raise RequestError("there is no sum to look at", legal="a sum such as 24*1/32")
    timed = [part is not None for part in (tempo, old, new)]
    if any(timed) and not all(timed):
        raise RequestError(
            "a tempo relation lacks a part", legal="give a tempo, an old and a new value"
        )
    if expression is None and not cycles and tempo is None:
        raise RequestError(
            "there is nothing to reckon",
            legal="give a sum such as 3/8 + 1/4, cycles that meet, or a tempo relation",
        )
    found = Reckoning()
    if expression is not None:
        text = expression if isinstance(expression, str) else format_value(value(expression))
        answer = None if in_ or metres or notes else ask(text)
        found = _of_sum(text) if answer is None else Reckoning(text, answer=answer)
        if in_ is not None:
            found = _with_bars(found, Metre.parse(in_) if isinstance(in_, str) else in_)
        if metres:
            ways = tuple(islice(fillings(evaluate(text), metres), MOST_FILLINGS + 1))
            more = len(ways) > MOST_FILLINGS
            found = replace(found, fillings=ways[:MOST_FILLINGS], more=more)
        if notes is not None:
            found = replace(found, tuplet=least_tuplet(notes, text))
    if cycles:
        found = replace(found, meeting=meeting_of(*cycles))
    if tempo is not None and old is not None and new is not None:
        found = replace(found, tempo=tempo_relation(tempo, old, new))
    return found


def _of_sum(text: str) -> Reckoning:
    total = evaluate(text)
    name = name_value(total) if total > 0 else "nothing" if not total else "less than nothing"
    return Reckoning(text, total, name, _signatures(text, total))


def _with_bars(found: Reckoning, metre: Metre) -> Reckoning:
    """How much of its bars the sum fills."""
    if metre.length <= 0:
        raise RequestError(f"a bar of {metre} has no length to fill", legal="a metre such as 6/4")
    total = found.value or mpq(0)
    if total < 0:
        raise RequestError(
            f"{found.expression!r} comes to {format_value(total)}", legal="0 or more to fill a bar"
        )
    bars, rest = divmod(total, metre.length)
    left = metre.length - rest if rest else mpq(0)
    return replace(found, metre=metre, bars=int(bars), rest=rest, left=left)


def _signatures(text: str, length: mpq) -> tuple[str, ...]:
    """The plain signatures of bars so long: the common ones, else the two simplest there are.

    A signature that was typed is always among them.
    """
    found = [each for each in _COMMON if Metre.parse(each).length == length]
    beats = [(length * unit, unit) for unit in _UNITS]
    possible = [f"{n}/{d}" for n, d in beats if n.denominator == 1 and 0 < n <= _MOST_BEATS]
    if not found:
        found = possible[:2]
    if text.strip() in possible and text.strip() not in found:
        found.insert(0, text.strip())
    return tuple(found)


def cycle_length(text: str | mpq | int | Rational | Metre | MetrePattern) -> mpq:
    """The length of a cycle: of a metre (3+3+2/8), of bars in turn (7/8 7/8 5/8), or of a sum.

    Raises RequestError for text that is none of these.
    """
    if isinstance(text, (Metre, MetrePattern)):
        return text.length
    if not isinstance(text, str):
        return value(text)
    if _METRES.fullmatch(text.strip()):
        return MetrePattern.parse(text).length
    return evaluate(text)
