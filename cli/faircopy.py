"""``remetre faircopy``: the same music written out afresh."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, Any

import click

from . import options, work

if TYPE_CHECKING:
    from rhythm.score.model import Score

__all__ = ["command"]


@click.command("faircopy")
@options.sources
@click.option("--keep", is_flag=True, help="Keep the tuplets and beams as they are written.")
@options.narrowed
@options.own_manner
@options.as_json
@options.into_many
def command(
    scores: tuple[str, ...],
    keep: bool,
    bars: str | None,
    part: str | None,
    voice: str | None,
    manner: str | Score,
    as_json: bool,
    where: str | None,
    kind: str | None,
    force: bool,
    quiet: bool,
) -> None:
    """Write a score out afresh in its own metres.

    The notes begin and end when they did; values, dots, ties, rests, tuplets and beams are chosen
    anew, as a copyist would who had only heard the music.

    \b
    remetre faircopy draft.musicxml -o fair.musicxml
    remetre faircopy drafts/ -o fair/
    """
    output = work.Output(where, kind, force, quiet, as_json)
    make = partial(_made, keep=keep, bars=bars, part=part, voice=voice, manner=manner)
    work.over("faircopy", scores, make, output)


def _made(score: Score, /, **asked: Any) -> work.Made:
    from rhythm.notate.faircopy import faircopy

    return work.made(faircopy.outcome(score, **asked))
