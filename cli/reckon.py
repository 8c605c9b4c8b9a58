"""``remetre reckon``: exact arithmetic with note values."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import TYPE_CHECKING

import click

from . import options, out, params

if TYPE_CHECKING:
    from gmpy2 import mpq

    from rhythm.exact.metre import Metre
    from rhythm.exact.reckoning import Reckoning
    from rhythm.exact.relations import Tempo

__all__ = ["command"]


def _sum(text: str) -> object:
    from rhythm.exact.expressions import evaluate

    return evaluate(text)


def _cycle(text: str) -> object:
    from rhythm.exact.reckoning import cycle_length

    return cycle_length(text)


SUM = params.Reads("sum", _sum)
CYCLE = params.Reads("cycle", _cycle)


@click.command("reckon")
@click.argument("expression", metavar="[SUM or QUESTION]", nargs=-1)
@click.option("--in", "metre", metavar="METRE", help="How many bars it fills, and what is left.")
@click.option(
    "--fill",
    "metres",
    type=params.METRE,
    multiple=True,
    help="Every way to fill the sum with whole bars of these metres; give it once for each.",
)
@click.option(
    "--notes",
    type=params.Number(),
    help="The plainest way to write this many notes in the time of the sum.",
)
@click.option(
    "--meet",
    "cycles",
    type=CYCLE,
    multiple=True,
    help="Where cycles (values, metres, bars in turn) start together again; give it once for each.",
)
@click.option(
    "--tempo", metavar="NUMBER", help="The tempo before; the new tempo is worked out, where..."
)
@click.option("--old", type=SUM, help="...this value before...")
@click.option("--new", type=SUM, help="...lasts as long as this one after.")
@options.as_json
def command(
    expression: tuple[str, ...],
    metre: str | None,
    metres: tuple[Metre, ...],
    notes: int | None,
    cycles: tuple[mpq, ...],
    tempo: str | None,
    old: mpq | None,
    new: mpq | None,
    as_json: bool,
) -> None:
    """Settle by exact arithmetic what fits where.

    A SUM is made of fractions of a whole note and of values by name, with + - * / and brackets. A
    QUESTION is asked in words.

    \b
    remetre reckon "24*1/32" --in 6/4
    remetre reckon "dotted quarter + 2 eighths"
    remetre reckon how many sixteenths in a dotted half
    remetre reckon does 24*1/32 fit 3/4
    remetre reckon 32 bars of 4/4 at 120
    remetre reckon "4*4/4" --fill 5/8 --fill 7/8
    remetre reckon 1/4 --notes 5
    remetre reckon --meet 5/8 --meet 4/4
    remetre reckon --tempo 84 --old 1/12 --new 1/8
    """
    from rhythm.exact.reckoning import reckon

    found = reckon(
        " ".join(expression) or None,
        metre,
        fill=metres,
        notes=notes,
        meet=cycles,
        tempo=tempo,
        old=old,
        new=new,
    )
    if as_json:
        click.echo(json.dumps(found.to_dict()))
        return
    if found.answer is not None:
        click.echo(found.answer.text)
    for number, (columns, rows) in enumerate(_tables(found, metres)):
        if number:
            click.echo()
        out.table(columns, rows)


_Rows = list[tuple[str, ...]]
_Table = tuple[tuple[str, ...], _Rows]


def _tables(found: Reckoning, metres: tuple[Metre, ...]) -> Iterator[_Table]:
    """One table for every question that was asked."""
    if found.value is not None:
        yield _of_sum(found)
    if found.fillings is not None:
        rows: _Rows = [(str(way), str(way.bars), str(way.orders)) for way in found.fillings]
        if found.more:
            rows.append(("and more", "", ""))
        if not rows:
            rows = [(f"no whole bars of {', '.join(map(str, metres))}", "", "")]
        yield ("filled by", "bars", "orders"), rows
    if found.tuplet is not None:
        fit = found.tuplet
        yield ("notes", "written", "each lasts"), [(str(fit.notes), str(fit), str(fit.each))]
    if found.meeting is not None:
        met = found.meeting
        units = f"{met.units} × {met.unit}"
        turns = zip(met.cycles, met.turns, strict=True)
        met_rows: _Rows = [(str(one), str(n), str(met.length), units) for one, n in turns]
        yield ("cycle", "turns", "meet after", "that is"), met_rows
    if found.tempo is not None:
        yield _of_tempo(found.tempo)


def _of_sum(found: Reckoning) -> _Table:
    columns = ["sum", "value", "name", "fills"]
    fills = ", ".join(found.fills) or "no plain bar"
    row = [found.expression or "", str(found.value), found.name, fills]
    if found.metre is not None:
        columns += [f"bars of {found.metre}", "in the next", "left of it"]
        row += [str(found.bars), str(found.rest), str(found.left)]
    return tuple(columns), [tuple(row)]


def _of_tempo(found: Tempo) -> _Table:
    from rhythm.practice.measures import tenths

    after = str(found.after)
    if found.after.denominator != 1:
        after += f" (about {tenths(found.after, 2)})"
    row = (str(found.before), str(found.old), str(found.new), after)
    return ("tempo", "old value", "new value", "new tempo"), [row]
