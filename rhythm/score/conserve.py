"""Conservation: a transformation that only changes rhythm keeps everything else, once.

Every payload a format read (a note's elements, its grace notes, every mark) is referenced by the
score that comes out exactly as often as by the score that went in, and each voice's notes are the
same in the same order.
"""

from __future__ import annotations

from collections import Counter

from rhythm.exact.errors import Place, ProofError
from rhythm.score.model import Event, Part, Score, Voice

__all__ = ["require_conserved"]


def _payloads(part: Part) -> Counter[int]:
    found: Counter[int] = Counter(id(mark.source) for mark in part.marks if mark.source is not None)
    for voice in part.voices:
        for event in voice.events:
            for note in event.notes:
                found.update(map(id, note.sources))
            found.update(map(id, event.graces))
            found.update(map(id, event.after))
    return found


def _sounding(events: tuple[Event, ...]) -> list[tuple[object, ...]]:
    return [event.pitches or (event.notes[0].kind,) for event in events if not event.is_rest]


def require_conserved(before: Score, after: Score) -> None:
    """Raise ProofError where ``after`` lost, doubled or reordered anything of ``before``."""
    for old, new in zip(before.parts, after.parts, strict=True):
        place = Place(file=before.path, part=old.name or old.id)
        if len(old.marks) != len(new.marks) or _payloads(old) != _payloads(new):
            raise ProofError("something in the part was lost or doubled", place=place)
        for voice, other in zip(old.voices, new.voices, strict=True):
            if _sounding(voice.events) != _sounding(other.events):
                here = Place(file=place.file, part=place.part, voice=voice.name)
                raise ProofError("the notes of the voice changed or moved about", place=here)
            _require_order(voice, other, old, place)


def _require_order(was: Voice, now: Voice, part: Part, place: Place) -> None:
    """Notes keep their order in time: none passes another, none is left without a duration."""
    old = [event for event in was.events if not event.is_rest]
    new = [event for event in now.events if not event.is_rest]
    for i, event in enumerate(new):
        lost = event.duration <= 0 < old[i].duration
        passed = i > 0 and old[i - 1].onset < old[i].onset and new[i - 1].onset >= event.onset
        if lost or passed:
            what = "a note was left without a duration" if lost else "a note passed another"
            number = part.bars[old[i].bar].number
            raise ProofError(what, place=Place(place.file, place.part, number, was.name))
