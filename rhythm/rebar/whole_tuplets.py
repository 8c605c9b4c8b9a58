"""Tuplets that stretched music breaks off: completed with a rest, so that every bracket is whole.

Music made longer by 4/3 or shorter by 3 ends where no plain value reaches. Before a bar line that
must stay (a repeat, a double bar) the bar is made as much longer as completes the beat; where one
voice falls silent, a rest lasts to the end of its beat, and where one comes in, from its start.

Conventions
-----------
Positions are whole notes from the passage's start. A place is *odd* where its distance from the bar
line before it is no multiple of a power of two.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator
from dataclasses import replace

from gmpy2 import mpq

from rhythm.exact.values import is_power_of_two, name_value
from rhythm.rebar.bar_plan import BarPlan, starts
from rhythm.rebar.passage import Passage, PlacedEvent, VoiceLine, rest
from rhythm.rebar.whole_brackets import with_rest_before

__all__ = ["completed"]

_QUARTER = mpq(1, 4)
"""What counts as a beat where there is no metre."""


def completed(passage: Passage) -> Passage:
    """The passage with a rest wherever a voice, or the music before a repeat, breaks a tuplet off.

    The user is told of the time that was let in before repeats and double bars.
    """
    passage = _with_whole_upbeat(passage)
    added = mpq(0)
    done: set[mpq] = set()
    while (found := _odd_break(passage, done)) is not None:
        at, missing = found
        done.add(at + missing)
        if missing:
            passage = passage.opened(at, missing)
            added += missing
    if added:
        passage = passage.telling(
            f"rest added to complete tuplets before repeats and double bars: {name_value(added)}"
        )
    return _rested(_with_whole_close(passage))


def _with_whole_upbeat(passage: Passage) -> Passage:
    """The passage with a rest before an upbeat that no plain value holds, from its beat's start."""
    first = passage.bars[0]
    if not first.is_upbeat or not _is_odd(first.length):
        return passage
    return with_rest_before(passage, -_beat_start(first, mpq(0)))


def _with_whole_close(passage: Passage) -> Passage:
    """The passage with a whole last bar, where it ended in an odd place."""
    last = passage.bars[-1]
    whole = _beat_end(last, last.length) if _is_free(last) else last.full - last.shift
    if not _is_odd(last.length) or last.length >= whole:
        return passage
    return replace(passage, bars=(*passage.bars[:-1], replace(last, length=whole)))


def _odd_break(passage: Passage, done: set[mpq]) -> tuple[mpq, mpq] | None:
    """The first bar line that must stay and falls at an odd place, and what its beat lacks.

    So must every one in music without a metre.
    """
    begins = starts(passage.bars)
    free = begins[1:] if all(map(_is_free, passage.bars)) else ()
    for at in sorted({*passage.breaks, *free}):
        i = bisect_right(begins, at) - 1
        if at in done or not i or begins[i] != at or not _is_odd(at - begins[i - 1]):
            continue
        if any(_holds(strand, at) for strand in passage.strands):
            continue
        return at, _beat_end(passage.bars[i - 1], at - begins[i - 1]) - (at - begins[i - 1])
    return None


def _holds(strand: VoiceLine, at: mpq) -> bool:
    return any(each.onset < at < each.end and each.event.visible for each in strand.laid)


def _is_free(bar: BarPlan) -> bool:
    return bar.metre is None or not bar.metre.length


def _is_odd(length: mpq) -> bool:
    return not is_power_of_two(int(length.denominator))


def _beat_end(bar: BarPlan, at: mpq) -> mpq:
    """Where the beat ends that ``at`` lies in, both from the bar's start."""
    if bar.metre is None or _is_free(bar):
        return at + -at % _QUARTER
    start, length = bar.metre.beat_at((at + bar.shift) % bar.metre.length)
    return at + start + length - (at + bar.shift) % bar.metre.length


def _beat_start(bar: BarPlan, at: mpq) -> mpq:
    """Where the beat starts that ``at`` lies in, from the bar's start; before it in an upbeat."""
    if bar.metre is None or _is_free(bar):
        return at - at % _QUARTER
    start, _ = bar.metre.beat_at((at + bar.shift) % bar.metre.length)
    return at + start - (at + bar.shift) % bar.metre.length


def _rested(passage: Passage) -> Passage:
    """Rests from an odd place where a voice stops to the end of its beat, and before one likewise.

    Hidden and cue notes are left as they are.
    """
    begins = starts(passage.bars)

    def bar_at(at: mpq) -> tuple[BarPlan, mpq]:
        i = max(bisect_right(begins, at) - 1, 0)
        return passage.bars[i], begins[i]

    def around(end: mpq, onset: mpq | None, near: PlacedEvent) -> Iterator[PlacedEvent]:
        """Rests in the silence from ``end`` to ``onset`` (None: no more notes) in odd places."""
        staff = near.event.notes[0].staff if near.event.notes else ""
        bar, start = bar_at(end)
        until = end
        if _is_odd(end - start):
            until = min(start + _beat_end(bar, end - start), start + bar.length)
            until = until if onset is None else min(until, onset)
            if until > end:
                yield PlacedEvent(rest(end, until - end, staff))
        if onset is None:
            return
        bar, start = bar_at(onset)
        if _is_odd(onset - start):
            since = max(start + _beat_start(bar, onset - start), start, until)
            if since < onset:
                yield PlacedEvent(rest(since, onset - since, staff))

    def change(strand: VoiceLine) -> Iterator[PlacedEvent]:
        end: mpq | None = None
        last: PlacedEvent | None = None
        for each in sorted(strand.laid, key=lambda each: each.onset):
            if each.duration and each.event.visible:
                reached = mpq(0) if end is None else end
                if each.onset > reached:
                    yield from around(reached, each.onset, last or each)
                end, last = max(reached, each.end), each
            yield each
        if end is not None and last is not None and end < passage.length:
            yield from around(end, None, last)

    return passage.each(change)
