"""``remetre reckon``: exact arithmetic with note values."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from itertools import islice
from typing import TYPE_CHECKING

import click

from . import options, out, params

if TYPE_CHECKING:
    from gmpy2 import mpq

    from rhythm.exact.metre import Metre

__all__ = ["command"]

_MOST = 1000  # ways to fill a length that are written out; more are only counted as "and more"


def _sum(text: str) -> object:
    from rhythm.exact.expressions import evaluate

    return evaluate(text)


SUM = params.Reads("sum", _sum)


@click.command("reckon")
@click.argument("sum_", metavar="[SUM]", required=False)
@click.option("--in", "metre", metavar="METRE", help="How many bars it fills, and what is left.")
@click.option(
    "--fill",
    "metres",
    type=params.METRE,
    multiple=True,
    help="Every way to fill the sum with whole bars of these metres; give it once for each.",
)
@click.option("--notes", type=int, help="The plainest way to write so many notes over the sum.")
@click.option(
    "--meet",
    "cycles",
    type=SUM,
    multiple=True,
    help="Where cycles of these lengths start together again; give it once for each.",
)
@click.option("--tempo", metavar="NUMBER", help="A tempo, of which the next is wanted...")
@click.option("--old", type=SUM, help="...where this value before...")
@click.option("--new", type=SUM, help="...lasts as long as this one after.")
@options.as_json
def command(
    sum_: str | None,
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

    A SUM is made of fractions of a whole note and of values by name, with + - * / and brackets.

    \b
    remetre reckon "24*1/32" --in 6/4
    remetre reckon "dotted quarter + 2 eighths"
    remetre reckon "4*4/4" --fill 5/8 --fill 7/8
    remetre reckon 1/4 --notes 5
    remetre reckon --meet 5/8 --meet 4/4
    remetre reckon --tempo 84 --old 1/12 --new 1/8
    """
    if sum_ is None and (metre or metres or notes is not None):
        raise click.UsageError("--in, --fill and --notes need a SUM to look at")
    if (tempo is None) != (old is None) or (old is None) != (new is None):
        raise click.UsageError("--tempo, --old and --new belong together")
    if sum_ is None and not cycles and tempo is None:
        raise click.UsageError("there is nothing to reckon; give a SUM, --meet or --tempo")
    answers = _answers(sum_, metre, metres, notes, cycles, tempo, old, new)
    for number, (columns, rows, plain) in enumerate(answers):
        if as_json:
            for found in plain:
                click.echo(json.dumps(found))
            continue
        if number:
            click.echo()
        out.table(columns, rows)


_Answer = tuple[tuple[str, ...], list[tuple[str, ...]], list[dict[str, object]]]


def _answers(
    sum_: str | None,
    metre: str | None,
    metres: tuple[Metre, ...],
    notes: int | None,
    cycles: tuple[mpq, ...],
    tempo: str | None,
    old: mpq | None,
    new: mpq | None,
) -> Iterator[_Answer]:
    """One table, with the same as plain values, for every question that was asked."""
    if sum_ is not None:
        yield _of_sum(sum_, metre)
    if sum_ is not None and metres:
        yield _of_fillings(sum_, metres)
    if sum_ is not None and notes is not None:
        yield _of_notes(sum_, notes)
    if cycles:
        yield _of_cycles(cycles)
    if tempo is not None and old is not None and new is not None:
        yield _of_tempo(tempo, old, new)


def _of_sum(text: str, metre: str | None) -> _Answer:
    from rhythm.exact.reckon import reckon
    from rhythm.exact.values import format_value

    found = reckon(text, in_=metre)
    columns = ["sum", "value", "name", "fills"]
    row = [text, format_value(found.value), found.name, ", ".join(found.fills) or "no plain bar"]
    if found.metre is not None and found.left is not None and found.rest is not None:
        columns += [f"bars of {found.metre}", "in the next", "left of it"]
        row += [str(found.bars), format_value(found.rest), format_value(found.left)]
    return tuple(columns), [tuple(row)], [found.to_dict()]


def _of_fillings(text: str, metres: tuple[Metre, ...]) -> _Answer:
    from rhythm.exact.cycles import Filling, fillings
    from rhythm.exact.expressions import evaluate

    def row(found: Filling) -> tuple[str, ...]:
        return (str(found), str(found.bars), str(found.orders))

    ways = list(islice(fillings(evaluate(text), metres), _MOST + 1))
    rows = [row(found) for found in ways[:_MOST]]
    if len(ways) > _MOST:
        rows.append(("and more", "", ""))
    if not ways:
        rows = [(f"no whole bars of {_listed(metres)}", "", "")]
    plain: dict[str, object] = {
        "fillings": [found.to_dict() for found in ways[:_MOST]],
        "more": len(ways) > _MOST,
    }
    return ("filled by", "bars", "orders"), rows, [plain]


def _of_notes(text: str, notes: int) -> _Answer:
    from rhythm.exact.expressions import evaluate
    from rhythm.exact.reckon import least_tuplet
    from rhythm.exact.values import format_value

    found = least_tuplet(notes, evaluate(text))
    row = (str(notes), str(found), format_value(found.each))
    return ("notes", "written", "each lasts"), [row], [found.to_dict()]


def _of_cycles(cycles: tuple[mpq, ...]) -> _Answer:
    from rhythm.exact.cycles import meet
    from rhythm.exact.values import format_value

    found = meet(*cycles)
    rows: list[tuple[str, ...]] = [
        (format_value(cycle), str(turns), format_value(found.length),
         f"{found.units} × {format_value(found.unit)}")
        for cycle, turns in zip(found.cycles, found.turns, strict=True)
    ]  # fmt: skip
    return ("cycle", "turns", "meet after", "that is"), rows, [found.to_dict()]


def _of_tempo(tempo: str, old: mpq, new: mpq) -> _Answer:
    from rhythm.exact.reckon import tempo_relation
    from rhythm.exact.values import format_value
    from rhythm.practice.measures import tenths

    found = tempo_relation(tempo, old, new)
    after = str(found.after)
    if found.after.denominator != 1:
        after += f" (about {tenths(found.after, 2)})"
    row = (str(found.before), format_value(old), format_value(new), after)
    return ("tempo", "old value", "new value", "new tempo"), [row], [found.to_dict()]


def _listed(metres: Iterable[Metre]) -> str:
    return ", ".join(str(metre) for metre in metres)
