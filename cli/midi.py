"""``remetre midi``: a score to listen to."""

from __future__ import annotations

import click

from . import options, out, params, work

__all__ = ["command"]

_KINDS = (".mid", ".midi")


@click.command("midi")
@options.sources
@click.option(
    "--repeats/--no-repeats",
    default=True,
    show_default=True,
    help="Play repeats, endings, da capo and dal segno out.",
)
@click.option(
    "--speed",
    default="100%",
    show_default=True,
    metavar="PERCENT",
    help="Play at this much of the score's own tempo, 10% to 400%.",
)
@click.option("--click", is_flag=True, help="Add a track that clicks the beats.")
@click.option(
    "--count-in",
    type=params.Number(),
    default=0,
    metavar="BARS",
    help="Count this many bars in before the music, up to 8.",
)
@options.narrowed
@options.into_kinds(_KINDS, many=True)
@work.one_by_one(_KINDS)
def command(
    source: str,
    repeats: bool,
    speed: str,
    click: bool,
    count_in: int,
    bars: str | None,
    part: str | None,
    voice: str | None,
    where: str | None,
    force: bool,
    quiet: bool,
) -> None:
    """Write a score as a Standard MIDI File.

    Positions are exact, and a tempo mark sets the speed (120 quarters a minute where there is
    none). Repeats and endings, da capo, dal segno, coda and fine are played out; tied notes sound
    as one. Dynamics, hairpins, accents, staccato and grace notes are heard; so are trills,
    mordents, turns and tremolos, pedals and pizzicato, and swing where the file has it for
    playback. A fermata holds twice as long. Drums have the keys of their instruments, and words
    that are sung go along.

    Not played: arpeggios, glissandi, breaths, words such as rit. and "Swing", fermatas over a bar
    line, and microtones, which go to the nearest semitone.

    \b
    remetre midi song.musicxml -o song.mid
    remetre midi songs/ -o heard/
    remetre midi song.musicxml --speed 60% --click --count-in 1 -o slow.mid
    """
    from rhythm.formats.files import save
    from rhythm.score.excerpt import excerpt
    from rhythm.show.midi import midi_bytes

    from .sources import read

    where = out.ready(where, source, force, kinds=_KINDS)
    heard = excerpt(read(source), bars=bars, part=part, voice=voice)
    data = midi_bytes(heard, repeats=repeats, speed=speed, click=click, count_in=count_in)
    save(data, where, force=force)
    out.wrote(where, quiet, heard)
