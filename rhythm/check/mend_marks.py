"""Mending what the reader remarked: rounded ticks, contradictions, broken durations, brackets.

Writing a bar afresh from its exact positions mends most of these. Where a written value contradicts
its duration, the one with which the bar adds up is believed and the other follows it; where neither
does, the duration.
"""

from __future__ import annotations

from dataclasses import replace

from gmpy2 import mpq

from rhythm.check.draft import Draft
from rhythm.check.lengths import BROKEN, written_end
from rhythm.check.survey import Stretch, survey
from rhythm.score.model import Bar, Event, Score

__all__ = ["mend_marks"]

_REWRITTEN = frozenset({"rounded", "bracket", *BROKEN})


def mend_marks(score: Score) -> Score:
    """``score`` with every remarked bar written afresh."""
    draft = Draft.of(score)
    lengths: dict[int, mpq] = {}
    for index, column in enumerate(survey(score)):
        for which, slot in enumerate(column):
            kinds = {remark.kind for remark in slot.bar.remarks} if not slot.absent else set()
            if kinds & _REWRITTEN:
                draft.touch(which, [index])
            if "contradiction" not in kinds:
                continue
            draft.touch(which, [index])
            for name, stretch in slot.voices.items():
                if _believes_written(slot.bar, stretch, slot.metre):
                    draft.voices[which][name] = _relaid(draft.voices[which][name], slot.bar, name)
                    lengths[index] = slot.metre
                else:
                    draft.respell(which, index)
    draft.resize(lengths)
    return draft.done()


def _believes_written(bar: Bar, stretch: Stretch, metre: mpq) -> bool:
    meant = written_end(bar, stretch)
    return meant == metre != stretch.end


def _relaid(events: list[Event], bar: Bar, voice: str) -> list[Event]:
    """The voice with the contradicted durations of one bar as they are written, moved up."""
    written = {
        remark.offset: remark.written
        for remark in bar.remarks
        if remark.kind == "contradiction" and remark.voice == voice
    }
    moved = mpq(0)
    laid: list[Event] = []
    for event in events:
        if event.bar != bar.index or not event.pieces:
            laid.append(event)
            continue
        first = event.pieces[0]
        longer = (written.get(first.offset) or first.duration) - first.duration
        piece = replace(first, offset=first.offset + moved, duration=first.duration + longer)
        laid.append(
            event.replace(
                onset=event.onset + moved,
                duration=event.duration + longer,
                pieces=(piece, *event.pieces[1:]),
            )
        )
        moved += longer
    return laid
