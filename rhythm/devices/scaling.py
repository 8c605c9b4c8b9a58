"""Devices that stretch time: augmentation, diminution, the added value.

All voices are stretched together, so what sounded together still does. The metre stays and the
bars are redrawn; marks and lyrics stay on their notes; metronome marks are left as they are.
"""

from __future__ import annotations

from bisect import bisect_right

from gmpy2 import mpq

from rhythm.exact.errors import MusicError, RequestError
from rhythm.exact.metre import Metre, Term
from rhythm.exact.time_map import TimeMap
from rhythm.exact.values import format_value, is_power_of_two
from rhythm.rebar.bar_plan import BarPlan, starts
from rhythm.rebar.passage import Passage, VoiceLine

__all__ = ["added_value", "augmentation", "diminution", "grown", "leading"]


def augmentation(passage: Passage, factor: mpq) -> Passage:
    """Every duration times ``factor``.

    Arithmetic: onset' = onset x factor, duration' = duration x factor. Undone by diminution with
    the same factor. Source: Messiaen, Technique de mon langage musical, whose table runs x 5/4,
    4/3, 3/2, 2, 3, 4, 5; any ratio is legal. Example: 1/4 1/8 1/8 by 3/2 is 3/8 3/16 3/16.
    """
    if factor <= 0:
        raise RequestError(f"a factor of {factor}", legal="a factor above 0, such as 2 or 3/2")
    return passage.warped(TimeMap.linear(1, factor))


def grown(passage: Passage, factor: mpq) -> Passage:
    """Every duration times ``factor``, and the metre with it: 5/4 by 2 is 5/2, bar for bar.

    Arithmetic: the unit of the signature times ``factor`` as well. Source: common practice.
    Raises RequestError where no signature is written so.
    """
    if factor <= 0:
        raise RequestError(f"a factor of {factor}", legal="a factor above 0, such as 2")
    plan = [
        BarPlan(bar.length * factor, _scaled(bar.metre, factor), bar.shift * factor, bar.tail)
        for bar in passage.bars
    ]
    return passage.warped(TimeMap.linear(1, factor), plan)


def _scaled(metre: Metre | None, factor: mpq) -> Metre | None:
    """The metre whose unit is longer by a factor: 6/8 by 2 is 6/4, in dotted halves still."""
    if metre is None or not metre.length:
        return metre
    units = [mpq(term.unit) / factor for term in metre.terms]
    if any(unit.denominator != 1 or not is_power_of_two(int(unit)) for unit in units):
        raise RequestError(
            f"no metre is {format_value(factor)} times {metre}", legal="a factor of 2 or 4"
        )
    pairs = zip(metre.terms, units, strict=True)
    terms = tuple(Term(term.beats, int(unit)) for term, unit in pairs)
    return Metre(terms, compound=metre.is_compound or None, grouping=metre.grouping)


def diminution(passage: Passage, factor: mpq) -> Passage:
    """Every duration divided by ``factor``: augmentation by 1/factor.

    Source: Messiaen's table of diminutions, 4/5, 3/4, 2/3, 1/2, 1/3, 1/4, 1/5 of the value.
    Example: 1/2 1/4 1/4 by 2 is 1/4 1/8 1/8.
    """
    if factor <= 0:
        raise RequestError(f"a factor of {factor}", legal="a factor above 0, such as 2 or 3/2")
    return augmentation(passage, 1 / factor)


def added_value(passage: Passage, value: mpq, place: int = 2) -> Passage:
    """``value`` added to note ``place`` of every whole bar (the last, where there are fewer).

    Arithmetic: the leading voice's note n of the bar lasts ``value`` longer; whatever sounds with
    its end is lengthened too and all that follows comes later, so the bar is longer by ``value``
    and its metre is the old one plus ``value``. Source: Messiaen, Technique (added value).
    Example: 1/4 x4 with 1/8 at note 2 is 1/4 3/8 1/4 1/4, in 4/4+1/8.
    """
    if value <= 0:
        raise RequestError(f"an added value of {value}", legal="a value above 0, such as 1/8")
    if place < 1:
        raise RequestError(f"no note {place}", legal="notes are counted from 1")
    stops: list[mpq] = []
    plan: list[BarPlan] = []
    leader = leading(passage)
    for bar, start in zip(passage.bars, starts(passage.bars), strict=True):
        end = start + bar.length
        inside = [each for each in leader.laid if each.sounds and start <= each.onset < end]
        if not inside or (bar.metre is not None and bar.length != bar.full):
            plan.append(bar)
            continue
        stops.append(min(inside[min(place, len(inside)) - 1].end, end))
        plan.append(BarPlan(bar.length + value, _plus(bar, value), bar.shift, bar.tail))
    if not stops:
        raise MusicError("the first voice has no note to add a value to")
    return passage.warped(lambda at: at + value * bisect_right(stops, at), plan)


def leading(passage: Passage) -> VoiceLine:
    """The first voice that sounds: the theme, where several voices move together."""
    return next(
        (strand for strand in passage.strands if any(each.sounds for each in strand.laid)),
        passage.strands[0],
    )


def _plus(bar: BarPlan, value: mpq) -> Metre | None:
    """The metre of a bar longer by ``value``: 4/4+1/8."""
    if bar.metre is None:
        return None
    if not is_power_of_two(int(value.denominator)):
        raise RequestError(
            f"no bar can be longer by {format_value(value)}", legal="a plain value, such as 1/8"
        )
    return Metre((*bar.metre.terms, Term((int(value.numerator),), int(value.denominator))))
