"""Making music fit for brackets: padded to whole ones, and none across a bar line.

Conventions
-----------
``bracket`` is the length of one bracket: before squeezing N units, after it M. Brackets are counted
from the start of the passage.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable
from dataclasses import replace
from itertools import pairwise

from gmpy2 import mpq

from rhythm.exact.errors import MusicError, Place
from rhythm.exact.values import format_value, name_value
from rhythm.score.model import Tuplet
from rhythm.transform.barplan import BarPlan, plan_length, starts, upbeat_bars
from rhythm.transform.passage import Laid, Passage, Strand, rest

__all__ = ["bracketed", "lengthened", "refuse_crossing", "with_rest_before", "with_whole_brackets"]


def bracketed(strand: Strand, actual: int, normal: int, step: mpq) -> Iterable[Laid]:
    """The events, each with the bracket it lies in: spelling takes it where it can be written."""
    length = normal * step
    sounding = {each.onset // length for each in strand.laid if each.sounds}
    sounding |= {each.end // length for each in strand.laid if each.sounds and each.end % length}
    for each in _rests_cut(strand.laid, length):
        turn = each.onset // length
        crosses = not each.duration or each.end > (turn + 1) * length
        if crosses or turn not in sounding or len(each.event.pieces) > 1:
            yield each
            continue
        own = each.event.pieces[0].tuplets if each.event.pieces else ()
        yield each.in_tuplets((Tuplet(actual, normal, step, turn * length, length), *own))


def _rests_cut(laid: Iterable[Laid], bracket: mpq) -> Iterable[Laid]:
    """The events, rests that begin or end inside a bracket cut where it begins or ends."""
    for each in laid:
        edges = sorted({each.onset + -each.onset % bracket, each.end - each.end % bracket})
        cuts = [at for at in edges if each.onset < at < each.end]
        if not each.event.is_rest or not cuts or not each.event.notes:
            yield each
            continue
        yield each.at(each.onset, cuts[0] - each.onset)
        for start, end in pairwise([*cuts, each.end]):
            yield Laid(rest(start, end - start, each.event.notes[0].staff))


def with_rest_before(passage: Passage, length: mpq) -> Passage:
    """The passage with its upbeat longer by a rest."""
    first = passage.bars[0]
    late = passage.warped(lambda at: at + length, passage.bars)
    upbeat = upbeat_bars(first.length + length, first)

    def change(strand: Strand) -> Iterable[Laid]:
        if strand.laid and strand.laid[0].onset == length and strand.laid[0].event.notes:
            yield Laid(rest(mpq(0), length, strand.laid[0].event.notes[0].staff))
        yield from strand.laid

    return replace(late.each(change), bars=(*upbeat, *passage.bars[1:]))


def with_whole_brackets(passage: Passage, bracket: mpq) -> Passage:
    """The passage with rests where a voice enters or leaves inside a bracket; its bars stay."""

    def change(strand: Strand) -> Iterable[Laid]:
        end = mpq(0)
        for each in sorted(strand.laid, key=lambda each: each.onset):
            yield from _rests_between(end, each.onset, bracket, each)
            yield each
            if each.end > end:
                end, last = each.end, each
        if end:
            yield from _rests_between(end, end + -end % bracket, bracket, last)

    return passage.each(change)


def _rests_between(start: mpq, end: mpq, bracket: mpq, near: Laid) -> Iterable[Laid]:
    """Rests from ``start`` to the end of its bracket and from that of ``end`` on, not between."""
    if start >= end or not near.event.notes:
        return
    staff = near.event.notes[0].staff
    close, open_ = start + -start % bracket, end - end % bracket
    if close > open_:
        yield Laid(rest(start, end - start, staff))
        return
    if close > start:
        yield Laid(rest(start, close - start, staff))
    if end > open_:
        yield Laid(rest(open_, end - open_, staff))


def refuse_crossing(passage: Passage, bracket: mpq) -> None:
    """Refuse where a bar line falls into a bracket that holds more than one held note."""
    lines = [
        (bar, start)
        for bar, start in zip(passage.bars, starts(passage.bars), strict=True)
        if start % bracket
    ]
    for strand in passage.strands if lines else ():
        edges = sorted({*(each.onset for each in strand.laid), strand.end})
        for bar, start in lines:
            low = start // bracket * bracket
            at = bisect_right(edges, low)
            if at < len(edges) and edges[at] < low + bracket:
                raise MusicError(
                    f"a bracket lasts {name_value(bracket)}, and a bar line of {bar.metre} falls "
                    f"{format_value(start - low)} into one",
                    place=Place(part=passage.score.parts[strand.part].name),
                    legal="take a unit or ratio whose brackets fill the bars, or whole bars first",
                )


def lengthened(passage: Passage, end: mpq) -> Passage:
    """The passage with more bars in its last metre, until they reach ``end``."""
    plan = list(passage.bars)
    while plan_length(plan) < end:
        last = plan[-1]
        if last.length < last.full - last.shift:
            plan[-1] = replace(last, length=last.full - last.shift)
        else:
            plan.append(BarPlan(last.full, last.metre))
    return replace(passage, bars=tuple(plan))
