"""Reading the scores that are named on the command line, in whatever format they are.

``--piece`` chooses one where a file holds several; what of a file was not kept is told on standard
error, in one line.
"""

from __future__ import annotations

import warnings
from collections.abc import Callable
from typing import TYPE_CHECKING, Any, TypeVar

import click

if TYPE_CHECKING:
    from rhythm.score.model import Score

__all__ = ["piece", "piece_wanted", "read", "want_piece"]

Verb = TypeVar("Verb", bound=Callable[..., Any])

_wanted = ""


def want_piece(text: str) -> None:
    """Read this piece of every file from now on; "" where a file must hold one alone."""
    global _wanted
    _wanted = text


def piece_wanted() -> str:
    """The piece that is read of every file, "" for the only one."""
    return _wanted


def _take(context: click.Context, parameter: click.Parameter, value: str | None) -> None:
    want_piece(value or "")


def piece(verb: Verb) -> Verb:
    """The option --piece: which piece of a file that holds several."""
    option = click.option(
        "--piece",
        metavar="PIECE",
        expose_value=False,
        callback=_take,
        help="The number or title of a piece, where a file holds several.",
    )
    return option(verb)


def read(name: str) -> Score:
    """Read a score; - is standard input. Raises FileError."""
    from rhythm import formats
    from rhythm.exact.errors import FileError

    with warnings.catch_warnings(record=True) as told:
        warnings.simplefilter("always")
        try:
            score = formats.read(name, piece=_wanted) if _wanted else formats.read(name)
        except FileError as error:
            if not error.legal.startswith("choose one:"):
                raise
            legal = error.legal.replace("choose one", "choose one with --piece", 1)
            raise FileError(error.problem, place=error.place, legal=legal) from None
    context = click.get_current_context(silent=True)
    if context is None or not context.params.get("quiet"):
        for each in told:
            click.echo(str(each.message), err=True)
    return score
