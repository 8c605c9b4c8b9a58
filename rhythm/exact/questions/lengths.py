"""Answers about lengths: how many, does it fit, what is left, which is longer, how to write it."""

from __future__ import annotations

import re

from gmpy2 import mpq

from rhythm.exact.cycles import fillings, meet
from rhythm.exact.expressions import LENGTH, NUMBER, quantity
from rhythm.exact.metre import Metre
from rhythm.exact.metre_of_length import simplest_metre
from rhythm.exact.pattern import MetrePattern
from rhythm.exact.questions.answer import Answer, article, called, mixed, with_fraction
from rhythm.exact.questions.things import Thing, metre_of, number, one_of, thing
from rhythm.exact.relations import least_tuplet
from rhythm.exact.values import format_value, name_value, plural
from rhythm.exact.wording import SIGNATURE, unclear

__all__ = [
    "bars_in",
    "beat_in",
    "beats_in",
    "beats_of",
    "difference",
    "dotted",
    "filled_by",
    "fills",
    "fits",
    "how_many",
    "in_the_time_of",
    "is_longer",
    "left",
    "measured_in",
    "meeting",
    "named_value",
    "same",
    "share",
    "signatures",
    "spread",
    "which_is_longer",
]

_PATTERN = re.compile(rf"{SIGNATURE}(?:\s+{SIGNATURE})+")
_MOST_LISTED = 6
_SIGNATURES = ("2/4", "3/4", "4/4", "5/4", "6/4", "7/4", "2/2", "3/2", "4/2", "3/8", "5/8", "6/8",
               "7/8", "9/8", "12/8")  # fmt: skip


def _place(room: Thing) -> str:
    """A length that something is put into: a signature alone stands for its bar."""
    return f"a bar of {room.metre}" if room.metre and "bar" not in room.said else room.said


def how_many(unit: str, whole: str) -> Answer:
    """How many of one value are in a length."""
    if unit in ("beat", "beats"):
        return beats_in(whole)
    one, room = one_of(unit), thing(whole)
    if one.length <= 0 or room.length <= 0:
        raise unclear(unit, "a length of nothing", "lengths above 0")
    count = room.length / one.length
    name = name_value(one.length)
    if not name[-1].isalpha():
        name = f"times {name}"
    place = _place(room)
    whole_ones, rest = divmod(count, 1)
    told = f"{int(whole_ones)} {plural(name, whole_ones)} in {place}"
    if not rest:
        return Answer(told, count=count)
    if not whole_ones:
        return Answer(
            f"none: {article(name)} is longer than {place}, which is {mixed(count)} of it",
            count=count,
        )
    return Answer(f"{told}, and {called(rest * one.length)} is left", count=count)


def measured_in(whole: str, unit: str) -> Answer:
    """A length counted in a value: ``3 1/2 quarters``."""
    one, total = one_of(unit), thing(whole)
    if one.length <= 0:
        raise unclear(unit, "a length of nothing", "lengths above 0")
    count = total.length / one.length
    return Answer(f"{mixed(count)} {plural(name_value(one.length), count)}", count=count)


def bars_in(metre: str, whole: str) -> Answer:
    """How many bars of a signature a length fills."""
    bar, total = metre_of(metre), thing(whole)
    count = total.length / bar.length
    whole_bars, rest = divmod(count, 1)
    told = f"{int(whole_bars)} bar{'' if whole_bars == 1 else 's'} of {bar}"
    if not rest:
        return Answer(told, count=count)
    if not whole_bars:
        wanting = called(bar.length - total.length)
        return Answer(f"{mixed(count)} of a bar of {bar}: {wanting} is left of it", count=count)
    more = called(rest * bar.length)
    return Answer(f"{told} and {more} more ({mixed(count)} bars)", count=count)


def beats_in(whole: str) -> Answer:
    """How many beats are in a length: those of its signature, quarters where it names none."""
    total = thing(whole)
    if total.metre is None:
        count = total.length * 4
        return Answer(f"{mixed(count)} quarter beat{'' if count == 1 else 's'}", count=count)
    return _beats(total.length, total.metre)


def beats_of(part: str, metre: str) -> Answer:
    """How many beats of a signature something lasts."""
    return _beats(thing(part).length, metre_of(metre))


