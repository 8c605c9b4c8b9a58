"""``remetre faircopy``: the same music written out afresh."""

from __future__ import annotations

import click

from . import options, out

__all__ = ["command"]


@click.command("faircopy")
@options.source
@click.option("--keep", is_flag=True, help="Honour the tuplets and beams as they are written.")
@options.into
def command(source: str, keep: bool, where: str | None, force: bool, quiet: bool) -> None:
    """Write a score out afresh in its own metres.

    The notes begin and end when they did; values, dots, ties, rests, tuplets and beams are chosen
    anew, as a copyist would who only heard the music.

    \b
    remetre faircopy draft.musicxml -o fair.musicxml
    """
    from rhythm.formats import read
    from rhythm.notate.faircopy import faircopy

    where = out.ready(where, source, force)
    out.put(faircopy(read(source), keep=keep), where, source=source, force=force)
    out.wrote(where, quiet)
