"""Devices that change what the notes are grouped by and nothing else: hemiola, grouping shift."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from gmpy2 import mpq

from rhythm.exact.errors import MusicError, RequestError
from rhythm.exact.metre import Metre
from rhythm.exact.values import format_value
from rhythm.rebar.bar_plan import BarPlan, starts
from rhythm.rebar.group import accented_heads, parse_groups
from rhythm.rebar.passage import Passage

__all__ = ["grouping_shift", "hemiola"]

_EIGHTH = mpq(1, 8)


def hemiola(passage: Passage) -> Passage:
    """Two bars of three beats redrawn as three bars of two; a bar of 6/8 as one of 3/4.

    Arithmetic: 2 x 3/4 = 3 x 2/4 = 6/4, and 2 x 3/8 = 3 x 1/4. The notes keep their values; where a
    repeat or double bar would fall into a new bar, the bars stay. Source: common practice
    (sesquialtera). Example: two bars of 3/4 are three of 2/4.
    """
    walls = {*passage.breaks, mpq(0), passage.length}
    at = starts(passage.bars)
    plan: list[BarPlan] = []
    i = 0
    while i < len(passage.bars):
        bar = passage.bars[i]
        pair = passage.bars[i : i + 2]
        if _turns_at_once(bar):
            plan.append(replace(bar, metre=_in_three(bar)))
            i += 1
        elif (
            len(pair) == 2
            and all(_has_three(each) for each in pair)
            and (pair[0].metre == pair[1].metre and at[i] + bar.length not in walls)
        ):
            plan.extend(_in_two(bar))
            i += 2
        else:
            plan.append(bar)
            i += 1
    if tuple(plan) == passage.bars:
        raise MusicError(
            "there are no two bars of three beats together",
            legal="a hemiola needs bars of 3/4, 3/2, 3/8 or 6/8",
        )
    return replace(passage, bars=tuple(_in_step(plan, i) for i in range(len(plan))))


def _in_step(plan: Sequence[BarPlan], i: int) -> BarPlan:
    """The bar; an upbeat, or one that a repeat cuts short, in the metre it leads to or follows."""
    bar, beside = plan[i], i + 1 if plan[i].shift else i - 1
    if bar.length == bar.full or not 0 <= beside < len(plan):
        return bar
    metre = plan[beside].metre
    if metre is None or metre == bar.metre or bar.length > metre.length:
        return bar
    shift = metre.length - bar.length if bar.shift else mpq(0)
    return replace(bar, metre=metre, shift=shift, tail=bar.tail and shift > 0)


def _has_three(bar: BarPlan) -> bool:
    return (
        bar.metre is not None
        and bar.length == bar.full
        and [term.beats for term in bar.metre.terms] == [(3,)]
    )


def _turns_at_once(bar: BarPlan) -> bool:
    """A bar of two ternary beats, which three plain ones fill as well."""
    return (
        bar.metre is not None
        and bar.length == bar.full
        and len(bar.metre.beats) == 2
        and bar.metre.is_compound
    )


def _in_three(bar: BarPlan) -> Metre:
    third = bar.length / 3
    return Metre.parse(f"3/{third.denominator}")


def _in_two(bar: BarPlan) -> Sequence[BarPlan]:
    unit = bar.length / 3
    metre = Metre.parse(f"2/{unit.denominator}")
    return [BarPlan(2 * unit, metre)] * 3


def grouping_shift(passage: Passage, groups: str, steps: int = 1, unit: mpq = _EIGHTH) -> Passage:
    """Accents at the heads of groups that begin ``steps`` units after the bar.

    Arithmetic: heads at k·unit + the groups' partial sums, cyclically; the notes and bars stay.
    Source: common practice (displaced grouping). Example: 3+3+2 shifted by 1 over eighths accents
    the eighths 1, 4 and 7, counted from 0.
    """
    if unit <= 0:
        raise RequestError(f"a unit of {format_value(unit)}", legal="a value above 0, such as 1/8")
    return accented_heads(passage, parse_groups(groups), unit, steps)
