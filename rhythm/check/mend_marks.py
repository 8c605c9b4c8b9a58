"""Mending what the reader remarked: rounded ticks, contradictions, broken durations, brackets.

Writing a bar afresh from its exact positions mends most of these. Where a written value contradicts
its duration, the one with which the bar adds up is believed and the other follows it; where neither
does, the duration.
"""

from __future__ import annotations

from dataclasses import replace

from gmpy2 import mpq

from rhythm.check.bar_lengths import BROKEN, displacement, written_end
from rhythm.check.editor import Draft
from rhythm.check.survey import PartBar, SurveyedVoice
from rhythm.exact.errors import MusicError, Place
from rhythm.score.model import Event, Score

__all__ = ["mend_marks"]

_REWRITTEN = frozenset({"rounded", "bracket", "overrun", "odd", *BROKEN})


def mend_marks(score: Score) -> Score:
    """``score`` with every remarked bar written afresh.

    Raises MusicError where nothing says how long a note is: no duration above 0, and no type.
    """
    draft = Draft.of(score)
    lengths: dict[int, mpq] = {}
    for index, column in enumerate(draft.columns):
        for which, slot in enumerate(column):
            kinds = {remark.kind for remark in slot.bar.remarks} if not slot.absent else set()
            if kinds & BROKEN:
                _refuse_endless(score.path, slot)
            if kinds & _REWRITTEN:
                draft.touch(which, [index])
            if "contradiction" not in kinds:
                continue
            draft.touch(which, [index])
            for stretch in slot.voices.values():
                if stretch.end != slot.metre == written_end(slot, stretch):
                    _believe_written(draft, which, slot, stretch)
                    lengths[index] = slot.metre
                elif _contradicted(slot, stretch.voice):
                    draft.respell(which, index)
    draft.resize(lengths)
    return draft.done()


def _refuse_endless(path: str, slot: PartBar) -> None:
    for remark in slot.bar.remarks:
        if remark.kind in ("zero", "negative") and remark.written is None:
            raise MusicError(
                f"a note or rest at {remark.offset} of the bar has no duration above 0 and no type",
                place=Place(path, slot.part.id, slot.bar.number, remark.voice),
                legal="give it one of the two by hand",
            )


def _contradicted(slot: PartBar, voice: str) -> dict[mpq, mpq]:
    """The written values of a voice that its durations contradict, by position."""
    return {
        remark.offset: remark.written
        for remark in slot.bar.remarks
        if remark.kind == "contradiction" and remark.voice == voice and not remark.settled
        if remark.written is not None
    }


def _believe_written(draft: Draft, which: int, slot: PartBar, stretch: SurveyedVoice) -> None:
    """Let the contradicted durations of a voice be as they are written, and all follow at once."""
    index, voice = slot.bar.index, stretch.voice
    written = _contradicted(slot, voice)
    moved = displacement(slot, stretch)
    moves: list[tuple[mpq, mpq]] = []

    def laid(event: Event) -> Event:
        nonlocal moved
        onset, longer = event.onset + (moved if event.bar == index else 0), mpq(0)
        pieces = list(event.pieces)
        for place, piece in enumerate(pieces):
            if piece.bar != index:
                continue
            moves.append((piece.offset, moved))
            duration = written.get(piece.offset, piece.duration)
            pieces[place] = replace(piece, offset=piece.offset + moved, duration=duration)
            moved += duration - piece.duration
            longer += duration - piece.duration
            moves.append((piece.end, moved))
        return event.replace(onset=onset, duration=event.duration + longer, pieces=tuple(pieces))

    events = draft.voices[which][voice]
    events[:] = [laid(e) if any(p.bar == index for p in e.pieces) else e for e in events]
    draft.move_marks(which, slot.bar, voice, moves)
