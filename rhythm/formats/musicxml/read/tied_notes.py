"""From written notes to events: each note, chord or rest one event, those that are tied joined.

What is one note to a reader is decided in :mod:`rhythm.score.ties`, as everywhere. A tie that does
less, or whose other end lacks its mark, stays a link: ``tie_in`` and ``tie_out``.
"""

from __future__ import annotations

from gmpy2 import mpq

from rhythm.formats.musicxml.read.note_reader import Written
from rhythm.score.model import Event, Note, Piece
from rhythm.score.ties import are_one, joined

__all__ = ["VoiceBuilder"]

_LOOK_BACK = 8
"""Where notes of one voice overlap, others stand between a note and the one it is tied to."""


class VoiceBuilder:
    """Collects one voice of a part, note after note."""

    def __init__(self) -> None:
        self.events: list[Event] = []

    def add(self, note: Written, start: mpq) -> None:
        """The next chord head or rest of the voice; ``start`` is where its bar starts."""
        event = _event(note, start + note.offset if note.offset else start)
        events = self.events
        if note.tie_stop:
            for back in range(1, min(len(events), _LOOK_BACK) + 1):
                if are_one(events[-back], event):
                    events[-back] = joined(events[-back], event)
                    return
        events.append(event)

    def finish(self) -> tuple[Event, ...]:
        """The events of the voice."""
        return tuple(self.events)


def _event(note: Written, onset: mpq) -> Event:
    hidden, slurred, verses, members = note.hidden, note.slurred, note.verses, note.members
    if members is not None:
        hidden = hidden and all(member.hidden for member in members)
        slurred = slurred or any(member.slurred for member in members)
        verses = _verses(note)
    return Event(
        onset,
        note.duration,
        note.bar,
        () if note.grace else _notes(note),
        () if note.grace else (_piece(note),),
        () if note.graces is None else tuple(note.graces),
        () if note.after is None else tuple(note.after),
        hidden,
        note.cue,
        (),
        verses,
        slurred,
    )


def _verses(head: Written) -> tuple[str, ...]:
    """The numbers of the verses that have a syllable here, each once."""
    found: dict[str, None] = {}
    for note in (head, *(head.members or ())):
        found.update(dict.fromkeys(note.verses))
    return tuple(found)


def _piece(note: Written) -> Piece:
    return Piece(
        note.bar,
        note.offset,
        note.duration,
        note.type,
        note.dots,
        note.ratio,
        note.tuplets,
        note.beams,
        note.value,
        note.measure_rest,
        note.tremolo,
    )


def _notes(head: Written) -> tuple[Note, ...]:
    if head.members is None:
        return (_note(head, head.laden),)
    return tuple([_note(note, False) for note in (head, *head.members)])


def _note(note: Written, laden: bool) -> Note:
    sources = (note.element,)
    return Note(note.kind, note.pitch, note.staff, sources, note.tie_stop, note.tie_start, laden)
