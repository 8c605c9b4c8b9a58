"""Mending ties: those that lead nowhere are taken off, those that lack a mark get it."""

from __future__ import annotations

from dataclasses import replace

from rhythm.check.editor import Draft
from rhythm.check.ties import Loose, loose_ties
from rhythm.score.model import Event, Score

__all__ = ["mend_ties"]


def mend_ties(score: Score) -> Score:
    """``score`` with every loose tie closed."""
    draft = Draft.of(score)
    for which, part in enumerate(score.parts):
        changes: dict[int, dict[int, tuple[bool | None, bool | None]]] = {}
        owners: dict[int, Event] = {}
        for loose, partner in loose_ties(part):
            if partner is None:
                _ask(changes, owners, loose, *((None, False) if loose.starts else (False, None)))
                if loose.late is not None:
                    _ask(changes, owners, loose.late, False, None)
            else:
                _ask(changes, owners, partner, *((True, None) if loose.starts else (None, True)))
        if not changes:
            continue
        for events in draft.voices[which].values():
            for at, event in enumerate(events):
                if id(event) in changes:
                    events[at] = _changed(event, changes[id(event)])
                    draft.touch(which, {piece.bar for piece in event.pieces} or {event.bar})
    return draft.done()


def _ask(
    changes: dict[int, dict[int, tuple[bool | None, bool | None]]],
    owners: dict[int, Event],
    loose: Loose,
    tie_in: bool | None,
    tie_out: bool | None,
) -> None:
    owners[id(loose.event)] = loose.event
    notes = changes.setdefault(id(loose.event), {})
    had_in, had_out = notes.get(id(loose.note), (None, None))
    notes[id(loose.note)] = (
        tie_in if tie_in is not None else had_in,
        tie_out if tie_out is not None else had_out,
    )


def _changed(event: Event, asked: dict[int, tuple[bool | None, bool | None]]) -> Event:
    notes = []
    for note in event.notes:
        tie_in, tie_out = asked.get(id(note), (None, None))
        notes.append(
            replace(
                note,
                tie_in=note.tie_in if tie_in is None else tie_in,
                tie_out=note.tie_out if tie_out is None else tie_out,
            )
        )
    return event.replace(notes=tuple(notes))