def _beats(length: mpq, metre: Metre) -> Answer:
    kinds = {name_value(beat) for beat in metre.beats}
    if len(kinds) == 1:
        count = length / metre.beats[0]
        return Answer(f"{mixed(count)} {kinds.pop()} beat{'' if count == 1 else 's'}", count=count)
    bars, rest = divmod(length, metre.length)
    if rest:
        shown = ", ".join(map(name_value, metre.beats))
        raise unclear(
            format_value(length), f"the beats of {metre} are not equal ({shown})", "whole bars"
        )
    beats = mpq(bars * len(metre.beats))
    each = ", ".join(map(name_value, metre.beats)) + (" in each bar" if bars != 1 else "")
    return Answer(f"{mixed(beats)} beats: {each}", count=beats)


def beat_in(metre: str) -> Answer:
    """The value that is the beat of a signature."""
    found = metre_of(metre)
    if len(set(found.beats)) == 1:
        return Answer(with_fraction(found.beats[0]), value=found.beats[0])
    each = ", ".join(map(name_value, found.beats))
    return Answer(f"beats of unequal length: {each}", count=mpq(len(found.beats)))


def signatures(whole: str) -> Answer:
    """The plain signatures whose bar a length fills."""
    total = thing(whole).length
    found = [each for each in _SIGNATURES if Metre.parse(each).length == total]
    if not found:
        plainest = simplest_metre(total)
        found = [str(plainest)] if plainest is not None else []
    if not found:
        raise unclear(whole, "no plain signature has such a bar", "a length such as 5 quarters")
    return Answer(" or ".join(found), value=total)


def dotted(text: str) -> Answer:
    """What a dot adds."""
    length = thing(text).length
    total = length * 3 / 2
    return Answer(f"it adds {with_fraction(length / 2)}: {with_fraction(total)}", value=total)


def fits(part: str, whole: str) -> Answer:
    """Does one thing fit into another, and what is left or too much?"""
    one, room = thing(part), thing(whole)
    place = _place(room)
    if one.length == room.length:
        return Answer(f"fits: it fills {place} exactly", value=one.length, fits=True)
    gap = abs(room.length - one.length)
    if one.length < room.length:
        return Answer(f"fits: {with_fraction(gap)} of {place} is left", value=gap, fits=True)
    told = f"does not fit: it is {with_fraction(gap)} too long for {place}"
    return Answer(told, value=gap, fits=False)


def fills(part: str, whole: str) -> Answer:
    """Does one thing fill another exactly?"""
    one, room = thing(part), thing(whole)
    place = _place(room)
    if one.length == room.length:
        return Answer(f"yes: it fills {place} exactly", value=one.length, fits=True)
    gap = abs(room.length - one.length)
    word = "short of" if one.length < room.length else "too long for"
    return Answer(f"no: it is {with_fraction(gap)} {word} {place}", value=gap, fits=False)


def left(part: str, whole: str) -> Answer:
    """What is left of a bar or length after something."""
    one, room = thing(part), thing(whole)
    if one.length > room.length:
        return fits(part, whole)
    gap = room.length - one.length
    told = f"{with_fraction(gap)} is left" if gap else f"nothing: it fills {_place(room)} exactly"
    return Answer(told, value=gap)


def share(part: str, whole: str) -> Answer:
    """Which part of one length another is."""
    one, room = thing(part), thing(whole)
    if room.length <= 0:
        raise unclear(whole, "a length of nothing", "lengths above 0")
    found = one.length / room.length
    return Answer(f"{mixed(found)} of {_place(room)}", count=found)


def is_longer(one: str, word: str, other: str) -> Answer:
    """Is one length longer (or ``word``: shorter) than another, and by how much?"""
    gap = thing(one).length - thing(other).length
    if not gap:
        return Answer("no: they are equally long", value=gap, fits=False)
    more = "longer" if gap > 0 else "shorter"
    yes = "yes" if more == word else "no"
    told = f"{yes}: it is {with_fraction(abs(gap))} {more}"
    return Answer(told, value=abs(gap), fits=more == word)


