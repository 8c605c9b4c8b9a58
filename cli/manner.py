"""``remetre manner``: how the editor of a score answers what handbooks leave open."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import click

from . import options, out

if TYPE_CHECKING:
    from rhythm.notate.manner import Habit

__all__ = ["command"]


@click.command("manner")
@options.source
@options.as_json
def command(source: str, as_json: bool) -> None:
    """Show how a score answers what handbooks leave open.

    One row for each question that its bars answer: where, how it is mostly written, in how many
    bars of those that show it, and two of them. A star marks where our house style would write
    otherwise.

    \b
    remetre manner song.musicxml
    """
    from rhythm.notate.manner import manner

    from .sources import read

    found = manner(read(source))
    if as_json:
        for habit in found:
            out.say(json.dumps(habit.to_dict()))
        return
    rows = [_row(habit) for habit in found]
    out.table(("metre", "question", "answer", "votes", "", "for example"), rows)
    if not rows:
        out.say("no bar of it answers a question that handbooks leave open")


def _row(habit: Habit) -> tuple[str, ...]:
    text = f"{habit.text}: {habit.place}" if habit.place else habit.text
    answer = habit.answer or "undecided"
    bars = ", ".join(f"{part} {bar}" for part, bar in habit.bars)
    star = "*" if habit.answer and not habit.house else ""
    return (habit.metre, text, answer, f"{habit.votes} of {habit.asked}", star, bars)
