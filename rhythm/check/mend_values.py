"""Mending inside a bar: values and durations that contradict each other, places, voice numbers.

Where a written value contradicts its duration, the one with which the bar adds up is believed and
the other follows it; where neither does, the duration.
"""

from __future__ import annotations

from dataclasses import replace

from gmpy2 import mpq

from rhythm.check.editor import Draft
from rhythm.check.phrasing import a_value
from rhythm.check.remedies import Remedy
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
    draft.touch(which, [index])
    told = (each for each in draft.bars[which][index].remarks if each.kind == "contradiction")
    if all(each.settled for each in told):  # as it was read
        return "durations made to agree with the written values"
    draft.respell(which, index)
    return "written values made to agree with their durations"


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

    for voice in (remedy.voice, *filter(None, remedy.to.split("\t"))):
        events = draft.voices[which][voice]
        events[:] = [moved(event) if event.bar == index else event for event in events]
        draft.move_marks(which, bar, voice, [(ZERO, by)])
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
    if found.pieces[0].ratio != (1, 1):  # brackets are drawn over what stands in one voice
        draft.respell(which, index)
    return f"a note of voice {remedy.voice} given to voice {remedy.to}"


def _is_second(draft: Draft, remedy: Remedy) -> bool:
    """Was the voice's own note, where two stand at one place, written before the other's stream?"""
    order = list(draft.slots[remedy.part][remedy.bar].voices)
    return order.index(remedy.to) > order.index(remedy.voice)
