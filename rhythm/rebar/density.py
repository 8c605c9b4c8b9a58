"""Devices that make more notes or fewer: embellishment by splitting, reduction by merging.

The notes made from one share what it carried as tied pieces of it would: the first keeps its lyric,
its marks, its signs of articulation and the beginnings of slurs, the last has the fermata and the
ends of slurs. Merging drops the notes it absorbs, with what they carried, and says how many; slurs
and fermatas that ended on them end on the note that took them in.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from gmpy2 import mpq

from rhythm.exact.errors import RequestError
from rhythm.exact.values import format_value
from rhythm.rebar.bar_plan import starts
from rhythm.rebar.passage import Passage, PlacedEvent, VoiceLine
from rhythm.rebar.reordered_ties import retied
from rhythm.score.model import Event, Tuplet
from rhythm.score.sources import absorbing, portion

__all__ = ["FINEST", "embellishment", "reduction", "subdivided"]

FINEST = mpq(1, 64)
"""Notes are not split into anything shorter."""


def embellishment(passage: Passage, parts: int = 2) -> Passage:
    """Every note split into ``parts`` equal ones on its pitch.

    Arithmetic: a value d becomes n values d/n; the total is kept. Source: common practice
    (diminution by division, Ortiz 1553, from memory). Example: 1/4 1/8 by 2 is 1/8 1/8 1/16 1/16.
    Notes whose parts would be shorter than 1/64, hidden and cue notes are left.
    """
    if not 2 <= parts <= 13:
        raise RequestError(f"{parts} parts", legal="2 to 13 parts")
    return subdivided(passage, parts, None)


def subdivided(passage: Passage, parts: int, value: mpq | None) -> Passage:
    """Notes of just this ``value`` (any, if None) in ``parts`` equal notes on the same pitch."""

    def change(strand: VoiceLine) -> Iterator[PlacedEvent]:
        for each in strand.laid:
            fits = each.duration == value if value is not None else each.duration >= parts * FINEST
            if each.sounds and each.event.visible and fits:
                yield from _parts(each, parts)
            else:
                yield each

    return passage.each(change)


def _parts(each: PlacedEvent, parts: int) -> Iterator[PlacedEvent]:
    step = each.duration / parts
    tuplets = _tuplets(each, parts)
    for i in range(parts):
        part = _part(each.event, i, parts).replace(onset=each.onset + i * step, duration=step)
        laid = PlacedEvent(part, None if i else each.origin)
        yield laid.in_tuplets(tuplets) if tuplets else laid


def _part(event: Event, i: int, parts: int) -> Event:
    """The event with what its ``i``-th part carries of it, from 0."""
    last = i == parts - 1
    notes = tuple(
        replace(
            note,
            sources=portion(note.sources, i, parts),
            tie_in=note.tie_in and not i,
            tie_out=note.tie_out and last,
        )
        for note in event.notes
    )
    part = event.replace(notes=notes, after=event.after if last else ())
    return part.replace(pieces=(), graces=(), additions=(), verses=()) if i else part


def _tuplets(each: PlacedEvent, parts: int) -> tuple[Tuplet, ...]:
    """The tuplets that the parts of a note in one symbol stand in: its own, and theirs."""
    if len(each.event.pieces) != 1:
        return ()
    outer = each.event.pieces[0].tuplets
    if parts & (parts - 1) == 0:
        return outer
    normal = 1 << (parts.bit_length() - 1)
    length = each.duration
    return (*outer, Tuplet(parts, normal, length / normal, each.onset, length, len(outer) + 1))


def reduction(passage: Passage, unit: mpq | None = None) -> Passage:
    """Notes that begin off the beat absorbed by the note before them.

    Arithmetic: a note whose onset is no multiple of ``unit`` (without one: no beat) from the bar's
    start is dropped, and the note before it lasts until its end. Notes after a rest stay. Source:
    common practice (reduction to the stronger beat). Example: 1/8 1/8 3/16 1/16 is 1/4 1/4.
    """
    if unit is not None and unit <= 0:
        raise RequestError(f"a unit of {format_value(unit)}", legal="a value above 0, such as 1/4")
    strong: set[mpq] = set()
    for bar, start in zip(passage.bars, starts(passage.bars), strict=True):
        full = bar.metre is not None and bar.metre.length
        if unit is not None:
            at = -(-bar.shift // unit) * unit
            while at < bar.shift + bar.length:
                strong.add(start + at - bar.shift)
                at += unit
        elif full and bar.metre is not None:
            turns = range(int((bar.shift + bar.length) // bar.full) + 1)
            strong.update(
                start + turn * bar.full + node.start - bar.shift
                for turn in turns
                for node in bar.metre.beat_nodes
            )
        strong.add(start)
    dropped = 0

    def change(strand: VoiceLine) -> list[PlacedEvent]:
        nonlocal dropped
        kept: list[PlacedEvent] = []
        for each in strand.laid:
            before = kept[-1] if kept else None
            if (
                before is not None
                and before.sounds
                and each.sounds
                and before.end == each.onset
                and each.onset not in strong
            ):
                kept[-1] = _absorbing(before, each)
                dropped += 1
            else:
                kept.append(each)
        return kept

    result = passage.each(change)
    if not dropped:
        return result
    return replace(retied(result), loose=True).telling(f"{dropped} notes were absorbed")


def _absorbing(before: PlacedEvent, each: PlacedEvent) -> PlacedEvent:
    """The note lasting until the end of the next, which is gone."""
    others = tuple(source for note in each.event.notes for source in note.sources)
    tied = {note.pitch for note in each.event.notes if note.tie_out}
    notes = tuple(
        replace(
            note,
            sources=note.sources if i else absorbing(note.sources, others),
            tie_out=note.pitch in tied,
        )
        for i, note in enumerate(before.event.notes)
    )
    longer = before.at(before.onset, each.end - before.onset)
    return replace(longer, event=longer.event.replace(notes=notes))
