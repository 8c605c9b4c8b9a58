"""Devices that change which value follows which: retrograde, palindrome, rotation, permutation.

All go voice by voice and section by section: repeat signs, endings and double bars stay, and what
stands between them is reordered in itself; a note held across one is cut there. Keys and clefs stay
where they are; other marks go with the event they stood at.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Sequence
from dataclasses import replace

from gmpy2 import mpq

from rhythm.devices.patterns import permuted, rotated
from rhythm.devices.value_lines import (
    NOTE,
    Value,
    bare,
    notes_of,
    poured,
    values_of,
)
from rhythm.exact.errors import RequestError
from rhythm.exact.metre_of_length import simplest_metre
from rhythm.rebar.bar_plan import BarPlan, plan_length, starts
from rhythm.rebar.passage import Passage, PlacedEvent, VoiceLine, after
from rhythm.rebar.reordered_ties import retied, turned_ties
from rhythm.rebar.sections import cut_at_breaks
from rhythm.score.model import Event
from rhythm.score.sources import backwards

__all__ = ["palindrome", "permutation", "retrograde", "rotation"]

_TURNED = {"": "", "start": "stop", "stop": "start"}

Reorder = Callable[[list[Value]], tuple[Sequence[Value], Sequence[Value]]]


def retrograde(passage: Passage, what: str = "both") -> Passage:
    """The values backwards (``rhythm``), the notes backwards (``pitch``), or ``both``.

    Arithmetic: a value from a to b in a section of length n comes from n-b to n-a; under
    ``rhythm`` the notes keep their order, under ``pitch`` the values do. Applied twice it is the
    identity, but that notes held across a repeat or double bar are struck again there. Source:
    common practice (cancrizans); Messiaen, Technique. Example: 1/4 1/8 1/8 1/2 on C D E F is, in
    rhythm, 1/2 1/8 1/8 1/4 on C D E F; in pitch, 1/4 1/8 1/8 1/2 on F E D C. Slurs and ties run the
    other way where the notes do; hairpins whose ends change places are left out.
    """
    if what not in ("rhythm", "pitch", "both"):
        raise RequestError(f"retrograde takes no {what!r}", legal="write rhythm, pitch or both")

    def reorder(values: list[Value]) -> tuple[Sequence[Value], Sequence[Value]]:
        notes = notes_of(values)
        return (
            values if what == "pitch" else _backwards(values),
            notes if what == "rhythm" else notes[::-1],
        )

    result = _reordered(passage, reorder, turned=what != "rhythm")
    if what == "pitch":
        return result
    edges = [mpq(0), *passage.breaks, passage.length]
    # Where bars stand before or after, a part of a bar has its other part there: it stays.
    fixed = not passage.is_whole and any(bar.length != bar.full for bar in passage.bars)
    return replace(
        result,
        bars=passage.bars if fixed else _mirrored_bars(passage, edges),
        time=after(passage.time, _mirror(edges)),
    )


def _turned(each: PlacedEvent) -> PlacedEvent:
    """The event as it stands in reversed order; twice is as it was."""
    if not each.sounds:
        return each
    event = turned_ties(each.event)
    notes = tuple(replace(note, sources=backwards(note.sources)) for note in event.notes)
    pieces = tuple(replace(piece, tremolo=_TURNED[piece.tremolo]) for piece in event.pieces)
    return replace(each, event=event.replace(notes=notes, pieces=pieces))


def _backwards(values: Sequence[Value]) -> list[Value]:
    """The values backwards; a bare grace group stays before what it stood before."""
    return [value for value in reversed(values) if value.duration or value.before]


def palindrome(passage: Passage) -> Passage:
    """The passage followed by its own retrograde: a rhythm that reads the same both ways.

    Arithmetic: v1 ... vm becomes v1 ... vm vm ... v1. Source: Messiaen, Technique
    (non-retrogradable rhythms), whose 1/8 1/4 3/8 1/4 1/8 shares its middle value. Example:
    1/4 1/8 1/8 becomes 1/4 1/8 1/8 1/8 1/8 1/4. The second half is notes alone: lyrics and marks
    stay with the first.
    """
    length = passage.length
    theme = passage.each(lambda strand: [_up_to(each, length) for each in strand.laid])
    mirror = retied(
        theme.each(
            lambda strand: [
                PlacedEvent(_mirrored(each.event, length))
                for each in reversed(strand.laid)
                if each.duration
            ]
        )
    )
    strands = tuple(
        strand.with_laid((*strand.laid, *again.laid))
        for strand, again in zip(theme.strands, mirror.strands, strict=True)
    )
    mirror_bars = _unsplit(_mirrored_bars(passage, [mpq(0), length]))
    doubled = _joined(_with_axis(passage.bars, mirror_bars))
    if not passage.closes_score and doubled[-1].shift + doubled[-1].length < doubled[-1].full:
        # The mirror of an upbeat, with music behind it: rests fill its bar.
        doubled = (*doubled[:-1], replace(doubled[-1], length=doubled[-1].full - doubled[-1].shift))
    frame = _to_the_end(length, plan_length(doubled))
    return replace(passage, strands=strands, bars=doubled, frame=after(passage.frame, frame))


def _up_to(each: PlacedEvent, axis: mpq) -> PlacedEvent:
    """The event without ties across the axis, where its mirror comes next."""
    if each.end < axis or not any(note.tie_out for note in each.event.notes):
        return each
    notes = tuple(replace(note, tie_out=False) for note in each.event.notes)
    return replace(each, event=each.event.replace(notes=notes))


def _mirrored(event: Event, axis: mpq) -> Event:
    notes = tuple(
        replace(again, tie_in=note.tie_out, tie_out=note.tie_in)
        for note, again in zip(event.notes, bare(event).notes, strict=True)
    )
    return bare(event).replace(notes=notes, onset=2 * axis - event.end)


def _with_axis(bars: Sequence[BarPlan], mirror: Sequence[BarPlan]) -> list[BarPlan]:
    """Both halves; a short last bar makes one bar with its mirror, in a metre of its own."""
    last = bars[-1]
    if last.length == last.full:
        return [*bars, *mirror]
    axis = BarPlan(2 * last.length, simplest_metre(2 * last.length))
    return [*bars[:-1], axis, *mirror[1:]]


def _to_the_end(length: mpq, end: mpq) -> Callable[[mpq], mpq]:
    return lambda at: end if at == length else at


def rotation(passage: Passage, steps: int = 1) -> Passage:
    """The values turned left by ``steps`` notes against the notes, which keep their order.

    Arithmetic: note i takes value i+k, cyclically; rests go with the value before them. Undone
    by turning right as far. Source: common practice of serial music. Example:
    1/4 1/8 1/8 1/2 turned by 1 is 1/8 1/8 1/2 1/4.
    """

    def reorder(values: list[Value]) -> tuple[Sequence[Value], Sequence[Value]]:
        heads = [i for i, value in enumerate(values) if value.kind == NOTE]
        if not heads:
            return values, ()
        lead, rest = values[: heads[0]], values[heads[0] :]
        cells = [
            rest[at - heads[0] : ([*heads, len(values)])[i + 1] - heads[0]]
            for i, at in enumerate(heads)
        ]
        turned = rotated(cells, steps)
        return [*lead, *(value for cell in turned for value in cell)], notes_of(values)

    return _reordered(passage, reorder)


def permutation(passage: Passage, order: Sequence[int]) -> Passage:
    """The values of every ``len(order)`` notes in that order; notes keep theirs, rests stay.

    Arithmetic: note i of a group takes the group's value order[i]; what does not fill a group
    stays. Undone by the inverse order. Source: Messiaen (interversions, from memory). Example:
    order 3 1 2 turns 1/4 1/8 1/16 into 1/16 1/4 1/8.
    """
    permuted(order, order)  # refuses what is no permutation

    def reorder(values: list[Value]) -> tuple[Sequence[Value], Sequence[Value]]:
        notes = notes_of(values)
        durations = iter(permuted([note.duration for note in notes], order))
        return (
            [
                replace(value, duration=next(durations)) if value.kind == NOTE else value
                for value in values
            ],
            notes,
        )

    return _reordered(passage, reorder)


def _reordered(passage: Passage, reorder: Reorder, *, turned: bool = False) -> Passage:
    """Each section in another order; ``turned`` says that its notes run backwards."""
    edges = [mpq(0), *passage.breaks, passage.length]

    def change(strand: VoiceLine) -> list[PlacedEvent]:
        found: list[PlacedEvent] = []
        for start, end in itertools.pairwise(edges):
            values, notes = reorder(values_of(strand.laid, start, end))
            found.extend(poured(values, notes, start))
        return [_turned(each) for each in found] if turned else found

    reordered = retied(cut_at_breaks(passage).each(change))
    return replace(reordered, loose=passage.loose or turned)


def _mirror(edges: Sequence[mpq]) -> Callable[[mpq], mpq]:
    def image(at: mpq) -> mpq:
        for start, end in itertools.pairwise(edges):
            if start <= at <= end:
                return start + end - at
        return at

    return image


def _mirrored_bars(passage: Passage, edges: Sequence[mpq]) -> tuple[BarPlan, ...]:
    made: list[BarPlan] = []
    begins = starts(passage.bars)
    for start, end in itertools.pairwise(edges):
        inside = [
            bar
            for bar, at in zip(passage.bars, begins, strict=True)
            if start <= at and at + bar.length <= end
        ]
        made.extend(
            replace(bar, shift=max(mpq(0), bar.full - bar.shift - bar.length))
            if bar.length != bar.full and len(inside) > 1  # an upbeat alone stays one
            else bar
            for bar in reversed(inside)
        )
    return _joined(made)


def _unsplit(bars: Sequence[BarPlan]) -> tuple[BarPlan, ...]:
    """The bars with split ones whole again: the repeats that split them have no mirror."""
    made: list[BarPlan] = []
    for bar in bars:
        if bar.tail:
            made[-1] = replace(made[-1], length=made[-1].length + bar.length)
        else:
            made.append(bar)
    return tuple(made)


def _joined(bars: Sequence[BarPlan]) -> tuple[BarPlan, ...]:
    """The bars, told anew which of them are the second parts of split bars."""
    made: list[BarPlan] = []
    for bar in bars:
        before = made[-1] if made else None
        tail = before is not None and bar.shift > 0 and before.shift + before.length == bar.shift
        made.append(replace(bar, tail=tail))
    return tuple(made)
