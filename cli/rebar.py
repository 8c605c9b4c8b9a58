"""``remetre rebar``: the values kept, the bar lines drawn elsewhere."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from . import options, out, params

if TYPE_CHECKING:
    from rhythm.exact.pattern import MetrePattern

__all__ = ["command"]


@click.command("rebar")
@options.source
@click.option(
    "--to",
    type=params.PATTERN,
    required=True,
    help="A metre (3/4) or a cycle of metres ('7/8 7/8 5/8', '4/4*3 6/4').",
)
@click.option(
    "--fill/--no-fill",
    default=True,
    show_default=True,
    help="Complete a last bar with rests, or leave it short.",
)
@click.option("--strict", is_flag=True, help="Refuse to split a bar where a repeat falls in it.")
@options.bars
@options.into
def command(
    source: str,
    to: MetrePattern,
    fill: bool,
    strict: bool,
    bars: str | None,
    where: str | None,
    force: bool,
    quiet: bool,
) -> None:
    """Draw the bar lines elsewhere; every note keeps its value.

    Notes that a new bar line falls into are tied over it, ties that none falls into any more
    become one note.

    \b
    remetre rebar song.musicxml --to "7/8 7/8 5/8" -o poured.musicxml
    """
    from rhythm.formats import read
    from rhythm.rebar.rebar import rebar

    where = out.ready(where, source, force)
    done = rebar.outcome(read(source), to, fill=fill, strict=strict, bars=bars)
    out.put(done.score, where, source=source, force=force)
    out.wrote(where, quiet)
    out.say(str(done.report), out=where, quiet=quiet)
