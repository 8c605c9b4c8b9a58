"""The answer sheet: every exercise in numbers, bar by bar, for whoever marks the homework.

Conventions
-----------
Durations are fractions of a whole note, as written: a note tied over a bar line stands in both
bars, with a ``~`` before what is held on. ``r`` marks rests. Grace notes, cue notes and hidden
notes take no time.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby, islice

from gmpy2 import mpq

from rhythm.exact.values import format_value
from rhythm.practice.recipes import Exercise
from rhythm.score.model import Bar, Event, Score, Voice

__all__ = ["answer_sheet", "durations_of"]


def answer_sheet(title: str, made: Sequence[Exercise], numbers: Sequence[str]) -> str:
    """Markdown: for the theme and each exercise the arithmetic, the durations and their sums.

    ``numbers`` are the printed numbers of all bars of the sheet, in which ``made`` stand in order.
    """
    left = iter(numbers)
    lines = [f"# Answers: {title}", ""]
    lines += [
        "Durations are fractions of a whole note; `r` is a rest, `~` a note held on from before.",
        "Neighbouring bars that are alike share a line.",
        "",
    ]
    for number, exercise in enumerate(made):
        heading = f"{number}. {exercise.heading}" if number else exercise.heading
        lines += [f"## {heading}", "", f"Grade {exercise.difficulty.text}."]
        if number:
            lines.append(f"{exercise.arithmetic[0].upper()}{exercise.arithmetic[1:]}.")
        own = list(islice(left, len(exercise.score.bars)))
        lines += ["", *_tables(exercise.score, own), ""]
    return "\n".join(lines).rstrip() + "\n"


def _tables(score: Score, numbers: Sequence[str]) -> list[str]:
    (part,) = score.parts
    lines = []
    sounding = [v for v in part.voices if any(not event.is_rest for event in v.events)]
    for voice in sounding:
        if len(sounding) > 1:
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


def _sum_of(values: Sequence[tuple[str, mpq]]) -> str:
    if not values:
        return "silent | 0"
    terms = " + ".join(f"{sign}{format_value(value)}" for sign, value in values)
    return f"{terms} | {format_value(sum((value for _, value in values), mpq(0)))}"


def durations_of(voice: Voice, bar: Bar) -> tuple[tuple[str, mpq], ...]:
    """What a voice has in a bar: for each note or rest its sign ("", "r" or "~") and its length."""
    found: list[tuple[mpq, str, mpq]] = []
    for event in voice.events:
        if not event.visible or event.duration <= 0:
            continue
        start, end = max(event.onset, bar.start), min(event.end, bar.end)
        if start < end:
            found.append((start, _sign(event, start), end - start))
    return tuple((sign, length) for _, sign, length in sorted(found, key=lambda each: each[0]))


def _sign(event: Event, start: mpq) -> str:
    if event.is_rest:
        return "r"
    return "~" if event.onset < start else ""
