"""Tied notes that meet again once the bars between them are right become one event."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from rhythm.score.model import Event, Note

__all__ = ["join_tied"]


def join_tied(events: Iterable[Event]) -> tuple[Event, ...]:
    """The events of a voice with those joined that are tied in full and follow at once."""
    joined: list[Event] = []
    for event in events:
        if joined and _continues(joined[-1], event):
            joined[-1] = _one(joined[-1], event)
        else:
            joined.append(event)
    return tuple(joined)


def _continues(last: Event, event: Event) -> bool:
    if last.end != event.onset or event.is_rest or last.is_rest or not last.pieces:
        return False
    if last.after or event.graces or not event.pieces or len(last.notes) != len(event.notes):
        return False
    if last.hidden != event.hidden or last.cue != event.cue:
        return False
    if not all(note.tie_out for note in last.notes) or not all(n.tie_in for n in event.notes):
        return False
    sounds = {_sound(note) for note in event.notes}
    return len(sounds) == len(event.notes) and sounds == {_sound(note) for note in last.notes}


def _sound(note: Note) -> tuple[object, ...]:
    return note.kind, note.pitch, note.staff


def _one(last: Event, event: Event) -> Event:
    partners = {_sound(note): note for note in event.notes}
    return last.replace(
        duration=last.duration + event.duration,
        pieces=last.pieces + event.pieces,
        after=event.after,
        additions=last.additions
        + tuple(replace(each, delay=each.delay + last.duration) for each in event.additions),
        notes=tuple(
            Note(
                note.kind,
                note.pitch,
                note.staff,
                note.sources + partners[_sound(note)].sources,
                note.tie_in,
                partners[_sound(note)].tie_out,
            )
            for note in last.notes
        ),
    )
