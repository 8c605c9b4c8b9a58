"""A plan of mixed bars, ``7/8 7/8 5/8``, held against what the bars hold.

The plan is a cycle of metres, one a bar. An upbeat that the file numbers 0 or leaves uncounted
stands before it and takes none; a later part of a split bar (``8a``, or uncounted) shares its
bar's. With a plan the signatures of the score are no longer the measure, the plan is: a bar that
holds what the plan says is right, and a signature that says otherwise is a remark.

One bar lost would put all that follows against the wrong metre. So the bars are laid along the plan
at the least cost: a bar of another length costs less than one left out or put in, and two of them
cost more. Where a bar may be missing at several places it is the last of them, or the one where
the printed numbers jump.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from gmpy2 import mpq

from rhythm.exact.metre import Metre
from rhythm.exact.pattern import MetrePattern
from rhythm.score.bar_roles import Role
from rhythm.score.model import Bar
from rhythm.score.whole_numbers import whole_number

__all__ = ["Planned", "is_extra", "lay_along"]

_OTHER_LENGTH, _LEFT_OUT, _PUT_IN, _JUMPED_OVER = 4, 6, 6, 2
_MOST_WAYS = 40
_MOST_MISSING = 12  # bars in a row


@dataclass(slots=True)
class Planned:
    """The plan's metre for a bar (None: the plan has no such bar), and those left out before it."""

    metre: Metre | None
    missing: tuple[Metre, ...] = ()


@dataclass(slots=True)
class _Unit:
    """The bars that share one metre of the plan, by index, and what they hold together.

    ``jump`` is how many numbers are left out before the first of them.
    """

    bars: list[int]
    length: mpq
    jump: int
    split: bool = False
    halves: bool = False  # makes one with the unit before


@dataclass(slots=True)
class _Way:
    """The cheapest way to a place of the plan: its cost, its last step, and where that began."""

    cost: int
    step: str
    units: int
    at: int
    before: _Way | None


def is_extra(bar: Bar) -> bool:
    """Does the file not count this bar as one of its own?"""
    return bar.implicit or not whole_number(bar.number)


def lay_along(
    plan: MetrePattern, bars: Sequence[Bar], found: Sequence[Role], lengths: Sequence[mpq]
) -> list[Planned]:
    """The place of every bar in the plan; ``lengths`` is what the bars hold."""
    laid = [Planned(plan.metre_of(0)) for _ in bars]
    units = list(_units(bars, found, lengths))
    own = at = 0
    missing: list[Metre] = []
    for way in _steps(units, plan):
        here = [index for unit in units[own : own + way.units] for index in unit.bars]
        if way.step == "missing":
            missing.append(plan.metre_of(at))
        for index in here:
            laid[index] = Planned(plan.metre_of(at) if way.step == "match" else None)
        if here:
            laid[here[0]].missing, missing = tuple(missing), []
        own, at = own + way.units, at + (way.step != "surplus")
    return laid


def _units(bars: Sequence[Bar], found: Sequence[Role], lengths: Sequence[mpq]) -> Iterator[_Unit]:
    unit: _Unit | None = None
    last: int | None = None
    for index, (bar, role, length) in enumerate(zip(bars, found, lengths, strict=True)):
        if is_extra(bar) and not index and role.kind == "upbeat":
            continue
        follows = role.kind == "split" and index - 1 in role.partners
        if unit is not None and is_extra(bar) and follows:
            unit.bars.append(index)
            unit.length += length
            continue
        if unit is not None:
            yield unit
        number = whole_number(bar.number)
        jump = 0 if number is None or last is None else max(number - last - 1, 0)
        unit = _Unit([index], length, jump, role.kind == "split", follows)
        last = number
    if unit is not None:
        yield unit


def _steps(units: Sequence[_Unit], plan: MetrePattern) -> list[_Way]:
    """The steps of the cheapest way, in order."""
    fronts: list[dict[int, _Way]] = [{} for _ in range(len(units) + 1)]
    fronts[0][0] = _Way(0, "", 0, 0, None)

    def offer(own: int, at: int, way: _Way) -> None:
        known = fronts[own].get(at)
        # Of two ways that cost the same the one that strays later is taken.
        if known is None or way.cost < known.cost + (way.step != "match"):
            fronts[own][at] = way

    for own, front in enumerate(fronts):
        if own == len(units):
            break  # the plan goes round and has no end
        _leave_out(front, units[own].jump)
        for at in sorted(front, key=lambda each: front[each].cost)[:_MOST_WAYS]:
            way = front[at]
            unit, length = units[own], plan.metre_of(at).length
            cost = way.cost + (unit.length != length) * _OTHER_LENGTH
            offer(own + 1, at + 1, _Way(cost, "match", 1, at, way))
            offer(own + 1, at, _Way(way.cost + _PUT_IN, "surplus", 1, at, way))
            after = units[own + 1] if own + 1 < len(units) else None
            if after is not None and unit.split and after.halves:
                cost = way.cost + (unit.length + after.length != length) * _OTHER_LENGTH
                offer(own + 2, at + 1, _Way(cost, "match", 2, at, way))
    best = min(fronts[-1].values(), key=lambda each: each.cost)
    steps: list[_Way] = []
    while best.before is not None:
        steps.append(best)
        best = best.before
    return steps[::-1]


def _leave_out(front: dict[int, _Way], jump: int) -> None:
    """From every place of the plan reached so far on to those behind it, bars being left out."""
    for at in sorted(front):
        way = front[at]
        if way.step == "missing":
            continue
        for count in range(_MOST_MISSING):
            cost = _JUMPED_OVER if count < jump else _LEFT_OUT
            way, at = _Way(way.cost + cost, "missing", 0, at, way), at + 1
            known = front.get(at)
            if known is not None and known.cost < way.cost:
                break
            front[at] = way
