"""Rebarring: every note keeps its duration, the bar lines are drawn elsewhere.

Conventions
-----------
Times are whole notes. The music is one stream from the first note to the last: an upbeat stays an
upbeat of its own length, then the bars of the pattern follow in turn. Repeats, endings and double
bars stay on their music; a bar that one falls into becomes an implicit pair.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import chain, cycle

from gmpy2 import mpq

from rhythm.exact.errors import MusicError, Place, RequestError
from rhythm.exact.metre import Metre
from rhythm.exact.pattern import MetrePattern
from rhythm.exact.values import format_value
from rhythm.score.model import Score
from rhythm.score.passages import passage_named
from rhythm.transform.barplan import BarPlan, plan_bars, plan_length, starts
from rhythm.transform.lifting import lift
from rhythm.transform.passage import Laid, Passage, Strand
from rhythm.transform.relay import settle

__all__ = ["Rebarred", "lift_bars", "pattern_of", "rebar", "rebarred"]


@dataclass(frozen=True, slots=True)
class Rebarred:
    """A rebarred score, the silence that fills its last bar, and the bars that repeats split."""

    score: Score
    filled: mpq
    split: tuple[str, ...] = ()


def rebar(
    score: Score,
    to: str | Metre | MetrePattern,
    *,
    fill: bool = True,
    strict: bool = False,
    bars: str | None = None,
) -> Score:
    """The score on new bar lines: durations kept, ties made and merged where lines fall anew.

    ``to`` is a metre or a cycle of metres, as in ``7/8 7/8 5/8``. ``fill`` completes a last bar
    that the music does not fill with rests (a last bar that completes the upbeat is left); without
    it the bar stays short. ``strict`` refuses to split a bar at a repeat. ``bars`` (``5-8``)
    limits it to a passage; the metre is restored after it.

    Raises RequestError for a pattern that is none, MusicError where ``strict`` refuses.
    """
    return rebarred(score, to, fill=fill, strict=strict, bars=bars).score


def rebarred(
    score: Score,
    to: str | Metre | MetrePattern,
    *,
    fill: bool = True,
    strict: bool = False,
    bars: str | None = None,
) -> Rebarred:
    """As :func:`rebar`, with what was filled and split."""
    pattern = pattern_of(to)
    passage = lift_bars(score, bars)
    if not passage.bars:
        return Rebarred(score, mpq(0))
    music = passage.length
    poured = pour(passage, pattern, fill=fill)
    if strict:
        _refuse_splits(poured)
    result = settle(poured.filled())
    split = tuple(
        result.bars[poured.first + i].number for i, bar in enumerate(poured.bars) if bar.tail
    )
    return Rebarred(result, max(mpq(0), poured.length - music), split)


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


def lift_bars(score: Score, bars: str | None) -> Passage:
    """The passage that ``bars`` names; it must be one run of bars. None is the whole score."""
    if bars is None or not score.bars:
        return lift(score)
    return lift(score, *passage_named(score.bars, bars))


def pour(passage: Passage, pattern: MetrePattern, *, fill: bool = True) -> Passage:
    """The passage on bars of ``pattern``; nothing in it moves.

    An upbeat is kept. With ``fill`` the last bar is completed, unless it completes the upbeat. A
    last bar that would be short and hold nothing (what an earlier rebarring filled) is left out.
    """
    opening = pattern.metres[0]
    upbeat = passage.bars[0].length if passage.bars[0].is_upbeat else mpq(0)
    shift = (opening.length - upbeat % opening.length) % opening.length
    metres = chain((opening,) if shift else (), cycle(pattern.metres))
    plan = plan_bars(passage.length, metres, shift=shift, breaks=passage.breaks, last="short")
    if len(plan) > 1 and _says_nothing(passage, plan):
        return replace(_without_silence(passage, plan_length(plan[:-1])), bars=plan[:-1])
    last = plan[-1]
    missing = last.full - last.shift - last.length
    completes = shift and plan[0].length + last.shift + last.length == last.full
    as_before = (last.length, last.metre, last.shift) == _shape(passage.bars[-1])
    if fill and missing and not (completes if passage.is_whole else as_before):
        plan = (*plan[:-1], replace(last, length=last.length + missing))
    return replace(passage, bars=plan)


def _shape(bar: BarPlan) -> tuple[mpq, Metre | None, mpq]:
    return bar.length, bar.metre, bar.shift


def _says_nothing(passage: Passage, plan: Sequence[BarPlan]) -> bool:
    """Whether the last bar is short and holds rests alone, and no mark stands in it."""
    last = plan[-1]
    start = plan_length(plan[:-1])
    if not last.full - last.shift - last.length or last.tail:
        return False
    for strand in passage.strands:
        for each in strand.laid:
            event = each.event
            bare = event.is_rest and event.visible and not (event.graces or event.after)
            if each.end > start and (not bare or not each.duration):
                return False
    base = passage.score.bars[passage.first].start
    return not any(
        mark.onset - base >= start and mark.kind != "barline"
        for part in passage.score.parts
        for mark in part.marks
        if mark.bar <= passage.last
    )


def _without_silence(passage: Passage, end: mpq) -> Passage:
    """The passage with its rests cut off at ``end``."""

    def change(strand: Strand) -> Iterator[Laid]:
        for each in strand.laid:
            if each.end <= end:
                yield each
            elif each.onset < end:
                yield each.at(each.onset, end - each.onset)

    return passage.each(change)


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
