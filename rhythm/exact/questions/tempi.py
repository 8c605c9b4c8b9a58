"""Answers about tempo: how long something lasts, what passes in a minute, what a beat becomes."""

from __future__ import annotations

import re
from dataclasses import replace

from gmpy2 import mpq

from rhythm.exact.metre import Metre
from rhythm.exact.questions.answer import Answer, clock, decimals, mixed
from rhythm.exact.questions.things import beat_of, number, one_of, thing
from rhythm.exact.relations import tempo_relation
from rhythm.exact.values import format_value, name_value
from rhythm.exact.wording import unclear

__all__ = [
    "beats_in_a_time",
    "in_a_time",
    "lasts",
    "lasts_milliseconds",
    "one_beat",
    "tempo_change",
    "tempo_of",
]

_PER_MINUTE = re.compile(r"\s*(?:bpm|beats (?:a|per) minute|to the minute|a minute)$")


def _beat_rate(text: str, metre: Metre | None) -> tuple[mpq, mpq, str]:
    """The value that is counted, how many a minute, and how it is said: ``quarter = 120``."""
    beat, equals, rate = (part.strip() for part in text.rpartition("="))
    rate = _PER_MINUTE.sub("", rate)
    found = number(rate)
    if found <= 0:
        raise unclear(text, f"a tempo of {rate}", "a tempo above 0")
    if equals:
        length = thing(beat).length
        if length <= 0:
            raise unclear(text, "a beat of nothing", "a note value")
    else:
        length = beat_of(metre) if metre is not None else mpq(1, 4)
    return length, found, f"{name_value(length)} = {decimals(found, 2)}"


def _rounded(amount: mpq) -> str:
    """A decimal text that says where it is rounded."""
    shown = decimals(amount, 2)
    return shown if mpq(shown) == amount else f"about {shown}"


def lasts(what: str, tempo: str) -> Answer:
    """How long something lasts, in seconds."""
    said = thing(what)
    beat, rate, shown = _beat_rate(tempo, said.metre)
    seconds = said.length / beat * 60 / rate
    return Answer(f"{clock(seconds)} at {shown}", value=said.length, seconds=seconds)


def one_beat(tempo: str) -> Answer:
    """How long a beat of a tempo lasts."""
    beat, _, _ = _beat_rate(tempo, None)
    return lasts(format_value(beat), tempo)


def lasts_milliseconds(what: str, tempo: str) -> Answer:
    """The same in milliseconds."""
    found = lasts(what, tempo)
    assert found.seconds is not None
    _, _, at = found.text.rpartition(" at ")
    return replace(found, text=f"{_rounded(found.seconds * 1000)} milliseconds at {at}")


def in_a_time(unit: str, time: str, tempo: str) -> Answer:
    """How many bars or notes pass in a minute or in some seconds."""
    return _passing(one_of(unit).length, one_of(unit).metre, time, tempo)


def beats_in_a_time(time: str, tempo: str) -> Answer:
    """How many beats pass in a minute or in some seconds."""
    beat, _, _ = _beat_rate(tempo, None)
    return _passing(beat, None, time, tempo)


def _passing(length: mpq, metre: Metre | None, time: str, tempo: str) -> Answer:
    beat, rate, shown = _beat_rate(tempo, metre)
    count, _, measure = time.strip().rpartition(" ")
    many = mpq(1) if count in ("a", "an", "one") else number(count)
    if length <= 0:
        raise unclear(format_value(length), "a length of nothing", "lengths above 0")
    seconds = many * (60 if measure.startswith("minute") else 1)
    passed = seconds * rate / 60 * beat / length
    about = "" if passed.denominator == 1 else f" (about {decimals(passed, 2)})"
    return Answer(f"{mixed(passed)}{about} at {shown}", count=passed)


def tempo_of(old: str, rate: str, new: str) -> Answer:
    """The same speed counted in another value."""
    was, per_minute, _ = _beat_rate(f"{old} = {rate}", None)
    becomes = thing(new).length
    if becomes <= 0:
        raise unclear(new, "a beat of nothing", "a note value")
    result = per_minute * was / becomes
    return Answer(f"{name_value(becomes)} = {_rounded(result)}", tempo=result)


def tempo_change(old: str, new: str, rate: str) -> Answer:
    """The tempo after one value takes over the length of another."""
    relation = tempo_relation(number(rate), thing(old).length, thing(new).length)
    told = f"{_rounded(relation.after)}, where it was {decimals(relation.before, 2)}"
    return Answer(told, tempo=relation.after)
