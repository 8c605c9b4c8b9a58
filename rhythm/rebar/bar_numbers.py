"""The printed numbers of bars that were drawn anew.

Conventions
-----------
Bars are numbered on from the passage's first; the second part of a bar that a repeat splits is
numbered ``X`` and its bar's number.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from rhythm.exact.metre import Metre
from rhythm.rebar.bar_plan import BarPlan, plan_of
from rhythm.score.model import Bar
from rhythm.score.whole_numbers import whole_number

__all__ = ["numbers_of"]


def numbers_of(
    plan: Sequence[BarPlan], old: Sequence[Bar], same: int, whole: bool
) -> tuple[str, ...]:
    """The printed numbers: as they were while the bars are, then counted on.

    ``same`` is how many bars, from the first of ``plan`` and ``old`` on, are alike; ``whole`` says
    that they are all of the score. Where every bar is of the kind it was, as under displacement,
    all numbers are as they were. A score that gains or loses an upbeat keeps the number of its
    first whole bar, which is no 0. Inside a score, bars beyond the numbers the passage had are 8a,
    8b... after its last.
    """
    if [_kind(bar) for bar in plan] == [_kind(bar) for bar in plan_of(old)]:
        return tuple(bar.number for bar in old)
    names = [bar.number for bar in old[:same]]
    counted = _numbers(names)
    if counted:
        count = counted[-1]
    else:
        count = next(iter(_numbers(bar.number for bar in old)), 1) - 1
        if not plan[0].is_upbeat:
            count = max(count, 0)
        elif whole and not plan_of(old[:1])[0].is_upbeat:
            count = max(count - 1, -1)
    limit = max(_numbers(bar.number for bar in old), default=0)
    extra = 0
    for bar in plan[same:]:
        if bar.tail:
            names.append(f"X{count}")
            continue
        if whole or count < limit:
            count += 1
            names.append(str(count))
        else:
            names.append(f"{limit}{_letters(extra)}")
            extra += 1
    return tuple(names)


def _kind(bar: BarPlan) -> tuple[Metre | None, bool, bool]:
    return bar.metre, bar.tail, bar.is_upbeat


def _letters(count: int) -> str:
    """a, b, ... z, aa, ab ..."""
    text = ""
    while True:
        text = chr(ord("a") + count % 26) + text
        count = count // 26 - 1
        if count < 0:
            return text


def _numbers(names: Iterable[str]) -> list[int]:
    """The whole numbers among the printed ones."""
    return [number for name in names if (number := whole_number(name)) is not None]