def which_is_longer(one: str, other: str) -> Answer:
    """Which of two lengths is longer."""
    first, second = thing(one), thing(other)
    gap = abs(first.length - second.length)
    if not gap:
        return Answer(f"neither: both are {with_fraction(first.length)}", value=gap)
    longer = first if first.length > second.length else second
    return Answer(f"{longer.said}, by {with_fraction(gap)}", value=gap)


def same(one: str, other: str) -> Answer:
    """Are two lengths equal?"""
    first, second = thing(one), thing(other)
    gap = first.length - second.length
    if not gap:
        return Answer(f"yes: both are {with_fraction(first.length)}", first.length, fits=True)
    more = "longer" if gap > 0 else "shorter"
    told = f"no: {first.said} is {more} by {with_fraction(abs(gap))}"
    return Answer(told, abs(gap), fits=False)


def difference(one: str, other: str) -> Answer:
    """By how much two lengths differ."""
    gap = abs(thing(one).length - thing(other).length)
    return Answer(with_fraction(gap) if gap else "none: they are equally long", value=gap)


def in_the_time_of(count: str, normal: str, unit: str) -> Answer:
    """A tuplet: how long it lasts, and each of its notes."""
    notes, plain, one = number(count), number(normal), thing(unit)
    if notes.denominator != 1 or plain.denominator != 1 or notes < 1 or plain < 1:
        raise unclear(f"{count}:{normal}", "a tuplet has whole numbers of notes", "such as 5:4")
    total = plain * one.length
    each = total / notes
    written = plural(name_value(one.length), notes)
    together = with_fraction(total)
    return Answer(
        f"{notes}:{plain} {written} last {together} together, each {_of_a_whole(each)}", value=each
    )


def spread(notes: str, span: str) -> Answer:
    """The plainest way to write equal notes over a length."""
    count = number(notes)
    if count.denominator != 1:
        raise unclear(notes, "no whole number of notes", "such as 5")
    fit = least_tuplet(int(count), thing(span).length)
    ratio = f"{fit.notes}" if fit.plain else f"{fit.notes}:{fit.normal}"
    told = f"{ratio} {plural(name_value(fit.unit), fit.notes)}, each {_of_a_whole(fit.each)}"
    return Answer(told, value=fit.each)


def _of_a_whole(length: mpq) -> str:
    return f"{format_value(length)} of a whole note"


def named_value(text: str) -> Answer:
    """A length by its name."""
    found = thing(text)
    return Answer(with_fraction(found.length), value=found.length)


def meeting(text: str) -> Answer:
    """Where cycles meet again."""
    parts = [part.strip() for part in re.split(r",|\band\b|\bagainst\b", text) if part.strip()]
    cycles = [_cycle(part) for part in parts]
    if len({kind for _, kind in cycles}) > 1 or len(cycles) < 2:
        raise unclear(text, "cycles of one kind are compared", "5/8 and 4/4, or 3 and 16")
    met = meet(*(length for length, _ in cycles))
    turns = " and ".join(f"{turn} x {one}" for turn, one in zip(met.turns, parts, strict=True))
    if cycles[0][1] == NUMBER:
        return Answer(f"after {met.units} ({turns})", count=mpq(met.units))
    unit = plural(name_value(met.unit), met.units)
    return Answer(f"after {met.units} {unit} ({turns})", value=met.length, count=mpq(met.units))


def _cycle(text: str) -> tuple[mpq, str]:
    text = re.sub(r"^(?:bars? of|groups? of) ", "", text)
    if re.fullmatch(SIGNATURE, text) or _PATTERN.fullmatch(text):
        return MetrePattern.parse(text).length, LENGTH
    found = quantity(text)
    return found.amount, NUMBER if found.kind == NUMBER else LENGTH


def filled_by(whole: str, metres: str) -> Answer:
    """Every way to fill a length with whole bars."""
    total = thing(whole)
    named = [Metre.parse(each) for each in re.findall(SIGNATURE, metres)]
    ways = list(fillings(total.length, named))
    if not ways:
        bars = " and ".join(map(str, named))
        return Answer(f"no whole bars of {bars} fill {_place(total)}", count=mpq(0), fits=False)
    shown = "; ".join(str(way) for way in ways[:_MOST_LISTED])
    more = f"; and {len(ways) - _MOST_LISTED} more ways" if len(ways) > _MOST_LISTED else ""
    return Answer(shown + more, count=mpq(len(ways)), fits=True)
