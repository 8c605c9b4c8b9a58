"""``remetre mend``: put right what check finds wrong."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from typing import TYPE_CHECKING

import click

from . import many, options, work

if TYPE_CHECKING:
    from rhythm.check.mending import Deed, Way
    from rhythm.score.model import Score

__all__ = ["command"]

_MOST_LINES = 40


@click.command("mend")
@options.sources
@click.option(
    "--least",
    "how",
    flag_value="least",
    default=True,
    help="Make the least change that puts each fault right.  [default]",
)
@click.option("--rests", "how", flag_value="rests", help="The same, but write no new signature.")
@click.option(
    "--metre",
    "how",
    flag_value="metre",
    help="Let the signature follow the notes wherever a bar holds another length.",
)
@options.bars
@options.manner
@click.option(
    "--remarks",
    is_flag=True,
    help="Put right what is only remarked, too: rounded durations, brackets, ties without an end.",
)
@click.option("--all", "every", is_flag=True, help="Say what was done about every fault.")
@options.as_json
@options.into_many
def command(
    scores: tuple[str, ...],
    how: Way,
    bars: str | None,
    manner: str | Score,
    remarks: bool,
    every: bool,
    as_json: bool,
    where: str | None,
    kind: str | None,
    force: bool,
    quiet: bool,
) -> None:
    """Put right the bars that do not add up; no note is dropped or shortened.

    Each fault that check tells names what would put it right, and that is done: a bar line, a
    voice moved back, a voice's number, rests taken back, a signature that was misprinted, rests
    that fill what is short, and where a bar is too long for all parts a signature of its own.
    With --rests no new signature is written; with --metre the signature follows what a bar holds
    and is restored after it. Bars without a fault stay as they are; what only a musician can
    decide is left and said, and ends with exit code 1. Where a score and a folder of its parts are
    named, each part takes over from the score the bars that it lacks or that are at fault.

    \b
    remetre mend draft.musicxml -o right.musicxml
    remetre mend draft.musicxml --metre --bars 5-8 -o right.musicxml
    remetre mend parts/ -o mended/
    remetre mend score.musicxml parts/ -o mended/
    """
    output = work.Output(where, kind, force, quiet, as_json)
    like = many.score_of(scores)
    make = partial(_made, how, bars, remarks, every, manner, like)
    work.over("mend", scores[1:] if like else scores, make, output)


def _made(
    how: Way,
    bars: str | None,
    remarks: bool,
    every: bool,
    manner: str | Score,
    like: str,
    score: Score,
) -> work.Made:
    import rhythm
    from rhythm.rehearsing import mended_by

    if like:
        whole = many.full_score(like)
        outcome = mended_by(score, whole, how, bars=bars, remarks=remarks, manner=manner)
    else:
        outcome = rhythm.mend.outcome(score, how, bars=bars, remarks=remarks, manner=manner)
    done = outcome.report
    lines = [f"{where}: {deed.done} ({deed.fault.message})" for where, deed in _told(done.deeds)]
    if not every and len(lines) > _MOST_LINES:
        lines[_MOST_LINES:] = [f"... and {len(lines) - _MOST_LINES} more; --all tells each"]
    if done.deeds:
        lines.append(f"{_count(len(done.deeds), 'fault')} mended")
    elif not done.left:
        lines.append("nothing was at fault")
    for where, deed in _told(done.left):
        lines.append(f"{where}: left as it is: {deed.fault.message}: {deed.done}")
    code = 1 if done.left else 0
    return work.Made(outcome.score, lambda: lines, done.to_dict, code=code)


def _told(deeds: Sequence[Deed]) -> list[tuple[str, Deed]]:
    return [(deed.fault.place, deed) for deed in sorted(deeds, key=_order)]


def _order(deed: Deed) -> tuple[int, str]:
    return deed.fault.index, deed.fault.part


def _count(number: int, thing: str) -> str:
    return f"{number} {thing}" if number == 1 else f"{number} {thing}s"
