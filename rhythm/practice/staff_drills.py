"""Drills set on the staves of a theme: under its key and clefs, in its voices, a hand to a staff.

Conventions
-----------
A drill has a line for each hand, the upper one first, and a theme is a score of one part. What a
drill does not use of the theme's staves rests.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from rhythm.practice.stroke_scores import STROKE
from rhythm.score.concatenation import says_signs, signs_of, silence
from rhythm.score.model import Event, Mark, Note, Part, Pitch, Score, Voice

__all__ = ["set_on_staves"]

_HEAD = ("clef", "key", "staff-details", "transpose")


def set_on_staves(theme: Score, drill: Score, pitch: Pitch | None) -> Score:
    """The lines of ``drill``, one part each, on the staves of ``theme`` where they have room.

    The upper line is written on ``pitch`` and the lower an octave below it, on the lowest staff;
    where ``pitch`` is None they are bare strokes. Two hands over a theme of one staff keep two
    lines of their own, so that they never share one.
    """
    part, first = theme.parts[0], drill.parts[0]
    staves = _staves(part)
    if len(drill.parts) > len(staves) or (len(drill.parts) > 1 and pitch is None):
        return drill
    names: dict[str, str] = {}
    for voice in part.voices:
        names.setdefault(_staff(voice), voice.name)
    lines: list[tuple[str, Sequence[Event]]] = [(staves[0], first.voices[0].events)]
    lines += [(staves[-1], lower.voices[0].events) for lower in drill.parts[1:]]
    served = {staff for staff, _ in lines}
    silent = tuple(silence(bar) for bar in first.bars)
    lines += [(staff, silent) for staff in staves if staff not in served]
    voices: list[Voice] = []
    for number, (staff, events) in enumerate(lines):
        name = names.pop(staff, None) or _free([*voices, *part.voices])
        on = pitch if pitch is None or number == 0 else _low(pitch)
        voices.append(_placed(Voice(name, tuple(events)), on, staff if len(staves) > 1 else ""))
    ends = tuple(mark for mark in first.marks if mark.kind == "barline")
    made = first.replace(voices=tuple(voices), marks=(*_head(part), *ends))
    return drill.replace(parts=(made,))


def _head(part: Part) -> tuple[Mark, ...]:
    """What the part says of its staves where it begins: key, clefs, transposition and the like."""
    start = part.bars[0].start
    opening = [mark for mark in part.marks if mark.bar == 0 and mark.onset == start]
    said = signs_of([mark for mark in opening if says_signs(mark)])
    made = tuple(mark for mark in opening if mark.kind in _HEAD)
    return made if said is None else (said, *made)


def _staves(part: Part) -> list[str]:
    """The staves that the part is written on, from the top."""
    found = {
        note.staff or "1"
        for voice in part.voices
        for event in voice.events
        if event.visible
        for note in event.notes
    }
    return sorted(found, key=lambda staff: (len(staff), staff)) or ["1"]


def _staff(voice: Voice) -> str:
    return next((note.staff or "1" for event in voice.events for note in event.notes), "1")


def _free(voices: Sequence[Voice]) -> str:
    taken = {voice.name for voice in voices}
    return next(name for i in range(1, len(taken) + 2) if (name := str(i)) not in taken)


def _low(pitch: Pitch) -> Pitch:
    """The same step an octave down."""
    return Pitch(pitch.step, pitch.alter, pitch.octave - 1)


def _placed(voice: Voice, pitch: Pitch | None, staff: str) -> Voice:
    """The voice on a staff of several, its bare strokes on a pitch."""

    def placed(note: Note) -> Note:
        if note == STROKE and pitch is not None:
            note = Note("pitched", pitch)
        return replace(note, staff=staff)

    events = (
        event.replace(notes=tuple(placed(note) for note in event.notes)) for event in voice.events
    )
    return Voice(voice.name, tuple(events))
