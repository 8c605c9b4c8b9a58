"""Displacement: the notes move, the bar lines stay.

Conventions
-----------
Times are whole notes. Here positions are counted from the downbeat (the start of the first bar that
is no upbeat), which stays where it is while the upbeat before it grows, shrinks or goes.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from gmpy2 import mpq

from rhythm.exact.errors import MusicError
from rhythm.rebar.bar_plan import BarPlan, plan_length, starts, upbeat_bars
from rhythm.rebar.origins import Displaced
from rhythm.rebar.passage import Passage, PlacedEvent, VoiceLine, after, rest

__all__ = ["displacement"]


def displacement(passage: Passage, value: mpq) -> Passage:
    """All notes later by ``value`` (earlier where negative) against bar lines that stay.

    Arithmetic: onset' = onset + v. Later, a rest comes before the first note, or the upbeat is so
    much shorter; earlier, that rest is shorter, or an upbeat is made or grows. The last bar is
    short by what the upbeat has, or full. One that its notes leave is left out. Undone by -v, but
    for rests. Source: common practice; on a cycle of n pulses it is onset + k mod n (Toussaint).
    Example: 1/4 x4 by 1/8 is rest 1/8, 1/4 1/4 1/4 1/8 tied to 1/8. Bar lines, repeats, keys and
    clefs stay.

    Raises MusicError where a passage inside a score would begin before its first bar.
    """
    sounding = [each for strand in passage.strands for each in strand.laid if each.sounds]
    if not sounding or not value:
        return passage
    laden = [e for strand in passage.strands for e in strand.laid if e.is_laden_rest]
    heard = [*sounding, *laden]
    origin = _origin(passage)
    total = origin.late + value
    upbeat, body = _parted(origin.before)
    opening = min(each.onset for each in sounding) - origin.downbeat + value
    closing = max(each.end for each in heard) - origin.downbeat + value
    lead = _lead(origin.before[0], upbeat, opening, total)
    downbeat = plan_length(lead)
    if passage.first and downbeat > upbeat:
        raise MusicError(
            "the passage would begin before its first bar", legal="displace it to a later place"
        )
    if total or closing > plan_length(body):
        reach = max(closing, passage.filling - origin.downbeat + value)
        complete = _closes_whole(passage, origin.before)
        if passage.closes_score:
            body = _without_left_bars(body, reach)
        body = _holding(body, closing)
        if complete:
            body[-1] = _completing(lead, body, reach)
    bars = (*lead, *body)
    end = plan_length(bars)
    kept = downbeat - origin.downbeat
    return replace(
        _moved(passage, kept + value, end),
        bars=bars,
        time=after(passage.time, lambda at: min(max(mpq(0), at + kept + value), end)),
        frame=after(passage.frame, lambda at: max(mpq(0), at + kept)),
        breaks=tuple(at + kept for at in passage.breaks if at + kept > 0),
        displaced=Displaced(origin.before, total, downbeat, bars),
    ).filled()


def _origin(passage: Passage) -> Displaced:
    """What the passage's bars were displaced from; themselves, where that is not known."""
    known = passage.displaced
    if known is not None and known.bars == passage.bars:
        return known
    return Displaced(passage.bars, mpq(0), _parted(passage.bars)[0], passage.bars)


def _parted(bars: Sequence[BarPlan]) -> tuple[mpq, list[BarPlan]]:
    """The length of the upbeat, and the bars from the downbeat on."""
    if bars[0].is_upbeat and len(bars) > 1:
        return bars[0].length, list(bars[1:])
    return mpq(0), list(bars)


def _lead(first: BarPlan, upbeat: mpq, opening: mpq, total: mpq) -> list[BarPlan]:
    """The bars before the downbeat: the upbeat with the rests it has, but no silent bar."""
    wanted = max(upbeat - total, -opening) if upbeat else -opening
    bars = upbeat_bars(wanted, first)
    while total and bars and bars[0].length <= wanted + opening:
        wanted -= bars.pop(0).length
    return bars


def _without_left_bars(body: list[BarPlan], end: mpq) -> list[BarPlan]:
    """The bars without the last ones that the music, which goes to ``end`` now, has left."""
    begins = starts(body)
    count = len(body)
    while count > 1 and begins[count - 1] >= end:
        count -= 1
    return body[:count]


def _holding(body: list[BarPlan], end: mpq) -> list[BarPlan]:
    """The bars, the last one completed and others added until they reach ``end``."""
    made = list(body)
    reached = plan_length(made)
    while reached < end:
        last = made[-1]
        full = replace(last, length=max(last.length, last.full - last.shift))
        if full == last:
            made.append(BarPlan(last.full or end - reached, last.metre))
            reached += made[-1].length
        else:
            made[-1] = full
            reached += full.length - last.length
    return made


def _closes_whole(passage: Passage, bars: Sequence[BarPlan]) -> bool:
    """Whether the last bar of a whole score makes a whole bar, with the upbeat if there is one.

    Where a repeat leads from there back to the first downbeat, no upbeat will follow it.
    """
    upbeat, body = _parted(bars)
    last = body[-1]
    same = not upbeat or bars[0].metre == last.metre
    returns = any(
        (line := part.bars[-1].right) is not None and line.repeat
        for part in passage.score.parts
        if part.bars
    )
    whole = upbeat + last.shift + last.length == last.full
    return passage.is_whole and same and whole and not (returns and not upbeat)


def _completing(lead: Sequence[BarPlan], body: Sequence[BarPlan], end: mpq) -> BarPlan:
    """The last bar, so long that it completes the upbeat, or full where that is too short."""
    last = body[-1]
    full = last.full - last.shift
    upbeat = lead[0].length if lead and lead[0].is_upbeat else mpq(0)
    holds = plan_length(body[:-1]) + full - upbeat >= end and upbeat < full
    return replace(last, length=full - upbeat if holds else full)


def _moved(passage: Passage, late: mpq, end: mpq) -> Passage:
    """All events later by ``late``; rests from the start of the bars to their ``end``."""

    def change(strand: VoiceLine) -> Iterator[PlacedEvent]:
        if late > 0 and any(each.onset == 0 and each.duration for each in strand.laid):
            staff = strand.laid[0].event.notes[0].staff if strand.laid[0].event.notes else ""
            yield PlacedEvent(rest(mpq(0), late, staff))
        for each in strand.laid:
            onset, stop = each.onset + late, each.end + late
            if each.event.is_rest and each.duration:
                onset, stop = max(onset, mpq(0)), min(stop, end)
                if onset >= stop:
                    continue
            yield each.at(onset, stop - onset)

    return passage.each(change)
