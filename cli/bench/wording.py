"""A chain as a command line to copy: the options are those of the commands themselves."""

from __future__ import annotations

import shlex
from collections.abc import Sequence
from importlib import import_module

import click

from rhythm.chain import Step
from rhythm.sentences import SENTENCES

__all__ = ["NO_COMMAND", "as_command", "sentences"]

NO_COMMAND = frozenset({"count", "excerpt"})
"""Verbs of Python that no command has alone; a chain with one is followed."""


def as_command(steps: Sequence[Step], source: str, out: str) -> str:
    """One command for one step, ``follow`` and the kept chain for several."""
    done = [step for step in steps if not step.off]
    if len(done) != 1 or done[0].verb in NO_COMMAND:
        return shlex.join(["remetre", "follow", "chain.toml", source, "-o", out])
    (step,) = done
    command: click.Command = import_module(f"..{step.verb}", __package__).command
    words = ["remetre", step.verb, source]
    for parameter in command.params:
        if not isinstance(parameter, click.Option) or parameter.name not in step.options:
            continue
        given = step.options[parameter.name]
        if parameter.is_flag and not isinstance(given, bool):
            words += [parameter.opts[0]] if parameter.flag_value == given else []
        elif isinstance(given, bool):
            names = parameter.opts if given else parameter.secondary_opts
            words += [names[0]] if names else []
        elif isinstance(given, list):
            words += [word for each in given for word in (parameter.opts[0], str(each))]
        else:
            words += [parameter.opts[0], str(given)]
    return shlex.join([*words, "-o", out])


def sentences() -> dict[str, object]:
    """All sentences and devices as plain data for the page."""
    from rhythm.devices.registry import DEVICES

    return {
        "sentences": [
            {
                "verb": each.verb,
                "title": each.title,
                "text": each.text,
                "more": each.more,
                "blanks": [
                    {
                        "name": blank.name,
                        "means": blank.means,
                        "words": [list(pair) for pair in blank.words],
                        "free": blank.free,
                        "usual": blank.usual,
                        "first": blank.first or blank.usual,
                        "example": blank.example,
                    }
                    for blank in each.blanks
                ],
            }
            for each in SENTENCES.values()
        ],
        "devices": [
            {"name": row.name, "usage": row.usage, "summary": row.summary, "example": row.example}
            for row in DEVICES.values()
        ],
    }
