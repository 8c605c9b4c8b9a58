"""``remetre group``: the same notes heard in other groups."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, Any

import click

from . import options, params, work

if TYPE_CHECKING:
    from gmpy2 import mpq

    from rhythm.score.model import Score

__all__ = ["command"]


@click.command("group")
@options.sources
@click.option(
    "--groups", default="3+3+2", show_default=True, help="Units in each group: 3+3+2, or 5."
)
@click.option(
    "--unit", type=params.VALUE, default="1/8", show_default=True, help="The value counted."
)
@click.option(
    "--show",
    type=params.Word(["beams", "accents", "metre"]),
    default="beams",
    show_default=True,
    help="Beam by the groups, accent each group's head, or redraw the bars.",
)
@options.narrowed
@options.manner
@options.as_json
@options.into_many
def command(
    scores: tuple[str, ...],
    groups: str,
    unit: mpq,
    show: str,
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
    """Hear the same notes in other groups, with or against the metre.

    The line it prints says when the pattern and the bar begin together again.

    \b
    remetre group study.musicxml --groups 5 --unit 1/16 --show accents -o fives.musicxml
    """
    make = partial(
        _made, groups, unit=unit, show=show, bars=bars, part=part, voice=voice, manner=manner
    )
    work.over("group", scores, make, work.Output(where, kind, force, quiet, as_json))


def _made(groups: str, score: Score, /, **asked: Any) -> work.Made:
    from rhythm.rebar.group import group

    return work.made(group.outcome(score, groups, **asked))
