"""``remetre follow``: a saved chain done on scores."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

import click

from . import options, work

if TYPE_CHECKING:
    from rhythm.chain import Step
    from rhythm.score.model import Score

__all__ = ["command"]


@click.command("follow")
@click.argument("chain", metavar="CHAIN")
@options.sources
@options.as_json
@options.into_many
def command(
    chain: str,
    scores: tuple[str, ...],
    as_json: bool,
    where: str | None,
    kind: str | None,
    force: bool,
    quiet: bool,
) -> None:
    """Do the steps of a saved chain on scores, one after the other.

    A chain is a small text; the bench saves one, and any editor can write it: a table [[step]] for
    each step, with its verb and what the verb is told.

    \b
    remetre follow lilt.toml song.musicxml -o lilting.musicxml
    remetre follow lilt.toml songs/ -o out/
    """
    from rhythm.chain import read_chain

    steps = read_chain(chain)
    work.over(
        "follow",
        scores,
        partial(_made, steps),
        work.Output(where, kind, force, quiet, as_json, inputs=(chain,)),
    )


def _made(steps: tuple[Step, ...], score: Score, /) -> work.Made:
    from rhythm.chain import followed

    done = followed(score, steps)

    def lines() -> list[str]:
        said = ((each.number, str(each.report)) for each in done if each.report)
        return [f"{number}. {line}" for number, line in said if line]

    def data() -> dict[str, object]:
        told = ((each.number, each.report) for each in done)
        steps = [
            {"step": at, **({} if report is None else report.to_dict())} for at, report in told
        ]
        return {"steps": steps}

    return work.Made(done[-1].score if done else score, lines, data)
