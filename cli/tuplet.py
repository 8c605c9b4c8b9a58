"""``remetre tuplet``: more or fewer notes in the same time."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from . import options, out, params

if TYPE_CHECKING:
    from gmpy2 import mpq

    from rhythm.score.model import Score

__all__ = ["command"]


@click.command("tuplet")
@options.source
@click.option("--ratio", metavar="N:M", help="N consecutive notes in the time of M: 3:2, 5:4.")
@click.option(
    "--unit",
    type=params.VALUE,
    default="1/8",
    show_default=True,
    help="With --ratio: the value of those notes.",
)
@click.option("--split", type=int, metavar="N", help="Each note of --span in N equal notes.")
@click.option("--span", type=params.VALUE, help="With --split: the value that is divided.")
@click.option("--dissolve", is_flag=True, help="Release tuplets into plain notes.")
@options.bars
@options.into
def command(
    source: str,
    ratio: str | None,
    unit: mpq,
    split: int | None,
    span: mpq | None,
    dissolve: bool,
    bars: str | None,
    where: str | None,
    force: bool,
    quiet: bool,
) -> None:
    """Squeeze notes into tuplets, divide notes into equal parts, or release tuplets.

    \b
    remetre tuplet song.musicxml --ratio 5:4 --unit 1/16 --bars 3-4 -o fives.musicxml
    remetre tuplet song.musicxml --split 5 --span 1/4 -o divided.musicxml
    remetre tuplet fives.musicxml --dissolve -o plain.musicxml
    """
    if [ratio is not None, split is not None, dissolve].count(True) != 1:
        raise click.UsageError("say one of --ratio N:M, --split N, or --dissolve")
    if (split is None) != (span is None):
        raise click.UsageError("--split and --span belong together")
    from rhythm.formats import read

    where = out.ready(where, source, force)
    score, told = _changed(read(source), ratio, unit, split, span, bars)
    out.put(score, where, source=source, force=force)
    out.wrote(where, quiet)
    for line in told:
        out.say(line, out=where, quiet=quiet)


def _changed(
    score: Score,
    ratio: str | None,
    unit: mpq,
    split: int | None,
    span: mpq | None,
    bars: str | None,
) -> tuple[Score, list[str]]:
    """The score changed as asked, and what there is to tell about it."""
    from rhythm.exact.values import name_value
    from rhythm.rebar import release, tuplet

    if ratio is not None:
        done = tuplet.tupleted(score, ratio, unit=unit, bars=bars)
        silences = (("open brackets", done.padded), ("the last bar", done.filled))
        told = [f"redrawn in {to}: bars of {old} cut brackets" for old, to in done.redrawn]
        told += [
            f"rest added to fill {what}: {name_value(rest)}" for what, rest in silences if rest
        ]
        return done.score, told
    if split is not None and span is not None:
        return tuplet.subdivide(score, split, span=span, bars=bars), []
    return release.dissolve(score, bars=bars), []
