"""``remetre manner``: how the editor of a score answers what handbooks leave open."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import click

from . import errors, many, options, out, work

if TYPE_CHECKING:
    from rhythm.notate.manner import Habit

__all__ = ["command"]


@click.command("manner")
@options.sources
@options.as_json
def command(scores: tuple[str, ...], as_json: bool) -> None:
    """Show how a score answers what handbooks leave open.

    One row for each question that its bars answer: where, how it is mostly written, in how many
    bars of those that show it, and two of them. A star marks where our house style would write
    otherwise.

    \b
    remetre manner song.musicxml
    remetre manner songs/
    """
    files = many.expand(scores)
    if len(files) == 1 and scores == (files[0],):
        many.ensure(files[0])
        _show(files[0], as_json, "")
        return
    results = [_shown(name, as_json) for name in files]
    if not as_json:
        out.say(work.total(results))
    if code := max(result.code for result in results):
        raise click.exceptions.Exit(code)


def _shown(name: str, as_json: bool) -> work.Result:
    """One score of several: what is wrong with it does not stop the others."""
    from rhythm.exact.errors import Place, RemetreError

    try:
        many.ensure(name)
        return work.Result(0, bars=_show(name, as_json, name))
    except RemetreError as error:
        line, code = errors.said(error.at(Place(name)))
        out.say(errors.line(f"remetre manner: {line}"), out="-")
        return work.Result(code, error=line)


def _show(name: str, as_json: bool, heading: str) -> int:
    """The habits of one score, under its name where there are several; how many bars it has."""
    from rhythm.notate.manner import manner

    from .sources import read

    score = read(name)
    found = manner(score)
    if as_json:
        for habit in found:
            out.say(json.dumps(({"file": heading} if heading else {}) | habit.to_dict()))
        return len(score.bars)
    if heading:
        out.say(heading)
    rows = [_row(habit) for habit in found]
    out.table(("metre", "question", "answer", "votes", "", "for example"), rows)
    if not rows:
        out.say("no bar of it answers a question that handbooks leave open")
    return len(score.bars)


def _row(habit: Habit) -> tuple[str, ...]:
    text = f"{habit.text}: {habit.place}" if habit.place else habit.text
    answer = habit.answer or "undecided"
    bars = ", ".join(f"{part} {bar}" for part, bar in habit.bars)
    star = "*" if habit.answer and not habit.house else ""
    return (habit.metre, text, answer, f"{habit.votes} of {habit.asked}", star, bars)
