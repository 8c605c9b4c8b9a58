"""What is said of a whole part or a stretch of bars: misprinted signatures, bars out of line."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from gmpy2 import mpq

from rhythm.check.bar_alignment import Misfit
from rhythm.check.findings import FindingLog
from rhythm.check.phrasing import bar_name
from rhythm.check.remedies import Remedy
from rhythm.check.signatures import Misprint
from rhythm.check.survey import PartBar
from rhythm.exact.metre import Metre
from rhythm.score.model import Part

__all__ = ["tell_misfit", "tell_misprint"]

ZERO = mpq(0)


def tell_misprint(misprint: Misprint, desks: Sequence[FindingLog], parts: int) -> None:
    """A signature that most bars under it contradict, once for all parts that have it."""
    printed, held = Metre(misprint.printed.terms), Metre(misprint.metre.terms)
    those = f"{misprint.holding} of the {misprint.among}"
    if misprint.holding == misprint.among:
        those = f"all {misprint.among}"
    message = f"the signature says {printed}, but {those} bars under it hold {held}"
    amount = misprint.metre.length - misprint.printed.length
    together = len(misprint.parts) == parts
    for which in misprint.parts[:1] if together else misprint.parts:
        desk = desks[which]
        remedy = desk.remedy(
            "signature", all_parts=together, metre=misprint.metre, until=misprint.until
        )
        fix = f"{misprint.metre} in its place would be right"
        desk.fault("signature", "", ZERO, message, amount, fix, remedy)


def tell_misfit(
    misfit: Misfit, columns: Sequence[Sequence[PartBar]], desk: FindingLog, part: Part
) -> None:
    """A bar in which one part departs from the others, once."""
    at, which = misfit.at, misfit.which
    if not part.bars:
        fix = "an empty bar for each of the others' would bring it in line"
        desk.fault("missing", "", ZERO, "the part has no bars at all", None, fix, None)
        return
    own = part.bars[misfit.own]
    others = [slot.bar for slot in columns[at] if slot.part is not part and not slot.absent]
    other = others[0] if others else own
    if misfit.kind == "missing":
        before = [b for b in (misfit.own,) if at] and bar_name(own.number)
        where = f"after bar {before}" if before else "at the start"
        many = misfit.count
        lack = "a bar is" if many == 1 else f"{many} bars are"
        message = f"{lack} missing {where}"
        if not misfit.sure:
            apart = "a bar" if many == 1 else f"{many} bars"
            message = f"the part ends {apart} before the others: {lack} missing {where} or earlier"
        names = bar_name(other.number)
        if many > 1:
            names += f" to {bar_name(columns[at + many - 1][which].bar.number)}"
        fix = f"{'an empty bar' if many == 1 else 'empty bars'} {names} would bring it in line"
        place = misfit.own + 1 if at else 0
        remedy = _at(desk, "bar", place, until=at, amount=mpq(many))
        desk.fault("missing", "", ZERO, message, None, fix, remedy)
    elif misfit.kind == "surplus":
        message = f"bar {bar_name(own.number)} stands in this part alone"
        empty = not any(e.bar == own.index and not e.is_rest for v in part.voices for e in v.events)
        fix = "without it the parts would agree"
        drop = _at(desk, "drop", misfit.own) if empty else None
        itself = FindingLog(desk.part, own, desk.which, desk.found)
        itself.fault("surplus", "", ZERO, message, None, fix, drop)
    elif misfit.kind == "joined":
        message = "holds two bars of the other parts: a bar line is missing after "
        message += "" if other.metre is None else str(Metre(other.metre.terms))
        fix = "a bar line there would bring it in line"
        remedy = _at(desk, "line", misfit.own, at=misfit.offset)
        desk.fault("bar-line", "", misfit.offset, message, None, fix, remedy)
    elif misfit.kind == "divided":
        after = part.bars[misfit.own + 1]
        names = f"bars {bar_name(own.number)} and {bar_name(after.number)}"
        message = f"{names} are one bar in the other parts: a bar line too many"
        fix = "without the bar line between them the parts would agree"
        remedy = _at(desk, "join", misfit.own)
        desk.fault("bar-line", "", misfit.offset, message, None, fix, remedy)
    else:
        message = f"is numbered {bar_name(own.number)} where the other parts have "
        message += bar_name(other.number)
        fix = f"{bar_name(other.number)} would agree"
        remedy = _at(desk, "number", misfit.own, to=other.number)
        desk.fault("number", "", ZERO, message, None, fix, remedy)
    assert which == desk.which


def _at(desk: FindingLog, op: str, bar: int, **more: Any) -> Remedy:
    return replace(desk.remedy(op, **more), bar=bar)
