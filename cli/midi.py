"""``remetre midi``: a score to listen to."""

from __future__ import annotations

import click

from . import options, out

__all__ = ["command"]


@click.command("midi")
@options.source
@click.option(
    "--repeats/--no-repeats", default=True, show_default=True, help="Play repeats and endings out."
)
@options.narrowed
@options.into_kinds((".mid", ".midi"))
def command(
    source: str,
    repeats: bool,
    bars: str | None,
    part: str | None,
    voice: str | None,
    where: str | None,
    force: bool,
    quiet: bool,
) -> None:
    """Write a score as a Standard MIDI File.

    Positions are exact. Repeats and endings are played out, tied notes sound as one, and a tempo
    mark sets the speed (120 quarters a minute where there is none).

    \b
    remetre midi song.musicxml -o song.mid
    """
    from rhythm.formats.files import save
    from rhythm.score.excerpt import excerpt
    from rhythm.show.midi import midi_bytes

    from .sources import read

    where = out.ready(where, source, force, kinds=(".mid", ".midi"))
    heard = excerpt(read(source), bars=bars, part=part, voice=voice)
    save(midi_bytes(heard, repeats=repeats), where, force=force)
    out.wrote(where, quiet)
