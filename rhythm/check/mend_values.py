"""Mending inside a bar: values and durations that contradict each other, places, voice numbers.

Where a written value contradicts its duration, the one with which the bar adds up is believed and
the other follows it; where neither does, the duration.
"""

from __future__ import annotations

from dataclasses import replace

from gmpy2 import mpq

from rhythm.check.bar_lengths import displacement, written_end
from rhythm.check.editor import Draft
from rhythm.check.phrasing import a_value
from rhythm.check.remedies import Remedy
from rhythm.check.survey import PartBar, SurveyedVoice
from rhythm.exact.errors import MusicError
from rhythm.score.model import Event

__all__ = ["give_voice", "settle_values", "shift", "write_afresh"]

ZERO = mpq(0)


def write_afresh(draft: Draft, remedy: Remedy) -> str:
    """Write a bar as it is read, with every duration and backup as it should be.

    Raises MusicError where nothing says how long a note is: no duration above 0, and no type.
    """
    bar = draft.bars[remedy.part][remedy.bar]
    for remark in bar.remarks:
        if remark.kind in ("zero", "negative") and remark.written is None:
            raise MusicError(
                "a note or rest has no duration above 0 and no type",
                legal="give it one of the two by hand",
            )
    draft.touch(remedy.part, [remedy.bar])
    return "durations and backups written as the notes stand"


def settle_values(draft: Draft, remedy: Remedy) -> str:
    """Let durations and written values of a bar agree."""
    which, index = remedy.part, remedy.bar
    slot = draft.slots[which][index]
    draft.touch(which, [index])
    done = "written values made to agree with their durations"
    for stretch in slot.voices.values():
        if stretch.end != slot.metre == written_end(slot, stretch):
            _believe_written(draft, which, slot, stretch)
            done = "durations made to agree with the written values"
        elif _contradicted(slot, stretch.voice):
            draft.respell(which, index)
    return done


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
        onset, longer = event.onset + (moved if event.bar == index else 0), ZERO
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


def shift(draft: Draft, remedy: Remedy) -> str:
    """Move a voice to where its bar begins."""
    which, index, by = remedy.part, remedy.bar, remedy.amount
    bar = draft.bars[which][index]

    def moved(event: Event) -> Event:
        pieces = tuple(
            replace(p, offset=p.offset + by, tuplets=tuple(
                replace(each, offset=each.offset + by) for each in p.tuplets))
            if p.bar == index else p
            for p in event.pieces
        )  # fmt: skip
        return event.replace(onset=event.onset + by, pieces=pieces)

    events = draft.voices[which][remedy.voice]
    events[:] = [moved(event) if event.bar == index else event for event in events]
    draft.move_marks(which, bar, remedy.voice, [(ZERO, by)])
    draft.touch(which, [index])
    return f"moved {a_value(by)} {'earlier' if by < 0 else 'later'}"


def give_voice(draft: Draft, remedy: Remedy) -> str:
    """Give a note the number of the voice in whose stream it stands."""
    which, index = remedy.part, remedy.bar
    at = draft.bars[which][index].start + remedy.at
    events = draft.voices[which][remedy.voice]
    found = next((e for e in events if e.bar == index and e.onset == at and e.duration), None)
    if found is None or any(piece.bar != index for piece in found.pieces):
        raise MusicError("the note is tied over the bar line", legal="change its voice by hand")
    if _is_second(draft, remedy):
        found = [e for e in events if e.bar == index and e.onset == at and e.duration][-1]
    if found.graces or found.after:
        raise MusicError("grace notes hang on the note", legal="change its voice by hand")
    events.remove(found)
    draft.put(which, remedy.to, index, [found])
    return f"a note of voice {remedy.voice} given to voice {remedy.to}"


def _is_second(draft: Draft, remedy: Remedy) -> bool:
    """Was the voice's own note, where two stand at one place, written before the other's stream?"""
    order = list(draft.slots[remedy.part][remedy.bar].voices)
    return order.index(remedy.to) > order.index(remedy.voice)
