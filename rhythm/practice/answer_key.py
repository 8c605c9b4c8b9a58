"""The answer sheet: every exercise in numbers, bar by bar, for whoever marks the homework.

Conventions
-----------
Durations are fractions of a whole note, as written: a note tied over a bar line stands in both
bars, with a tie before what is held on. ``r`` marks rests. Grace notes, cue notes and hidden
notes take no time; where nothing else stands it is a rest.
"""

from __future__ import annotations

from collections.abc import Sequence
from html import escape
from itertools import groupby, islice

from gmpy2 import mpq

from rhythm.exact.values import format_value
from rhythm.practice.recipes import Exercise
from rhythm.score.model import Bar, Event, Score, Voice

__all__ = ["answer_sheet", "durations_of"]


def answer_sheet(title: str, made: Sequence[tuple[int, Exercise]], numbers: Sequence[str]) -> str:
    """Markdown: for the theme and each exercise the arithmetic, the durations and their sums.

    ``numbers`` are the printed numbers of all bars of the sheet, in which ``made`` stand in order.
    """
    left = iter(numbers)
    lines = [f"# Answers: {_plain(title)}", ""]
    lines += [
        "Durations are fractions of a whole note. A tie (‿) stands before what is left of a note",
        "that began in the bar before.",
        "Neighbouring bars that are alike share a line.",
        "",
    ]
    for number, exercise in made:
        heading = f"{number}. {exercise.heading}" if number else exercise.heading
        lines += [f"## {_plain(heading)}", "", f"Level {exercise.difficulty.text}."]
        if number:
            lines.append(f"{exercise.arithmetic[0].upper()}{exercise.arithmetic[1:]}.")
        if exercise.task is not None:
            lines += ["", f"Answer: {exercise.task.answer}"]
        own = list(islice(left, len(exercise.pupil.bars)))
        if exercise.task is not None:
            lines += ["", *_tables(exercise.key, own)]
        lines.append("")
    return "\n".join(lines).rstrip() + "\n"


def _tables(score: Score, numbers: Sequence[str]) -> list[str]:
    lines = []
    sounding = [
        (part, voice)
        for part in score.parts
        for voice in part.voices
        if any(not event.is_rest for event in voice.events)
    ]
    for part, voice in sounding:
        if len(score.parts) > 1:
            lines += [f"{_plain(part.name)}:", ""]
        elif len(sounding) > 1:
            lines += [f"Voice {voice.name}:", ""]
        lines += ["| bar | metre | durations | sum |", "|---|---|---|---|"]
        rows = [(bar, durations_of(voice, bar)) for bar in part.bars]
        for _, same in groupby(rows, key=lambda row: (row[0].metre, row[1])):
            run = [bar for bar, _ in same]
            values = durations_of(voice, run[0])
            first, last = numbers[run[0].index], numbers[run[-1].index]
            named = first if len(run) == 1 else f"{first}-{last}"
            metre = str(run[0].metre) if run[0].metre is not None else ""
            lines.append(f"| {named} | {metre} | {_sum_of(values)} |")
        lines.append("")
    return lines[:-1]


def _plain(text: str) -> str:
    """A name from the score, which must not be taken for markup where the key is shown."""
    return escape(text, quote=False)


def _sum_of(values: Sequence[tuple[str, mpq]]) -> str:
    terms = " + ".join(f"{sign}{format_value(value)}" for sign, value in values)
    return f"{terms} | {format_value(sum((value for _, value in values), mpq(0)))}"


_REST, _TIE = "rest ", "\u203f"


def durations_of(voice: Voice, bar: Bar) -> tuple[tuple[str, mpq], ...]:
    """What a voice has in a bar: for each note or rest its sign and its length.

    A gap or a hidden rest is a rest here, so that what a voice has adds up to its bar.
    """
    sounding = [event for event in voice.events if event.visible and event.duration > 0]
    found: list[tuple[str, mpq]] = []
    now = bar.start
    for event in sorted(sounding, key=lambda event: event.onset):
        start, end = max(event.onset, bar.start), min(event.end, bar.end)
        if start >= end:
            continue
        if start > now:
            found.append((_REST, start - now))
        found.append((_sign(event, start), end - start))
        now = max(now, end)
    if now < bar.end:
        found.append((_REST, bar.end - now))
    return tuple(found)


def _sign(event: Event, start: mpq) -> str:
    if event.is_rest:
        return _REST
    return _TIE if event.onset < start else ""
