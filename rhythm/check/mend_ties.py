"""Mending ties that lead nowhere: the mark is taken off, and its late stop with it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from rhythm.check.editor import Draft
from rhythm.check.remedies import Remedy
from rhythm.check.ties import loose_ties
from rhythm.score.model import Event, Note

__all__ = ["mark_other_end", "take_off"]


def take_off(draft: Draft, remedy: Remedy) -> str:
    """Take off the ties that start at one place of a voice and lead nowhere."""
    which = remedy.part
    changes: dict[int, Event] = {}
    for loose, partner in loose_ties(draft.score.parts[which]):
        if partner is not None or not loose.starts or loose.voice != remedy.voice:
            continue
        event = loose.event
        last = event.pieces[-1] if event.pieces else None
        if last is None or (last.bar, last.offset) != (remedy.bar, remedy.at):
            continue
        known = changes.get(id(event), event)
        changes[id(event)] = known.replace(
            notes=tuple(
                replace(note, tie_out=False) if note.pitch == loose.note.pitch else note
                for note in known.notes
            )
        )
        if loose.late is not None:
            late = loose.late.event
            changes[id(late)] = late.replace(
                notes=tuple(
                    replace(note, tie_in=False) if note.pitch == loose.late.note.pitch else note
                    for note in late.notes
                )
            )
    _put_in(draft, which, changes)
    return "a tie that leads nowhere taken off"


def mark_other_end(draft: Draft, remedy: Remedy) -> str:
    """Give ties the mark that one of their ends lacks; a stop that nothing leads to is taken off.

    ``to`` says which end has its mark: ``start`` or ``stop``.
    """
    which, starts = remedy.part, remedy.to == "start"
    changes: dict[int, Event] = {}
    for loose, partner in loose_ties(draft.score.parts[which]):
        event = loose.event
        if loose.starts != starts or loose.voice != remedy.voice or not event.pieces:
            continue
        piece = event.pieces[-1 if starts else 0]
        if (piece.bar, piece.offset) != (remedy.bar, remedy.at):
            continue
        if partner is None and starts:
            continue
        other, note = (event, loose.note) if partner is None else (partner.event, partner.note)
        known = changes.get(id(other), other)
        tie_in = None if partner is not None and not starts else partner is not None
        tie_out = None if partner is None or starts else True
        changes[id(other)] = known.replace(
            notes=tuple(
                _marked(each, tie_in, tie_out) if each.pitch == note.pitch else each
                for each in known.notes
            )
        )
    _put_in(draft, which, changes)
    return "a tie given the mark that its other end lacked"


def _marked(note: Note, tie_in: bool | None, tie_out: bool | None) -> Note:
    """The note with these tie marks; None leaves one as it is."""
    return replace(
        note,
        tie_in=note.tie_in if tie_in is None else tie_in,
        tie_out=note.tie_out if tie_out is None else tie_out,
    )


def _put_in(draft: Draft, which: int, changes: Mapping[int, Event]) -> None:
    """Let the changed events stand for those with these ids."""
    for events in draft.voices[which].values():
        for at, event in enumerate(events):
            if id(event) in changes:
                events[at] = changes[id(event)]
                draft.touch(which, {piece.bar for piece in event.pieces} or {event.bar})
