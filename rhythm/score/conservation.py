"""Conservation: a transformation that only changes rhythm keeps everything else, once.

Every payload a format read (a note's elements, its grace notes, every mark) is referenced by the
score that comes out exactly as often as by the score that went in, and each voice's notes are the
same in the same order.
"""

from __future__ import annotations

from dataclasses import replace

from rhythm.exact.errors import Place, ProofError
from rhythm.score.model import Event, Part, Score, Voice

__all__ = ["require_conserved"]


def _payloads(part: Part) -> list[int]:
    """Which object each payload of the part is, sorted, as often as the part refers to it."""
    found = [id(mark.source) for mark in part.marks if mark.source is not None]
    for voice in part.voices:
        for event in voice.events:
            for note in event.notes:
                found += map(id, note.sources)
            if event.graces or event.after:
                found += map(id, event.graces)
                found += map(id, event.after)
    found.sort()
    return found


def _sounding(voice: Voice) -> list[Event]:
    return [event for event in voice.events if not event.is_rest]


def _alike(one: Event, other: Event) -> bool:
    """Do two events sound the same?"""
    if one.notes is other.notes:
        return True
    return (one.pitches or one.notes[0].kind) == (other.pitches or other.notes[0].kind)


def require_conserved(before: Score, after: Score) -> None:
    """Raise ProofError where ``after`` lost, doubled or reordered anything of ``before``."""
    for old, new in zip(before.parts, after.parts, strict=True):
        place = Place(file=before.path, part=old.name or old.id)
        if len(old.marks) != len(new.marks) or _payloads(old) != _payloads(new):
            raise ProofError("something in the part was lost or doubled", place=place)
        for voice, other in zip(old.voices, new.voices, strict=True):
            was, now = _sounding(voice), _sounding(other)
            if len(was) != len(now) or not all(map(_alike, was, now)):
                here = Place(file=place.file, part=place.part, voice=voice.name)
                raise ProofError("the notes of the voice changed or moved about", place=here)
            _require_order(was, now, old, replace(place, voice=voice.name))


def _require_order(was: list[Event], now: list[Event], part: Part, place: Place) -> None:
    """Notes keep their order in time: none passes another, none is left without a duration."""
    before: tuple[Event, Event] | None = None
    for old, new in zip(was, now, strict=True):
        lost = new.duration <= 0 < old.duration
        passed = before is not None and before[1].onset >= new.onset and before[0].onset < old.onset
        if lost or passed:
            what = "a note was left without a duration" if lost else "a note passed another"
            raise ProofError(what, place=replace(place, bar=part.bars[old.bar].number))
        before = old, new
