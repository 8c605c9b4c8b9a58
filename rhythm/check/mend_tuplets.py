"""Mending tuplets that stop midway: a rest completes them, what follows in the voice moves on."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from gmpy2 import mpq

from rhythm.check.bar_lengths import judge_lengths
from rhythm.check.editor import Draft
from rhythm.check.tuplets import tuplet_run
from rhythm.score.model import Bar, Event, Note, Score

__all__ = ["mend_tuplets"]


def mend_tuplets(score: Score) -> Score:
    """``score`` with a rest after each tuplet that stops midway, as long as its bar lacks."""
    draft = Draft.of(score)
    lengths: dict[int, mpq] = {}
    columns = draft.columns
    for index, verdict in enumerate(judge_lengths(columns)):
        for which, slot in enumerate(columns[index]):
            for name, stretch in slot.voices.items():
                run = tuplet_run(columns, index, which, stretch, verdict)
                missing = slot.metre - stretch.end
                if run is not None and missing > 0:
                    events = draft.voices[which]
                    events[name] = _with_rest(events[name], slot.bar, run[1], missing)
                    if stretch.end > run[1]:
                        draft.move_marks(which, slot.bar, name, [(run[1], missing)])
                    draft.respell(which, index)
                    lengths[index] = max(slot.bar.length, slot.metre)
    draft.resize(lengths)
    return draft.done()


def _with_rest(events: Sequence[Event], bar: Bar, at: mpq, length: mpq) -> list[Event]:
    start = bar.start + at
    rest: Event | None = Event(start, length, bar.index, (Note("rest"),))
    laid: list[Event] = []
    for event in events:
        moves = event.bar == bar.index and event.onset >= start
        if rest is not None and (moves or event.bar > bar.index):
            laid.append(rest)
            rest = None
        laid.append(_later(event, length) if moves else event)
    return [*laid, rest] if rest is not None else laid


def _later(event: Event, by: mpq) -> Event:
    pieces = tuple(replace(piece, offset=piece.offset + by) for piece in event.pieces)
    return event.replace(onset=event.onset + by, pieces=pieces)
