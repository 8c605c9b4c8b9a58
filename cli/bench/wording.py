"""What was done on the bench as command lines to copy, and the sentences for the page."""

from __future__ import annotations

import re
import shlex
from collections.abc import Mapping, Sequence
from importlib import import_module
from typing import Any

import click
from gmpy2 import mpq

from rhythm.chain import Step
from rhythm.sentences import MADE, SENTENCES, Blank, Sentence

__all__ = ["NO_COMMAND", "as_command", "command_line", "signs", "words"]

NO_COMMAND = frozenset({"count", "excerpt"})
"""Verbs of Python that no command has alone; a chain with one is followed."""

_VALUE = re.compile(r"(rest )?(?<![\d/])(\d+/\d+)(?![\d/])")


def command_line(
    verb: str, options: Mapping[str, Any], source: str, out: str, *more: str, piece: str = ""
) -> str:
    """One command with its options, as a shell takes it; ``more`` stands before ``-o``."""
    command: click.Command = import_module(f"..{verb}", __package__).command
    words = ["remetre", verb, source]
    for parameter in command.params:
        if not isinstance(parameter, click.Option) or parameter.name not in options:
            continue
        given = options[parameter.name]
        if parameter.is_flag and not isinstance(given, bool):
            words += [parameter.opts[0]] if parameter.flag_value == given else []
        elif isinstance(given, bool):
            names = parameter.opts if given else parameter.secondary_opts
            words += [names[0]] if names else []
        elif isinstance(given, list):
            words += [word for each in given for word in (parameter.opts[0], str(each))]
        else:
            words += [parameter.opts[0], str(given)]
    if piece:
        words += ["--piece", piece]
    return shlex.join([*words, *more, "-o", out])


def as_command(steps: Sequence[Step], source: str, out: str, piece: str = "", *more: str) -> str:
    """One command for one step, ``follow`` and the kept chain for several."""
    done = [step for step in steps if not step.off]
    if len(done) == 1 and done[0].verb not in NO_COMMAND:
        return command_line(done[0].verb, done[0].options, source, out, *more, piece=piece)
    which = ["--piece", piece] if piece else []
    return shlex.join(["remetre", "follow", "chain.toml", source, *which, *more, "-o", out])


def signs(text: str) -> str:
    """A tiny example in note values as signs of music: ``1/8 1/8 to 1/4 1/8``."""
    from rhythm.show.note_signs import rest_signs, value_signs

    def drawn(found: re.Match[str]) -> str:
        length = mpq(found[2])
        return rest_signs(length) if found[1] else value_signs(length)

    # A metre stands in brackets, and stays as it is.
    pieces = re.split(r"\[([^]]*)\]", text)
    pieces[::2] = [_VALUE.sub(drawn, piece) for piece in pieces[::2]]
    return "".join(pieces).replace(" to ", " → ")


def words() -> dict[str, object]:
    """All sentences and devices as plain data for the page."""
    from rhythm.devices.registry import DEVICES

    return {
        "sentences": [_sentence(each) for each in SENTENCES.values()],
        "made": [_sentence(each) for each in MADE.values()],
        "devices": [
            {
                "name": row.name, "usage": row.usage, "summary": row.summary,
                "example": row.example, "signs": signs(row.example.partition(": ")[2]),
            }
            for row in DEVICES.values()
        ],
    }  # fmt: skip


def _sentence(each: Sentence) -> dict[str, object]:
    return {
        "verb": each.verb,
        "title": each.title,
        "text": each.text,
        "more": each.more,
        "blanks": [_blank(blank) for blank in each.blanks],
    }


def _instruments(blank: Blank) -> list[list[str]]:
    if blank.name != "instrument":
        return []
    from rhythm.practice.instruments import INSTRUMENTS

    return [[name, f"for {name}"] for name in INSTRUMENTS]


def _blank(blank: Blank) -> dict[str, object]:
    return {
        "name": blank.name,
        "means": blank.means,
        "words": [list(pair) for pair in blank.words] + _instruments(blank),
        "free": blank.free,
        "kind": blank.kind,
        "usual": blank.usual,
        "first": blank.first or blank.usual,
        "example": blank.example,
        "shown": {word: signs(text) for word, text in blank.shown},
    }
