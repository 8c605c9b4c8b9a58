"""Bars that break off inside a beat, filled with a rest to its end, so that beats can be counted.

Beat by beat, a bar of 7/8 under 4/4 that no later bar takes up would leave every beat behind it
crooked. It is filled as a player would count it, and what was added is said.
"""

from __future__ import annotations

from gmpy2 import mpq

from rhythm.exact.values import format_value
from rhythm.score.model import Bar, Event, Mark, Note, Part, Score, Voice

__all__ = ["with_whole_beats"]


def with_whole_beats(score: Score) -> tuple[Score, tuple[str, ...]]:
    """The score with such bars filled, and a clause for each."""
    missing = {bar.index: gap for bar in score.bars if (gap := _missing(bar, score))}
    if not missing:
        return score, ()
    numbers = {bar.index: bar.number for bar in score.bars}
    said = tuple(
        f"bar {numbers[index]} filled with a rest of {format_value(gap)}: it broke off in a beat"
        for index, gap in missing.items()
    )
    return score.replace(parts=tuple(_filled(part, missing) for part in score.parts)), said


def _missing(bar: Bar, score: Score) -> mpq:
    """What a bar lacks to the end of its last beat; 0 where it is whole or the next goes on."""
    if bar.metre is None or not bar.metre.length or bar.length <= 0:
        return mpq(0)
    end = bar.shift + bar.length
    following = score.bars[bar.index + 1 : bar.index + 2]
    if not following or following[0].shift == end:
        return mpq(0)
    beat = bar.metre.beat_node_at(end)
    return mpq(0) if beat.start == end else beat.end - end


def _filled(part: Part, missing: dict[int, mpq]) -> Part:
    shifts: list[mpq] = []
    bars: list[Bar] = []
    late = mpq(0)
    for bar in part.bars:
        shifts.append(late)
        gap = missing.get(bar.index, mpq(0))
        longer = bar.replace(start=bar.start + late, length=bar.length + gap)
        if gap and bar.filled == bar.length:
            longer = longer.replace(filled=longer.length)
        bars.append(longer)
        late += gap
    return part.replace(
        bars=tuple(bars),
        voices=tuple(_rested(voice, part.bars, shifts, missing) for voice in part.voices),
        marks=tuple(_moved(mark, shifts) for mark in part.marks),
    )


def _moved(mark: Mark, shifts: list[mpq]) -> Mark:
    return mark.replace(onset=mark.onset + shifts[mark.bar])


def _rested(
    voice: Voice, bars: tuple[Bar, ...], shifts: list[mpq], missing: dict[int, mpq]
) -> Voice:
    events: list[Event] = []
    for event in voice.events:
        last = event.pieces[-1].bar if event.pieces else event.bar
        late = sum((gap for i, gap in missing.items() if event.bar <= i < last), mpq(0))
        onset, duration = event.onset + shifts[event.bar], event.duration + late
        events.append(event.replace(onset=onset, duration=duration))
        gap = missing.get(last)
        if gap and event.end == bars[last].end and event.duration and event.visible:
            staff = event.notes[0].staff
            events.append(Event(onset + duration, gap, last, (Note("rest", staff=staff),)))
    return Voice(voice.name, tuple(events))
