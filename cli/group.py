"""``remetre group``: the same notes heard in other groups."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from . import options, out, params

if TYPE_CHECKING:
    from gmpy2 import mpq

__all__ = ["command"]


@click.command("group")
@options.source
@click.option("--by", default="3+3+2", show_default=True, help="Units in each group: 3+3+2, or 5.")
@click.option(
    "--unit", type=params.VALUE, default="1/8", show_default=True, help="The value counted."
)
@click.option(
    "--show",
    type=click.Choice(["beams", "accents", "metre"]),
    default="beams",
    show_default=True,
    help="Beam by the groups, accent each group's head, or redraw the bars.",
)
@options.bars
@options.into
def command(
    source: str,
    by: str,
    unit: mpq,
    show: str,
    bars: str | None,
    where: str | None,
    force: bool,
    quiet: bool,
) -> None:
    """Bunch the same notes in other groups, with or against the metre.

    Says where the pattern and the bars begin together again.

    \b
    remetre group study.musicxml --by 5 --unit 1/16 --show accents -o fives.musicxml
    """
    from rhythm.formats import read
    from rhythm.rebar.group import group

    where = out.ready(where, source, force)
    done = group.outcome(read(source), by, unit=unit, show=show, bars=bars)
    out.put(done.score, where, source=source, force=force)
    out.wrote(where, quiet)
    out.say(str(done.report), out=where, quiet=quiet)
