"""How ornaments and tremolos are played: the strokes in place of a plain note.

Conventions
-----------
Times are whole notes. The notes of an ornament are the longest halves of halves (eighth, 16th, 32nd
...) that last an eighth of a second or less, shorter where the main note is too short for them. A
trill begins on its main note unless the file says otherwise (common practice since about 1800, no
source) and ends on it; mordents and turns begin on the beat. A measured tremolo has the strokes
that its marks say, an unmeasured one those of an ornament.

Neighbours are the next steps as the key and the bar have them, altered by the accidental beside the
sign. No note is struck more than 256 times.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from typing import NamedTuple

from gmpy2 import mpq

from rhythm.formats.musicxml.ornaments import Ornament
from rhythm.formats.musicxml.sung import Key, keys_of
from rhythm.score.model import Part, Pitch

__all__ = ["Neighbours", "Stroke", "strokes", "unit_at"]

_LONGEST = 125  # milliseconds
_MOST = 256
_STEPS = "CDEFGAB"
_SHARPENED = "FCGDAEB"


class Stroke(NamedTuple):
    """From ``start`` to ``end``, from the note's onset, the note so many ``steps`` away."""

    start: mpq
    end: mpq
    steps: int


def unit_at(tempo: mpq) -> mpq:
    """How long the notes of an ornament are at a tempo (quarters a minute)."""
    unit = mpq(1, 8)
    while unit * 240_000 / tempo > _LONGEST and unit > mpq(1, 1024):
        unit /= 2
    return unit


def strokes(ornament: Ornament, length: mpq, unit: mpq) -> list[Stroke]:
    """What is struck in place of a note of this length."""
    if ornament.kind == "turn":
        return _turned(ornament, length, unit)
    if ornament.kind == "trill":
        return _trilled(ornament, length, unit)
    each = ornament.stroke or unit
    while length / each > _MOST:
        each *= 2
    count = int(-((-length / each).__floor__()))
    return [Stroke(each * i, min(length, each * (i + 1)), 0) for i in range(count)]


def _turned(ornament: Ornament, length: mpq, unit: mpq) -> list[Stroke]:
    way = ornament.way
    if ornament.late:
        each = min(unit, length / (2 * len(way)))
        first = length - each * len(way)
        return [
            Stroke(mpq(0), first, 0),
            *(Stroke(first + each * i, first + each * (i + 1), s) for i, s in enumerate(way)),
        ]
    each = min(unit, length / len(way))
    last = len(way) - 1
    return [
        Stroke(each * i, length if i == last else each * (i + 1), step)
        for i, step in enumerate(way)
    ]


def _trilled(ornament: Ornament, length: mpq, unit: mpq) -> list[Stroke]:
    above = int(ornament.from_above)
    count = min(_MOST, max(3 + above, int(length / unit)))
    count -= (count + 1 + above) % 2  # so that it ends on the main note
    each = min(unit, length / count)
    if count >= _MOST - 1:
        each = length / count
    return [
        Stroke(each * i, length if i == count - 1 else each * (i + 1), (i + above) % 2)
        for i in range(count)
    ]


class Neighbours:
    """Knows the next steps above and below the notes of a part."""

    def __init__(self, part: Part) -> None:
        self._keys: list[Key] = keys_of(part, written=True)
        self._moments = [key.moment for key in self._keys]
        self._part = part
        self._altered: dict[tuple[int, str, int], list[tuple[mpq, mpq]]] | None = None

    def of(self, pitch: Pitch, steps: int, ornament: Ornament, bar: int, moment: mpq) -> Pitch:
        """The note one step above (``steps`` 1) or below (-1) one that begins at a moment."""
        if not steps:
            return pitch
        place = _STEPS.index(pitch.step) + steps
        octave, step = pitch.octave + place // 7, _STEPS[place % 7]
        if ornament.semitones is not None:
            there = Pitch(step, mpq(0), octave)
            alter = pitch.midi + steps * ornament.semitones - there.midi
            return Pitch(step, alter, octave)
        said = ornament.above if steps > 0 else ornament.below
        if said is None:
            said = self._alter(step, octave, bar, moment)
        return Pitch(step, said, octave)

    def _alter(self, step: str, octave: int, bar: int, moment: mpq) -> mpq:
        """How the bar has this note already, or else the key."""
        told: Sequence[tuple[mpq, mpq]] = self._in_bars().get((bar, step, octave), ())
        before = [alter for onset, alter in told if onset < moment]
        if before:
            return before[-1]
        index = bisect_right(self._moments, moment) - 1
        fifths = self._keys[index].fifths if index >= 0 else 0
        rank = _SHARPENED.index(step)
        if fifths > 0:
            return mpq(1 if rank < fifths else 0)
        return mpq(-1 if rank >= 7 + fifths else 0)

    def _in_bars(self) -> dict[tuple[int, str, int], list[tuple[mpq, mpq]]]:
        if self._altered is None:
            self._altered = {}
            events = [event for voice in self._part.voices for event in voice.events]
            for event in sorted(events, key=lambda event: event.onset):
                for pitch in event.pitches:
                    place = event.bar, pitch.step, pitch.octave
                    self._altered.setdefault(place, []).append((event.onset, pitch.alter))
        return self._altered
