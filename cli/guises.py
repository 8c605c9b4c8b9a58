"""``remetre guises``: a theme in every metre and feel that suits it."""

from __future__ import annotations

import json

import click

from . import options, out, params, work

__all__ = ["command"]

KINDS = (".html",)


@click.command("guises")
@options.sources
@click.option(
    "--first",
    type=params.Number(1, 64),
    default=8,
    show_default=True,
    help="The theme's first N bars, 1 to 64.",
)
@click.option(
    "--most",
    type=params.Number(1, 200),
    default=60,
    show_default=True,
    help="At most this many guises, 1 to 200.",
)
@options.as_json
@options.into_kinds(KINDS, many=True)
@work.one_by_one(KINDS)
def command(
    source: str,
    first: int,
    most: int,
    as_json: bool,
    where: str | None,
    force: bool,
    quiet: bool,
) -> None:
    """Show a theme in every metre and feel that suits it, to choose by ear.

    Each guise says how much of it lilts, how far notes moved and how hard it is to read.

    \b
    remetre guises song.musicxml -o guises.html
    remetre guises song.musicxml --json
    """
    from rhythm.every_metre import guises, guises_page
    from rhythm.formats import read
    from rhythm.formats.files import save

    if where is not None or not as_json:
        where = out.ready(where, source, force, kinds=KINDS)
    score = read(source)
    found = guises(score, first=first, most=most)
    if as_json:
        for each in found:
            click.echo(json.dumps(each.to_dict(), ensure_ascii=False))
    if where is None:
        return
    save(
        guises_page(score, found).encode(),
        where,
        force=force,
        source="" if source == "-" else source,
    )
    some = min(first, len(score.bars))
    out.count(some)
    told = f"{len(found)} guises of {some} bar{'s' * (some != 1)}"
    out.wrote(where, quiet, more=told)
