"""Remarks about how bars are numbered: numbers that jump, a bar split by nothing.

Neither is a fault: a number may be left out on purpose, and a bar may be divided where a voice
enters. But the first is what a lost bar leaves behind, the second what a bar line too many does.
"""

from __future__ import annotations

from collections.abc import Sequence

from gmpy2 import mpq

from rhythm.check.bar_lengths import Verdict
from rhythm.check.findings import FindingLog
from rhythm.check.phrasing import bar_name
from rhythm.check.survey import PartBar
from rhythm.score.model import Bar
from rhythm.score.whole_numbers import whole_number

__all__ = ["remark_on_numbers"]

ZERO = mpq(0)


def remark_on_numbers(
    columns: Sequence[Sequence[PartBar]], verdicts: Sequence[Verdict], desks: Sequence[FindingLog]
) -> None:
    """Remark on every number that is left out or comes twice, and every bar split by nothing."""
    bars = [column[0].bar for column in columns]
    for index in range(1, len(bars)):
        bar, before = bars[index], bars[index - 1]
        number, last = whole_number(bar.number), whole_number(before.number)
        if number is not None and last is not None:
            step = number - last
            if step > 1 and last > 0:
                lost = "a bar" if step == 2 else f"{step - 1} bars"
                message = f"the number jumps from {before.number} to {bar.number}"
                desks[index].remark("number", "", ZERO, message, fix=f"{lost} may be missing")
        role = verdicts[index].role
        plain = number is not None and not bar.implicit and not before.implicit
        parted = role.kind == "split" and index - 1 in role.partners
        if plain and parted and not _breaks(before, bar):
            names = f"bars {bar_name(before.number)} and {bar_name(bar.number)}"
            message = f"{names} make one bar, and nothing divides them"
            desks[index - 1].remark("split", "", verdicts[index - 1].common, message)


def _breaks(before: Bar, bar: Bar) -> bool:
    """Does more than a plain bar line stand between these two?"""
    return any(
        line is not None and (line.repeat or line.ending_type or line.style not in ("", "regular"))
        for line in (before.right, bar.left)
    )
