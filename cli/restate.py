"""``remetre restate``: the same bars in another metre or feel."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, Any

import click

from . import options, out, params, work

if TYPE_CHECKING:
    from rhythm.restate.report import Report
    from rhythm.restate.targets import Target
    from rhythm.score.model import Score

__all__ = ["command", "explain"]


@click.command("restate")
@options.sources
@click.option(
    "--to",
    type=params.TARGET,
    required=True,
    help="compound, simple, triplets or duplets; a metre (12/8, 3+2/4); a cycle of metres "
    "('7/8 7/8 5/8'); or a table (4/4:12/8,6/4:18/8).",
)
@click.option(
    "--by",
    type=params.Word(["bar", "beat"]),
    help="Map bar to bar, or beat to beat with the bar lines redrawn. With --map: what its pairs "
    "are about.  [default: bar; with --map, beat]",
)
@click.option(
    "--lilt",
    type=params.LILT,
    default="trochee",
    show_default=True,
    help="Which part is the longer where something must be cut unequally: trochee (the first), "
    "iamb (the last), even (neither), or the ratio of a beat, such as 3:2.",
)
@click.option(
    "--fit",
    type=params.Word(["idiomatic", "exact"]),
    help="Move notes to places that are read at sight, or leave them where the map sends them.  "
    "[default: idiomatic, but a ratio such as 3:2 is kept]",
)
@click.option(
    "--tempo",
    type=params.Word(["beat", "value"]),
    default="beat",
    show_default=True,
    help="What keeps its rate: the beat (quarter = 96 becomes dotted quarter = 96) or the value.",
)
@click.option(
    "--map",
    "mapping",
    metavar="PAIRS",
    help="A map of your own in place of the lilt: '1/8=1/4, 1/4=3/8'.",
)
@options.bars
@click.option(
    "--place",
    type=params.Word(["here", "alone", "append"]),
    default="here",
    show_default=True,
    help="With --bars: restate the passage where it stands, write it alone, or add it at the end.",
)
@options.count
@click.option("--explain", "explained", is_flag=True, help="Show what became of each beat.")
@options.manner
@options.as_json
@options.into_many
def command(
    scores: tuple[str, ...],
    to: Target,
    by: str | None,
    lilt: str,
    fit: str | None,
    tempo: str,
    mapping: str | None,
    bars: str | None,
    place: str,
    count: str | None,
    explained: bool,
    manner: str | Score,
    as_json: bool,
    where: str | None,
    kind: str | None,
    force: bool,
    quiet: bool,
) -> None:
    """Put the music into another metre or feel, bar by bar.

    Every bar keeps its place and its notes; only the rhythm inside it changes. In duple music
    turned compound, pairs of eighths become the long and short of the lilt.

    \b
    remetre restate song.musicxml --to compound -o lilting.musicxml
    remetre restate lilting.musicxml --to simple -o straight.musicxml
    remetre restate songs/ --to compound -o out/
    """
    make = partial(
        _made,
        to,
        by=by,
        lilt=lilt,
        fit=fit,
        tempo=tempo,
        bars=bars,
        place=place,
        mapping=mapping,
        manner=manner,
        count=count,
    )
    output = work.Output(where, kind, force, quiet, as_json)
    show = _explained if explained else None
    work.over("restate", scores, make, output, told_only=explained, show=show)


def _made(to: Target, score: Score, /, **asked: Any) -> work.Made:
    from rhythm.verbs import restate

    return work.made(restate.outcome(score, to, **asked))


def _explained(made: work.Made, where: str) -> None:
    explain(made.report, where)


def explain(report: Report, where: str = "") -> None:
    """Print the map of every metre, then every beat pattern with its image and count."""
    from rhythm.exact.time_map import TimeMap
    from rhythm.show.diagram import map_rows

    for bar_map, points in report.points:
        source, written = bar_map.source, bar_map.written
        out.say(f"{source} to {written}, {report.lilt}", out=where)
        out.table(("position", "goes to", ""), map_rows(source, TimeMap(points)), out=where)
    rows = [(beat.source, beat.image, str(beat.count), beat.why) for beat in report.beats]
    out.table(("beat", "becomes", "times", ""), rows, out=where)
