"""Tied notes: when two are one to a reader, how they are joined, and how one is parted.

The reader joins what a file ties, verbs join what comes together again and part what a bar line or
a passage's edge falls into; all do it here.

Conventions
-----------
Two events are one note where the second begins as the first ends, all members of the chord are tied
to their own pitches (on the same staff; a single note may cross to another), both are shown alike,
and no grace note stands between them. A tie that does less stays a link between events: ``tie_in``
and ``tie_out``.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from gmpy2 import mpq

from rhythm.score.model import Addition, Event, Note, Pitch
from rhythm.score.sources import portion

__all__ = ["are_one", "join_tied", "joined", "parted"]


def are_one(early: Event, late: Event) -> bool:
    """Would a reader take the two for one note?"""
    one, other = early.notes, late.notes
    if early.end != late.onset or len(one) != len(other) or not one:
        return False
    if early.after or late.graces or not early.duration or not late.duration:
        return False
    if early.hidden is not late.hidden or early.cue is not late.cue:
        return False
    if not all(note.tie_out for note in one) or not all(note.tie_in for note in other):
        return False
    if len(one) == 1:
        return one[0].pitch == other[0].pitch and one[0].kind == other[0].kind != "rest"
    sounds = {_sound(note) for note in one}
    return len(sounds) == len(one) and sounds == {_sound(note) for note in other}


def joined(early: Event, late: Event) -> Event:
    """Two events that are one note as one, with everything that either carries.

    What was added to the second stands as long after its own beginning as before. Written pieces
    follow one another where both have some; else it is to be spelled.
    """
    since = late.onset - early.onset
    later = (
        Addition(each.kind, each.text, each.number, each.delay + since) for each in late.additions
    )
    pieces = (*early.pieces, *late.pieces) if early.pieces and late.pieces else ()
    return early.replace(
        duration=late.end - early.onset,
        notes=_joined_notes(early.notes, late.notes),
        pieces=pieces,
        after=late.after,
        additions=(*early.additions, *later) if late.additions else early.additions,
        verses=tuple(dict.fromkeys((*early.verses, *late.verses))),
    )


def _joined_notes(early: tuple[Note, ...], late: tuple[Note, ...]) -> tuple[Note, ...]:
    if len(early) == 1:
        return (_joined_note(early[0], late[0]),)
    partners = {_sound(note): note for note in late}
    return tuple([_joined_note(note, partners[_sound(note)]) for note in early])


def _joined_note(early: Note, late: Note) -> Note:
    sources = (*early.sources, *late.sources)
    return Note(early.kind, early.pitch, early.staff, sources, early.tie_in, late.tie_out)


def _sound(note: Note) -> tuple[str, Pitch | None, str]:
    return note.kind, note.pitch, note.staff


def join_tied(events: Iterable[Event]) -> tuple[Event, ...]:
    """The events of a voice with those joined that are one note."""
    found: list[Event] = []
    for event in events:
        if found and are_one(found[-1], event):
            found[-1] = joined(found[-1], event)
        else:
            found.append(event)
    return tuple(found)


def parted(event: Event, at: mpq, count: int) -> tuple[Event, Event]:
    """The event in two at the moment ``at``, tied; its first ``count`` pieces go to the first.

    Joining the two gives the event again. Where no piece ends there, each half carries its share of
    the sources.
    """
    early, late = event.pieces[:count], event.pieces[count:]
    head_notes, tail_notes = [], []
    for note in event.notes:
        if early and late and len(note.sources) == len(event.pieces):
            first, second = note.sources[:count], note.sources[count:]
        else:
            first, second = (portion(note.sources, i, 2) for i in range(2))
        head_notes.append(replace(note, sources=first, tie_out=True))
        tail_notes.append(replace(note, sources=second, tie_in=True))
    head = event.replace(
        duration=at - event.onset,
        pieces=early,
        after=(),
        additions=event.additions_between(event.onset, at),
        notes=tuple(head_notes),
    )
    tail = event.replace(
        onset=at,
        duration=event.end - at,
        pieces=late,
        graces=(),
        additions=event.additions_between(at, event.end),
        verses=(),
        slurred=False,
        notes=tuple(tail_notes),
    )
    return head, tail
