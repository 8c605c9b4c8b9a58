"""Tiny scores for tests, written as text: ``melody("4/4", "1/8 1/8 r1/4 1/2")``, one string a bar.

A token is a duration in whole notes; ``r`` before it makes a rest, ``~`` after it ties the note to
the next token (so one event may cross a bar line). Pitches rise by step from middle C.
"""

from __future__ import annotations

from collections.abc import Sequence

from gmpy2 import mpq

from rhythm.exact.metre import Metre
from rhythm.exact.values import format_value
from rhythm.notate.score_notation import spell_score
from rhythm.score.model import Bar, Event, Note, Part, Pitch, Score, Voice

STEPS = "CDEFGAB"


def melody(metre: str | Sequence[str], *bars: str, upbeat: bool = False) -> Score:
    """A one-voice score, spelled; ``metre`` is one for all bars or one for each."""
    metres = [metre] * len(bars) if isinstance(metre, str) else list(metre)
    made: list[Bar] = []
    events: list[Event] = []
    at = mpq(0)
    held: Event | None = None
    for index, (text, name) in enumerate(zip(bars, metres, strict=True)):
        start = at
        for token in text.split():
            rest, tied = token.startswith("r"), token.endswith("~")
            duration = mpq(token.strip("r~"))
            if held is not None:
                events[-1] = held.replace(duration=held.duration + duration)
            else:
                step, octave = STEPS[len(events) % 7], 4 + len(events) // 7 % 2
                note = Note("rest") if rest else Note("pitched", Pitch(step, mpq(0), octave))
                events.append(Event(at, duration, index, (note,)))
            held = events[-1] if tied else None
            at += duration
        m = Metre.parse(name)
        shift = m.length - (at - start) if upbeat and index == 0 else mpq(0)
        shows = index == 0 or name != metres[index - 1]
        number = str(index + (0 if upbeat else 1))
        implicit = upbeat and index == 0
        made.append(
            Bar(index, number, start, at - start, m, shows, implicit, shift, filled=at - start)
        )
    part = Part("P1", "Theme", tuple(made), (Voice("1", tuple(events)),), ())
    return spell_score(Score((part,)))


def durations(score: Score, voice: int = 0, part: int = 0) -> str:
    """The events of a voice as durations, ``r`` before a rest, bars apart by ``|`` at onsets."""
    found: list[str] = []
    bar = None
    for event in score.parts[part].voices[voice].events:
        if bar is not None and event.bar != bar:
            found.append("|")
        bar = event.bar
        found.append(("r" if event.is_rest else "") + format_value(event.duration))
    return " ".join(found)


def written(score: Score, voice: int = 0, part: int = 0) -> str:
    """What stands on the page: ``quarter. eighth~ eighth``; tuplets as ``3:2(``...``)``."""
    found: list[str] = []
    bar = None
    for event in score.parts[part].voices[voice].events:
        for i, piece in enumerate(event.pieces):
            if bar is not None and piece.bar != bar:
                found.append("|")
            bar = piece.bar
            opening = "".join(
                f"{t.actual}:{t.normal}(" for t in piece.tuplets if t.offset == piece.offset
            )
            closing = ")" * sum(t.offset + t.length == piece.end for t in piece.tuplets)
            name = "bar" if piece.whole_bar else piece.type + "." * piece.dots
            tied = "~" if i + 1 < len(event.pieces) and not event.is_rest else ""
            found.append(f"{opening}{'r:' if event.is_rest else ''}{name}{tied}{closing}")
    return " ".join(found)
