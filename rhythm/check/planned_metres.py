"""A plan of mixed bars, ``7/8 7/8 5/8``, held against what the bars hold.

The plan is a cycle of metres, one a bar. An upbeat that the file numbers 0 or leaves uncounted
stands before it and takes none; a later part of a split bar (``8a``, or uncounted) shares its
bar's. With a plan the signatures of the score are no longer the measure, the plan is: a bar that
holds what the plan says is right, and a signature that says otherwise is a note.
"""

from __future__ import annotations

from collections.abc import Sequence

from rhythm.exact.metre import Metre
from rhythm.exact.pattern import MetrePattern
from rhythm.score.bar_roles import Role
from rhythm.score.model import Bar
from rhythm.score.whole_numbers import whole_number

__all__ = ["is_extra", "planned_metres"]


def is_extra(bar: Bar) -> bool:
    """Does the file not count this bar as one of its own?"""
    return bar.implicit or not whole_number(bar.number)


def planned_metres(plan: MetrePattern, bars: Sequence[Bar], found: Sequence[Role]) -> list[Metre]:
    """The metre that the plan gives to every bar."""
    metres: list[Metre] = []
    count = 0
    for index, (bar, role) in enumerate(zip(bars, found, strict=True)):
        if is_extra(bar) and index == 0 and role.kind == "upbeat":
            metres.append(plan.metre_of(0))
        elif is_extra(bar) and role.kind == "split" and index - 1 in role.partners:
            metres.append(metres[-1])
        else:
            metres.append(plan.metre_of(count))
            count += 1
    return metres
