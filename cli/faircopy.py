"""``remetre faircopy``: the same music written out afresh."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

import click

from . import options, work

if TYPE_CHECKING:
    from rhythm.score.model import Score

__all__ = ["command"]


@click.command("faircopy")
@options.sources
@click.option("--keep", is_flag=True, help="Honour the tuplets and beams as they are written.")
@options.own_manner
@options.as_json
@options.into_many
def command(
    scores: tuple[str, ...],
    keep: bool,
    manner: str | Score,
    as_json: bool,
    where: str | None,
    kind: str | None,
    force: bool,
    quiet: bool,
) -> None:
    """Write a score out afresh in its own metres.

    The notes begin and end when they did; values, dots, ties, rests, tuplets and beams are chosen
    anew, as a copyist would who only heard the music.

    \b
    remetre faircopy draft.musicxml -o fair.musicxml
    remetre faircopy drafts/ -o fair/
    """
    output = work.Output(where, kind, force, quiet, as_json)
    work.over("faircopy", scores, partial(_made, keep, manner), output)


def _made(keep: bool, manner: str | Score, score: Score) -> work.Made:
    from rhythm.notate.faircopy import faircopy

    return work.Made(faircopy(score, keep=keep, manner=manner))
