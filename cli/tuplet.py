"""``remetre tuplet``: more or fewer notes in the same time."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, Any

import click

from . import options, params, work

if TYPE_CHECKING:
    from gmpy2 import mpq

    from rhythm.score.model import Score
    from rhythm.verbs import Dissolving

__all__ = ["command"]


@click.command("tuplet")
@options.sources
@click.option("--ratio", metavar="N:M", help="N consecutive notes in the time of M: 3:2, 5:4.")
@click.option(
    "--unit",
    type=params.VALUE,
    default="1/8",
    show_default=True,
    help="With --ratio: the value of those notes.",
)
@click.option(
    "--split",
    type=params.Number(),
    metavar="N",
    help="Divide each note of --span into N equal notes.",
)
@click.option("--span", type=params.VALUE, help="With --split: the value that is divided.")
@click.option(
    "--dissolve",
    type=params.Word(["written", "halved"]),
    help="Make tuplets plain. written: notes last what they look like, triplet eighths become "
    "eighths and the bar grows. halved: half of it, triplet eighths become sixteenths and the bar "
    "shrinks.",
)
@options.bars
@options.manner
@options.as_json
@options.into_many
def command(
    scores: tuple[str, ...],
    ratio: str | None,
    unit: mpq,
    split: int | None,
    span: mpq | None,
    dissolve: Dissolving | None,
    bars: str | None,
    manner: str | Score,
    as_json: bool,
    where: str | None,
    kind: str | None,
    force: bool,
    quiet: bool,
) -> None:
    """Squeeze notes into tuplets, divide notes into equal parts, or undo tuplets.

    Triplets are made straight in three ways. With --dissolve written, a triplet eighth becomes an
    eighth and the bar grows; with --dissolve halved it becomes a sixteenth and the bar shrinks.
    Where the bar and the beat should stay as they are, use `remetre restate --to simple`, which
    makes each triplet an even pair or a dotted one.

    \b
    remetre tuplet song.musicxml --ratio 5:4 --unit 1/16 --bars 3-4 -o fives.musicxml
    remetre tuplet song.musicxml --split 5 --span 1/4 -o divided.musicxml
    remetre tuplet fives.musicxml --dissolve written -o plain.musicxml
    """
    if [ratio, split, dissolve].count(None) != 2:
        raise click.UsageError("say one of --ratio N:M, --split N, or --dissolve WAY")
    if (split is None) != (span is None):
        raise click.UsageError("--split and --span belong together")
    make = partial(
        _made, ratio, unit=unit, split=split, span=span, dissolve=dissolve, bars=bars, manner=manner
    )
    work.over("tuplet", scores, make, work.Output(where, kind, force, quiet, as_json))


def _made(ratio: str | None, score: Score, /, **asked: Any) -> work.Made:
    from rhythm.verbs import tuplet

    return work.made(tuplet.outcome(score, ratio, **asked))
