"""Kinds of values on the command line: each turns the library's objection into a usage error.

The parsers belong to the library and are imported when a value is read, not before. A value that
is no text any more passes as it is.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    from click.shell_completion import CompletionItem

    Kind = click.ParamType[Any]
else:
    Kind = click.ParamType  # generic for the type checker alone in the click versions we allow

__all__ = [
    "DEVICE",
    "FILE",
    "LEVELS",
    "LILT",
    "METRE",
    "PATTERN",
    "TARGET",
    "VALUE",
    "Number",
    "Reads",
    "Word",
]


_MANY = 9  # of so many words the nearest alone is named


class Word(Kind):
    """One of some words; another word is answered with the nearest of them."""

    name = "word"

    def __init__(self, words: Sequence[str]) -> None:
        self.words = tuple(words)

    def get_metavar(self, param: click.Parameter, ctx: click.Context) -> str:
        """The words themselves."""
        return f"[{'|'.join(self.words)}]"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> str:
        """The word, or a usage error that names the nearest."""
        if value in self.words:
            return str(value)
        from rhythm.exact.nearest import nearest

        near = nearest(str(value), self.words)
        said = f"{value!r} is not known" + (f"; did you mean {near}?" if near else ";")
        if not near or len(self.words) < _MANY:
            said += f" there {'are' if self.words[1:] else 'is only'} {', '.join(self.words)}"
        raise click.BadParameter(said, ctx, param)

    def shell_complete(
        self, ctx: click.Context, param: click.Parameter, incomplete: str
    ) -> list[CompletionItem]:
        """The words that begin so."""
        return _beginning(self.words, incomplete)


class Number(Kind):
    """A whole number from ``least`` to ``most`` (None: no end)."""

    name = "n"

    def __init__(self, least: int | None = None, most: int | None = None) -> None:
        self.least, self.most = least, most

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> int:
        """The number, or a usage error that names the range."""
        try:
            number = int(str(value))
        except ValueError:
            raise click.BadParameter(f"{value!r} is not a whole number", ctx, param) from None
        low, high = self.least, self.most
        if (low is not None and number < low) or (high is not None and number > high):
            upward = f"{low} to {high}" if high is not None else f"{low} up"
            raise click.BadParameter(f"{number} is not a number from {upward}", ctx, param)
        return number


class File(Kind):
    """The name of a file or folder, or - for a standard stream; the shell completes it."""

    name = "file"

    def shell_complete(
        self, ctx: click.Context, param: click.Parameter, incomplete: str
    ) -> list[CompletionItem]:
        """Leave it to the shell, which knows what files there are."""
        from click.shell_completion import CompletionItem

        return [CompletionItem(incomplete, type="file")]


class Device(Kind):
    """A device with its argument; the shell completes its name."""

    name = "device"

    def shell_complete(
        self, ctx: click.Context, param: click.Parameter, incomplete: str
    ) -> list[CompletionItem]:
        """The devices that begin so."""
        from rhythm.devices.registry import DEVICES

        return _beginning(tuple(DEVICES), incomplete)


class Reads(Kind):
    """Text read by ``parse``, which raises a ValueError where it cannot.

    ``words`` are those that the shell offers.
    """

    def __init__(
        self, name: str, parse: Callable[[str], object], words: Sequence[str] = ()
    ) -> None:
        self.name = name
        self.parse = parse
        self.words = tuple(words)

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> object:
        """The value, or a usage error that names the option."""
        if isinstance(value, str):
            value = self._parsed(value, param, ctx)
        return value

    def _parsed(
        self, value: str, param: click.Parameter | None, ctx: click.Context | None
    ) -> object:
        try:
            return self.parse(value)
        except ValueError as error:
            raise click.BadParameter(str(error), ctx, param) from None

    def shell_complete(
        self, ctx: click.Context, param: click.Parameter, incomplete: str
    ) -> list[CompletionItem]:
        """The words that begin so."""
        return _beginning(self.words, incomplete)


def _beginning(words: Sequence[str], incomplete: str) -> list[CompletionItem]:
    from click.shell_completion import CompletionItem

    return [CompletionItem(word) for word in words if word.startswith(incomplete)]


def _metre(text: str) -> object:
    from rhythm.exact.metre import Metre

    return Metre.parse(text)


_FEELS = ("compound", "simple", "triplets", "duplets")


def _pattern(text: str) -> object:
    from rhythm.exact.pattern import MetrePattern

    if text.strip().lower() in _FEELS:
        raise ValueError(
            f"{text!r} is no metre; `remetre restate` takes it, here a metre such as 6/8 is wanted"
        )
    return MetrePattern.parse(text)


def _target(text: str) -> object:
    from rhythm.restate.targets import parse_target

    return parse_target(text)


def _lilt(text: str) -> object:
    from rhythm.restate.align import Lilt

    Lilt.parse(text)
    return text


def _value(text: str) -> object:
    from rhythm.exact.values import value

    return value(text)


def _levels(text: str) -> object:
    from rhythm.practice.sheet_plan import read_levels

    return read_levels(text)


# What the shell offers; any other is read as well.
_METRES = (
    "2/4", "3/4", "4/4", "5/4", "6/4", "7/4", "2/2", "3/2", "4/2",
    "3/8", "5/8", "6/8", "7/8", "9/8", "12/8", "2+3/8", "3+2/8", "2+2+3/8", "3+2+2/8", "3+3+2/8",
)  # fmt: skip
_VALUES = ("1/1", "1/2", "1/4", "1/8", "1/16", "1/32")

LEVELS = Reads("levels", _levels)
METRE = Reads("metre", _metre, _METRES)
PATTERN = Reads("metres", _pattern, _METRES)
DEVICE = Device()
TARGET = Reads("target", _target, (*_FEELS, *_METRES))
LILT = Reads("lilt", _lilt, ("trochee", "iamb", "even"))
FILE = File()
VALUE = Reads("value", _value, _VALUES)
