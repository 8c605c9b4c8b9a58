"""Music written for an instrument: in its clef, its key and its compass, as it sounds.

What sounds stays the same but for octaves: a part goes by whole octaves to where most of its notes
lie in the instrument's compass, as near as can be to where it was; the few that lie outside still
go by an octave of their own, and that is told. An instrument that plays one note at a time has the
first voice that sounds, and of chords the highest note.

Conventions
-----------
A theme is a score of one part. Keys are counted in fifths; where the instrument's key would have
more than six signs the same sounds are spelled with fewer.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

from gmpy2 import mpq

from rhythm.practice.instruments import Instrument
from rhythm.practice.sheet_layout import rhythm_only
from rhythm.score.concatenation import says_signs
from rhythm.score.model import Event, Mark, Note, Part, Pitch, Score, Voice

__all__ = ["for_instrument"]

_MOST_SIGNS = 6


def for_instrument(theme: Score, instrument: Instrument) -> tuple[Score, str]:
    """The theme as the instrument reads it, and what had to be moved for it, or ""."""
    (part,) = theme.parts
    if instrument.struck:
        bare = rhythm_only(theme)
        return bare.replace(parts=(_named(bare.parts[0], instrument),)), ""
    several = len(_staves(part)) > 1
    if several and instrument.staves > 1:
        return theme.replace(parts=(_named(part, instrument),)), ""
    if several or not instrument.chords:
        part = _one_line(part)
    shift, keys = _shift(part, instrument)
    octaves = _octaves(part, shift, instrument)
    outside = 0

    def move(pitch: Pitch) -> Pitch:
        return _inside(_moved(pitch, shift, octaves), instrument)

    voices = []
    for voice in part.voices:
        events = []
        for event in voice.events:
            for pitch in event.pitches:
                outside += move(pitch) != _moved(pitch, shift, octaves)
            events.append(_written(event, move, keys))
        voices.append(Voice(voice.name, tuple(events)))
    marks = (*_head(part, instrument, keys), *_kept(part.marks, shift))
    made = _named(part.replace(voices=tuple(voices), marks=marks), instrument)
    told = ""
    if outside:
        notes = "1 note" if outside == 1 else f"{outside} notes"
        told = f"{notes} of the theme moved by an octave into the compass of the {instrument.name}"
    return theme.replace(parts=(made,), relaid=True), told


def _named(part: Part, instrument: Instrument) -> Part:
    name = instrument.name[0].upper() + instrument.name[1:]
    return part.replace(name=name, program=instrument.program)


def _staves(part: Part) -> set[str]:
    """The staves of a part that something is written on."""
    return {
        note.staff or "1"
        for voice in part.voices
        for event in voice.events
        if event.visible
        for note in event.notes
    }


def _one_line(part: Part) -> Part:
    """The first voice that sounds, the highest note of every chord, on one staff."""
    sounding = [
        voice
        for voice in part.voices
        if any(event.visible and event.pitches for event in voice.events)
    ]
    voices = []
    for voice in sounding[:1]:
        events = (event.replace(notes=_highest(event.notes)) for event in voice.events)
        voices.append(Voice(voice.name, tuple(events)))
    kept = sounding[0].events if sounding else ()
    staves = {note.staff for event in kept for note in event.notes} | {""}
    marks = tuple(mark for mark in part.marks if mark.staff in staves)
    marks = tuple(mark.replace(staff="") if mark.staff else mark for mark in marks)
    return part.replace(voices=tuple(voices), marks=marks)


def _highest(notes: Sequence[Note]) -> tuple[Note, ...]:
    pitched = [note for note in notes if note.pitch is not None]
    best = max(pitched, key=_height) if pitched else notes[0] if notes else None
    return () if best is None else (replace(best, staff=""),)


def _height(note: Note) -> mpq:
    assert note.pitch is not None
    return note.pitch.midi


def _shift(part: Part, instrument: Instrument) -> tuple[int, list[tuple[mpq, int]]]:
    """How many fifths the written notes go up, and the keys that are then written."""
    from rhythm.formats.musicxml.transposing import written_keys

    keys = written_keys(part) or [(part.bars[0].start, 0)]
    said = [mark.transpose for mark in part.marks if mark.transpose is not None]
    higher = (said[0] if said else mpq(0)) - instrument.sounds[1]
    usual = int(higher * 7) % 12
    ways = (usual, usual - 12) if usual <= _MOST_SIGNS else (usual - 12, usual)
    best = min(ways, key=lambda way: max(abs(key + way) for _, key in keys) > _MOST_SIGNS)
    return best, [(moment, key + best) for moment, key in keys]


def _moved(pitch: Pitch, fifths: int, octaves: int) -> Pitch:
    """A pitch so many fifths (each an octave lower again) and octaves higher."""
    from rhythm.formats.musicxml.transposing import shifted

    step, alter = shifted(pitch.step, pitch.alter, fifths)
    # A fifth up is seven semitones; taking octaves off keeps the note where it was, nearly.
    wanted = pitch.midi + (7 * fifths + 6) % 12 - 6 + 12 * octaves
    found = Pitch(step, alter, 4)
    return Pitch(step, alter, 4 + int((wanted - found.midi) // 12))


def _octaves(part: Part, shift: int, instrument: Instrument) -> int:
    """By how many octaves most notes come to lie in the compass, sounding as near as can be."""
    pitches = [
        pitch
        for voice in part.voices
        for event in voice.events
        if event.visible
        for pitch in event.pitches
    ]
    said = [mark.transpose for mark in part.marks if mark.transpose is not None]
    before = said[0] if said else mpq(0)

    def worth(octaves: int) -> tuple[int, mpq]:
        moved = [_moved(pitch, shift, octaves).midi for pitch in pitches]
        outside = sum(not instrument.low.midi <= each <= instrument.high.midi for each in moved)
        away = mpq(0)
        if pitches:
            away = abs(moved[0] + instrument.sounds[1] - pitches[0].midi - before)
        return outside, away

    return min(range(-6, 7), key=worth)


def _inside(pitch: Pitch, instrument: Instrument) -> Pitch:
    """The pitch, by octaves inside the compass where there is such a one."""
    low, high = instrument.low.midi, instrument.high.midi
    if pitch.midi < low:
        up = int(-(-(low - pitch.midi) // 12))
        return _raised(pitch, up) if pitch.midi + 12 * up <= high else pitch
    if pitch.midi > high:
        down = int(-(-(pitch.midi - high) // 12))
        return _raised(pitch, -down) if pitch.midi - 12 * down >= low else pitch
    return pitch


def _raised(pitch: Pitch, octaves: int) -> Pitch:
    return Pitch(pitch.step, pitch.alter, pitch.octave + octaves)


def _written(
    event: Event, move: Callable[[Pitch], Pitch], keys: Sequence[tuple[mpq, int]]
) -> Event:
    from rhythm.formats.musicxml.transposing import moved_grace

    fifths = [key for moment, key in keys if moment <= event.onset][-1:] or [keys[0][1]]
    notes = tuple(
        note if note.pitch is None else replace(note, pitch=move(note.pitch))
        for note in event.notes
    )
    graces = tuple(moved_grace(grace, move, fifths[0]) for grace in event.graces)
    after = tuple(moved_grace(grace, move, fifths[0]) for grace in event.after)
    return event.replace(notes=notes, graces=graces, after=after)


def _head(part: Part, instrument: Instrument, keys: Sequence[tuple[mpq, int]]) -> list[Mark]:
    """Clef, key and transposition of the instrument."""
    start = part.bars[0].start
    head = [Mark(start, 0, "clef", order=-5, text=instrument.clef)]
    for moment, key in keys:
        bar = next(bar for bar in reversed(part.bars) if bar.start <= moment)
        head.append(Mark(moment, bar.index, "key", order=-6, text=str(key)))
    if any(instrument.sounds):
        steps, semitones = instrument.sounds
        head.append(
            Mark(
                start,
                0,
                "transpose",
                order=-4,
                transpose=mpq(semitones),
                text=f"{steps} {semitones}",
            )
        )
    return head


def _kept(marks: Sequence[Mark], shift: int) -> list[Mark]:
    """The marks that stay: clefs, keys and transpositions are the instrument's; chords move."""
    from rhythm.formats.musicxml.transposing import moved_chord

    found = []
    for mark in marks:
        if says_signs(mark) or mark.kind in ("clef", "key", "staff-details", "transpose"):
            continue
        if mark.kind == "harmony":
            mark = mark.replace(source=moved_chord(mark.source, shift))
        if mark.kind != "figured-bass":
            found.append(mark)
    return found
