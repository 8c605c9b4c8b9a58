"""Ties once other notes follow one another: those that still lead somewhere, and no others.

Conventions
-----------
Ties inside an event are not concerned: it is one note. These are ties of single chord members, ties
from voice to voice, and those between the halves of a note that was cut.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from gmpy2 import mpq

from rhythm.rebar.passage import Passage, PlacedEvent, VoiceLine
from rhythm.score.model import Event, Note, Pitch
from rhythm.score.ties import are_one, joined

__all__ = ["retied", "turned_ties"]

_End = tuple[int, mpq, str, Pitch | None]


def turned_ties(event: Event) -> Event:
    """The event in a line that runs backwards: what it was tied from it is tied to."""
    if not any(note.tie_in or note.tie_out for note in event.notes):
        return event
    notes = (replace(n, tie_in=n.tie_out, tie_out=n.tie_in) for n in event.notes)
    return event.replace(notes=tuple(notes))


def retied(passage: Passage) -> Passage:
    """The passage without ties that lead nowhere; notes that are tied whole are one.

    A tie leads somewhere where a note of its part and pitch, tied to it, begins as it ends.
    """
    ending: set[_End] = set()
    beginning: set[_End] = set()
    for strand in passage.strands:
        for each in strand.laid:
            for note in each.event.notes if each.sounds else ():
                if note.tie_out:
                    ending.add(_end(strand, each.end, note))
                if note.tie_in:
                    beginning.add(_end(strand, each.onset, note))

    def change(strand: VoiceLine) -> Iterable[PlacedEvent]:
        found: list[PlacedEvent] = []
        for each in strand.laid:
            if each.sounds and any(note.tie_in or note.tie_out for note in each.event.notes):
                each = replace(each, event=_kept(strand, each.event, ending, beginning))
            if found and are_one(found[-1].event, each.event):
                one = joined(found[-1].event, each.event)
                found[-1] = replace(found[-1], event=one.replace(pieces=()))
            else:
                found.append(each)
        return found

    return passage.each(change) if ending or beginning else passage


def _end(strand: VoiceLine, at: mpq, note: Note) -> _End:
    return strand.part, at, note.kind, note.pitch


def _kept(strand: VoiceLine, event: Event, ending: set[_End], beginning: set[_End]) -> Event:
    notes = tuple(
        replace(
            note,
            tie_in=note.tie_in and _end(strand, event.onset, note) in ending,
            tie_out=note.tie_out and _end(strand, event.end, note) in beginning,
        )
        for note in event.notes
    )
    return event if notes == event.notes else event.replace(notes=notes)
