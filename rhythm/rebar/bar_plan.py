"""Plans of bars: where the bar lines fall when music is laid onto new ones.

A plan is made before any event moves: from a metre or a cycle of metres (:func:`plan_bars`), or
from the bars the music had, when their music was stretched (:func:`replanned`). A bar line that
must stay on its music, as a repeat does, is a *break*: a bar that it falls into is split there
into an implicit pair.

Conventions
-----------
Lengths and positions are in whole notes, positions from the start of the plan. ``shift`` is where
in its metre a bar's content begins, as in the model: an upbeat of 1/4 in 4/4 has shift 3/4.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Callable, Iterable, Sequence
from dataclasses import field, replace
from itertools import repeat

from gmpy2 import mpq

from rhythm.exact.frozen import dataclass
from rhythm.exact.metre import Metre
from rhythm.exact.metre_of_length import simplest_metre
from rhythm.score.model import Bar

__all__ = [
    "BarPlan",
    "Region",
    "closing_length",
    "plan_bars",
    "plan_length",
    "plan_of",
    "regions",
    "replanned",
    "starts",
    "upbeat_bars",
]


@dataclass(frozen=True, slots=True)
class BarPlan:
    """One bar to be: its length, metre and place in the metre.

    ``metre`` None stands for "the metre is not known". ``tail`` marks the second part of a bar
    that a break split.
    """

    length: mpq
    metre: Metre | None
    shift: mpq = field(default_factory=mpq)
    tail: bool = False

    @property
    def full(self) -> mpq:
        """The metre's length; the bar's own where there is no metre to measure by."""
        return self.metre.length if self.metre is not None and self.metre.length else self.length

    @property
    def is_upbeat(self) -> bool:
        """The end of a bar, and not one that a break split."""
        return self.shift > 0 and not self.tail and self.shift + self.length == self.full


@dataclass(slots=True)
class Region:
    """A run of bars in one metre, told as ``length`` from ``shift`` on in that metre.

    ``free`` regions (no metre, or one bar longer than its metre) stay one bar. ``whole`` says
    that the last bar was complete.
    """

    metre: Metre | None
    shift: mpq
    length: mpq
    free: bool
    whole: bool = True


def plan_of(bars: Sequence[Bar]) -> tuple[BarPlan, ...]:
    """The plan that these bars already follow."""
    plan: list[BarPlan] = []
    for bar in bars:
        tail = bool(plan) and bar.shift > 0 and plan[-1].shift + plan[-1].length == bar.shift
        plan.append(BarPlan(bar.length, bar.metre, bar.shift, tail))
    return tuple(plan)


def plan_length(plan: Iterable[BarPlan]) -> mpq:
    """The length of all bars together."""
    return sum((bar.length for bar in plan), mpq(0))


def starts(plan: Iterable[BarPlan]) -> list[mpq]:
    """Where each bar starts."""
    found: list[mpq] = []
    at = mpq(0)
    for bar in plan:
        found.append(at)
        at += bar.length
    return found


def plan_bars(
    length: mpq,
    metres: Iterable[Metre],
    *,
    shift: mpq | None = None,
    breaks: Iterable[mpq] = (),
    last: str = "fill",
) -> tuple[BarPlan, ...]:
    """Bars of ``metres`` in turn, over at least ``length``, the first one beginning at ``shift``.

    ``metres`` must not run out: give an endless iterator for a cycle.

    ``last`` says what becomes of a last bar that the length does not fill: it is completed
    (``fill``), left short (``short``), or given a metre of its own (``metre``). A bar that
    ``breaks`` fall into is split there.
    """
    plan: list[BarPlan] = []
    at = mpq(0)
    turn = iter(metres)
    inside = shift or mpq(0)
    cuts = sorted(set(breaks))
    while at < length:
        metre = next(turn)
        inside %= metre.length
        end = at + metre.length - inside
        if end > length and last != "fill":
            end = length
            if last == "metre" and not inside:
                metre = simplest_metre(end - at) or metre
        tail = False
        for cut in cuts[bisect_right(cuts, at) : bisect_left(cuts, end)]:
            plan.append(BarPlan(cut - at, metre, inside, tail))
            inside += cut - at
            at = cut
            tail = True
        plan.append(BarPlan(end - at, metre, inside, tail))
        at = end
        inside = mpq(0)
    return tuple(plan)


def regions(plan: Sequence[BarPlan]) -> list[Region]:
    """The runs of bars in one metre, split and short bars taken together where they make wholes."""
    found: list[Region] = []
    phase = mpq(0)
    for bar in plan:
        free = bar.metre is None or not bar.metre.length or bar.length > bar.metre.length
        before = found[-1] if found else None
        if (
            before is not None
            and not free
            and not before.free
            and before.metre == bar.metre
            and bar.shift == phase
        ):
            before.length += bar.length
        else:
            found.append(Region(bar.metre, bar.shift, bar.length, free))
        phase = (bar.shift + bar.length) % bar.full if bar.full else mpq(0)
        found[-1].whole = not phase or free
    return found


def replanned(
    plan: Sequence[BarPlan],
    image: Callable[[mpq], mpq],
    *,
    breaks: Iterable[mpq] = (),
    whole: bool = True,
    music: mpq | None = None,
) -> tuple[BarPlan, ...]:
    """New bars in the old metres, for music whose every position moved to ``image`` of it.

    Each run of bars in one metre is poured into as many bars of it as its image needs; an upbeat
    keeps its place as the end of a bar. What is left of a run that was whole becomes a bar with a
    metre of its own; at the very end it is filled up, unless it completes the upbeat of ``whole``
    music. The last run has no bar behind ``music``, the new place where silence begins that may
    have been filled in. Where no bar line moved the bars are the old ones.
    """
    edges = [*starts(plan), plan_length(plan)]
    if all(image(at) == at for at in edges):
        return tuple(plan)
    made: list[BarPlan] = []
    cuts = sorted(set(breaks))
    runs = regions(plan)
    old = opening = mpq(0)
    for i, run in enumerate(runs):
        start, end = image(old), image(old + run.length)
        old += run.length
        if run.free or run.metre is None:
            made.append(BarPlan(end - start, run.metre))
            continue
        full = run.metre.length
        shift = mpq(0)
        if run.shift:
            upbeat = image(old - run.length + (full - run.shift)) - start
            shift = (full - upbeat % full) % full
        if shift and not i:
            opening = full - shift
        closes = i == len(runs) - 1
        heard = end if music is None or not closes else min(end, music)
        inner = [cut - start for cut in cuts if start < cut < end]
        last = "metre" if run.whole and not closes else "short"
        bars = plan_bars(heard - start, repeat(run.metre), shift=shift, breaks=inner, last=last)
        made.extend(bars)
        if closes:
            upbeat = opening if whole and runs[0].metre == run.metre else mpq(0)
            made[-1] = replace(made[-1], length=closing_length(made, upbeat, heard, end))
    return tuple(made)


def closing_length(plan: Sequence[BarPlan], upbeat: mpq, silence: mpq, end: mpq) -> mpq:
    """How long the last bar of a plan should be: full, or what completes an ``upbeat``.

    It completes the upbeat (0 for none) where the music, which is silent from ``silence`` on and
    ends at ``end``, ends between the two.
    """
    last = plan[-1]
    full = last.full - last.shift
    complement = full - upbeat
    if upbeat and complement > 0 and silence <= plan_length(plan[:-1]) + complement <= end:
        return complement
    return full


def upbeat_bars(upbeat: mpq, first: BarPlan) -> list[BarPlan]:
    """Bars that end with an upbeat of this length before ``first``, in its metre."""
    full = first.full
    made: list[BarPlan] = []
    while upbeat > 0:
        length = upbeat % full or full
        made.append(BarPlan(length, first.metre, full - length))
        upbeat -= length
    return made
