"""Kinds of values on the command line: each turns the library's objection into a usage error.

The parsers belong to the library and are imported when a value is read, not before. A value that
is no text any more passes as it is.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    Kind = click.ParamType[Any]
else:
    Kind = click.ParamType  # generic for the type checker alone in the click versions we allow

__all__ = ["GRADES", "LILT", "METRE", "PATTERN", "TARGET", "VALUE", "Reads"]


class Reads(Kind):
    """Text read by ``parse``, which raises a ValueError where it cannot."""

    def __init__(self, name: str, parse: Callable[[str], object]) -> None:
        self.name = name
        self.parse = parse

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> object:
        """The value, or a usage error that names the option."""
        if not isinstance(value, str):
            return value
        try:
            return self.parse(value)
        except ValueError as error:
            self.fail(str(error), param, ctx)


def _metre(text: str) -> object:
    from rhythm.exact.metre import Metre

    return Metre.parse(text)


def _pattern(text: str) -> object:
    from rhythm.exact.pattern import MetrePattern

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


def _grades(text: str) -> object:
    from rhythm.practice.sheet_plan import read_grades

    return read_grades(text)


GRADES = Reads("grades", _grades)
METRE = Reads("metre", _metre)
PATTERN = Reads("metres", _pattern)
TARGET = Reads("target", _target)
LILT = Reads("lilt", _lilt)
VALUE = Reads("value", _value)
