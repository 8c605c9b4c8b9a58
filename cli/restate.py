"""``remetre restate``: the same bars in another metre or feel."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import click

from . import options, out, params

if TYPE_CHECKING:
    from rhythm.restate.report import Report
    from rhythm.restate.targets import Target

__all__ = ["command", "explain"]


@click.command("restate")
@options.source
@click.option(
    "--to",
    type=params.TARGET,
    required=True,
    help="compound, simple, triplets or duplets; a metre (12/8, 3+2/4); a cycle of metres "
    "('7/8 7/8 5/8'); or a table (4/4:12/8,6/4:18/8).",
)
@click.option(
    "--by",
    type=click.Choice(["bar", "beat"]),
    help="Map bar to bar, or beat to beat with the bar lines redrawn. With --map: what its pairs "
    "are about.  [default: bar; with --map, beat]",
)
@click.option(
    "--lilt",
    type=params.LILT,
    default="trochee",
    show_default=True,
    help="How a beat divides: trochee (long first), iamb, even, or a ratio such as 3:2.",
)
@click.option(
    "--fit",
    type=click.Choice(["idiomatic", "exact"]),
    help="Move notes to places that are read at sight, or leave them where the map sends them.  "
    "[default: idiomatic, but a ratio such as 3:2 is kept]",
)
@click.option(
    "--tempo",
    type=click.Choice(["beat", "value"]),
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
    type=click.Choice(["here", "alone", "append"]),
    default="here",
    show_default=True,
    help="With --bars: restate the passage where it stands, write it alone, or add it at the end.",
)
@options.count
@click.option("--explain", "explained", is_flag=True, help="Show what became of each beat.")
@options.as_json
@options.into
def command(
    source: str,
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
    as_json: bool,
    where: str | None,
    force: bool,
    quiet: bool,
) -> None:
    """Put the music into another metre or feel, bar by bar.

    Every bar keeps its place and its notes; only the rhythm inside it changes. In duple music
    turned compound, pairs of eighths become the long and short of the lilt.

    \b
    remetre restate song.musicxml --to compound -o lilting.musicxml
    remetre restate lilting.musicxml --to simple -o straight.musicxml
    """
    from rhythm.formats import read
    from rhythm.restate.restate import restated
    from rhythm.verbs import counted

    if where is not None or not (explained or as_json):
        where = out.ready(where, source, force)
    done = restated(
        read(source),
        to,
        by=by,
        lilt=lilt,
        fit=fit,
        tempo=tempo,
        bars=bars,
        place=place,
        mapping=mapping,
    )
    if where:
        out.put(counted(done, count), where, source=source, force=force)
    if as_json:
        out.say(json.dumps(done.report.to_dict()), out=where or "")
    elif explained:
        explain(done.report, where or "")
    if where:
        out.wrote(where, quiet or as_json)
        out.say(done.report.line(), out=where, quiet=quiet or as_json)


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
