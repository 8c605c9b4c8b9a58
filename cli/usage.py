"""What is said of a command line that cannot be obeyed: the parser's objections, in our words."""

from __future__ import annotations

import re
from collections.abc import Sequence
from difflib import get_close_matches
from pathlib import Path

import click

from .params import Word

__all__ = ["require_no_metres", "said"]

_METRE = re.compile(r"(\d+(\+\d+)*/\d+)(\+\d+(\+\d+)*/\d+)*")


def said(error: click.ClickException) -> str:
    """One line: the option or argument, what is wrong with it, and what would be legal."""
    if isinstance(error, click.NoSuchOption):
        return _unknown(error)
    if isinstance(error, click.MissingParameter):
        return _missing(error)
    if isinstance(error, click.BadParameter) and error.param is not None:
        option = isinstance(error.param, click.Option)
        return f"{_name(error.param)}: {error.message}" if option else error.message
    if isinstance(error, click.BadOptionUsage):
        return _without_value(error)
    message = error.format_message().rstrip(".")
    if message.startswith("Got unexpected extra argument"):
        more = message.partition("(")[2].rstrip(")")
        return f"{more!r} is one word too many; what has spaces in it stands in quotes"
    return message


def _without_value(error: click.BadOptionUsage) -> str:
    """An option at the end of the line, or one that takes no value and was given one."""
    if "require" in error.message:
        return f"{error.option_name} wants a value; --help says which"
    return f"{error.option_name} takes no value"


def _unknown(error: click.NoSuchOption) -> str:
    near = get_close_matches(error.option_name, error.possibilities or (), n=2, cutoff=0.6)
    meant = f"; did you mean {' or '.join(near)}?" if near else ""
    return f"there is no option {error.option_name}{meant}"


def _missing(error: click.MissingParameter) -> str:
    wanted = error.param
    assert wanted is not None
    if isinstance(wanted, click.Option):
        return f"{_name(wanted)} is missing: {' '.join((wanted.help or '').split())}"
    name = _name(wanted)
    if name == "SCORE":
        return "SCORE is missing: name a file, a folder, or - for standard input"
    if isinstance(wanted.type, Word):
        return f"name one of {', '.join(wanted.type.words)}"
    context = error.ctx
    usage = context.command.get_usage(context).removeprefix("Usage: ") if context else ""
    return f"{name} is missing: {' '.join(usage.split())}"


def _name(param: click.Parameter) -> str:
    """An option as it is typed, an argument as help calls it."""
    if isinstance(param, click.Option):
        return max(param.opts, key=len)
    return param.make_metavar(click.get_current_context(silent=True) or _nowhere()).strip("[].")


def _nowhere() -> click.Context:
    return click.Context(click.Command("remetre"))


def require_no_metres(names: Sequence[str]) -> None:
    """Object to metres among the scores: the rest of a cycle that lacks its quotes."""
    stray = [name for name in names if _METRE.fullmatch(name) and not Path(name).exists()]
    if stray:
        raise click.UsageError(
            f"{stray[0]} is no file; metres that take turns stand together in quotes, "
            f"as in '7/8 {stray[0]}'"
        )
