"""``remetre rebar``: the values kept, the bar lines drawn elsewhere."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, Any

import click

from . import options, params, work

if TYPE_CHECKING:
    from rhythm.exact.pattern import MetrePattern
    from rhythm.score.model import Score

__all__ = ["command"]


@click.command("rebar")
@options.sources
@click.option(
    "--to",
    type=params.PATTERN,
    required=True,
    help="A metre (3/4) or a cycle of metres ('7/8 7/8 5/8', '4/4*3 6/4').",
)
@click.option(
    "--complete/--no-complete",
    default=True,
    show_default=True,
    help="Complete a last bar with rests, or leave it short.",
)
@click.option("--strict", is_flag=True, help="Refuse to split a bar where a repeat falls in it.")
@options.bars
@options.manner
@options.as_json
@options.into_many
def command(
    scores: tuple[str, ...],
    to: MetrePattern,
    complete: bool,
    strict: bool,
    bars: str | None,
    manner: str | Score,
    as_json: bool,
    where: str | None,
    kind: str | None,
    force: bool,
    quiet: bool,
) -> None:
    """Draw the bar lines elsewhere; every note keeps its value.

    Notes that a new bar line falls into are tied over it, ties that none falls into any more
    become one note.

    \b
    remetre rebar song.musicxml --to "7/8 7/8 5/8" -o poured.musicxml
    remetre rebar songs/ --to 3/4 -o waltzes/
    """
    make = partial(_made, to, complete=complete, strict=strict, bars=bars, manner=manner)
    work.over("rebar", scores, make, work.Output(where, kind, force, quiet, as_json))


def _made(to: MetrePattern, score: Score, /, **asked: Any) -> work.Made:
    from rhythm.rebar.rebar import rebar

    return work.made(rebar.outcome(score, to, **asked))
