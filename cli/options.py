"""Options that several verbs share, said once."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar

import click

__all__ = ["as_json", "bars", "count", "into", "narrowed", "quiet", "source"]

Verb = TypeVar("Verb", bound=Callable[..., Any])

source = click.argument("source", metavar="SCORE")
bars = click.option("--bars", metavar="BARS", help="Only these bars, as printed: 5, 5-8, 5-8,12.")
as_json = click.option("--json", "as_json", is_flag=True, help="Write JSON, one object a line.")
count = click.option(
    "--count",
    type=click.Choice(["numbers", "takadimi", "gordon", "kodaly"]),
    help="Write the syllables of this way of counting under the notes.",
)
quiet = click.option("-q", "--quiet", is_flag=True, help="Say nothing; the exit code tells.")


def into(verb: Verb) -> Verb:
    """Where the result goes: -o, --force and --quiet."""
    for option in (
        quiet,
        click.option("--force", is_flag=True, help="Replace a file that is there already."),
        click.option(
            "-o",
            "--out",
            "where",
            metavar="FILE",
            help="The file to write, its kind by its ending: .musicxml .mxl .mid .svg .html; "
            "- is standard output.",
        ),
    ):
        verb = option(verb)
    return verb


def narrowed(verb: Verb) -> Verb:
    """Which bars, part and voice to look at."""
    for option in (
        click.option("--voice", metavar="NAME", help="Only this voice."),
        click.option("--part", metavar="NAME", help="Only this part, by its name or id."),
        bars,
    ):
        verb = option(verb)
    return verb
