"""Rebarring: every note keeps its duration, the bar lines are drawn elsewhere.

Conventions
-----------
Times are whole notes. The music is one stream from the first note to the last: an upbeat stays an
upbeat of its own length, then the bars of the pattern follow in turn. Repeats, endings and double
bars stay on their music; a bar that one falls into becomes an implicit pair.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import chain, cycle

from gmpy2 import mpq

from rhythm.exact.errors import MusicError, Place, RequestError
from rhythm.exact.metre import Metre
from rhythm.exact.pattern import MetrePattern
from rhythm.exact.values import format_value
from rhythm.notate.manner import in_manner
from rhythm.rebar.bar_plan import BarPlan, closing_length, plan_bars, plan_length, starts
from rhythm.rebar.passage import Passage, after
from rhythm.rebar.rebuilding import settle
from rhythm.rebar.telling import outcome, redrawn, rest_added, ties_over_bars
from rhythm.rebar.unbarring import lift
from rhythm.score.model import Score
from rhythm.score.outcome import Fact, Outcome, Report, Verb
from rhythm.score.select import Bars, select

__all__ = ["lift_bars", "pattern_of", "pour", "rebar"]


@Verb
def rebar(
    score: Score,
    to: str | Metre | MetrePattern,
    *,
    complete: bool = True,
    strict: bool = False,
    bars: str | Bars | None = None,
    manner: str | Score = "source",
) -> Outcome[Report]:
    """The score on new bar lines: durations kept, ties made and merged where lines fall anew.

    ``to`` is a metre or a cycle of metres, as in ``7/8 7/8 5/8``. ``complete`` completes a last bar
    that the music does not fill with rests (a last bar that completes the upbeat is left); without
    it the bar stays short, but for one that is all there is. ``strict`` refuses to split a bar at a
    repeat. ``bars`` (``5-8``) limits it to a passage; the metre is restored after it. ``manner``
    says how what handbooks leave open is written: as the ``source``'s editor did, as the ``house``
    does, or as the editor of another score.

    The report has ``filled``, the rest that fills the last bar, and ``split``, the bars that a
    repeat falls into. Raises RequestError for a pattern that is none, MusicError where ``strict``
    refuses.
    """
    pattern = pattern_of(to)
    score = in_manner(score, manner)
    passage = lift_bars(score, bars)
    if passage.is_empty:
        return Outcome(score, None, Report(idle="there is no music"))
    poured = pour(passage, pattern, complete=complete)
    if strict:
        _refuse_splits(poured)
    settled = settle(poured.filled())
    split = tuple(
        settled.score.bars[poured.first + i].number for i, bar in enumerate(poured.bars) if bar.tail
    )
    named = ", ".join(number.lstrip("Xx") or number for number in split)
    facts = (
        redrawn(passage, settled),
        ties_over_bars(passage, settled),
        rest_added("filled", max(mpq(0), poured.length - passage.length), "the last bar"),
        Fact("split", split, f"repeats fall inside bars, now in two: {named}" if split else ""),
    )
    return outcome(passage, settled, bars, facts, idle=f"the bars are of {pattern} already")


def pattern_of(to: str | Metre | MetrePattern) -> MetrePattern:
    """A pattern whose every bar has a length. Raises RequestError otherwise."""
    if isinstance(to, Metre):
        to = MetrePattern((to,))
    pattern = MetrePattern.parse(to) if isinstance(to, str) else to
    if any(not metre.length for metre in pattern.metres):
        raise RequestError(
            f"{pattern} has a bar without a length", legal="metres such as 7/8 7/8 5/8"
        )
    return pattern


def lift_bars(score: Score, bars: str | Bars | None) -> Passage:
    """The passage that ``bars`` names; it must be one run of bars. None is the whole score."""
    return lift(score, *select(score, bars=bars).run)


def pour(passage: Passage, pattern: MetrePattern, *, complete: bool = True) -> Passage:
    """The passage on bars of ``pattern``; nothing in it moves.

    An upbeat is kept. With ``complete`` the last bar is filled, unless it completes the upbeat, and
    what an earlier rebarring may have filled is taken off: silence behind the last note of the
    score, in that note's own bar, gets no bar to itself, and is no part of a last bar that
    completes the upbeat without it. A last bar that is silent throughout is no such filling and
    stays. Inside a score only a bar is left out that would be silent and short.
    """
    opening = pattern.metres[0]
    upbeat = passage.bars[0].length if passage.bars[0].is_upbeat else mpq(0)
    shift = (opening.length - upbeat % opening.length) % opening.length
    metres = chain((opening,) if shift else (), cycle(pattern.metres))
    drawn = plan_bars(passage.length, metres, shift=shift, breaks=passage.breaks, last="short")
    if not complete and (len(drawn) > 1 or not passage.is_whole):
        return replace(passage, bars=drawn)
    plan = _without_filling(passage, drawn)
    last = plan[-1]
    as_before = _shape(last) == _shape(passage.bars[-1]) and plan == drawn
    if not (as_before and (not passage.is_whole or last.length == last.full - last.shift)):
        completes = passage.is_whole and len(plan) > 1 and plan[0].is_upbeat
        length = closing_length(
            plan, plan[0].length if completes else mpq(0), passage.filling, passage.length
        )
        plan = (*plan[:-1], replace(last, length=length))
    end = plan_length(plan)
    if end >= passage.length:
        return replace(passage, bars=plan)
    return replace(
        passage.cut_off(end),
        bars=plan,
        time=after(passage.time, lambda at: min(at, end)),
        frame=after(passage.frame, lambda at: min(at, end)),
    )


def _shape(bar: BarPlan) -> tuple[mpq, Metre | None, mpq]:
    return bar.length, bar.metre, bar.shift


def _without_filling(passage: Passage, plan: tuple[BarPlan, ...]) -> tuple[BarPlan, ...]:
    """The plan without last bars that would hold nothing but filling."""
    silence = passage.filling
    count = len(plan)
    for bar, start in zip(reversed(plan), reversed(starts(plan)), strict=True):
        is_short = bar.shift + bar.length < bar.full
        if start < silence or bar.tail or count == 1 or not (passage.closes_score or is_short):
            break
        count -= 1
    return plan[:count]


def _refuse_splits(passage: Passage) -> None:
    old = passage.score.bars[passage.first : passage.last + 1]
    base = old[0].start
    for bar, start in zip(passage.bars, starts(passage.bars), strict=True):
        if bar.tail:
            before = next((b for b in reversed(old) if b.start - base <= start), old[0])
            raise MusicError(
                f"a repeat or double bar falls {format_value(bar.shift)} into a bar of {bar.metre}",
                place=Place(bar=before.number),
                legal="without --strict the bar is split there",
            )
