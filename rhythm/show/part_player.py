"""How one part is played: every note with its loudness, length and ornaments, bar by bar.

Conventions
-----------
Those of :mod:`rhythm.show.sound`. A bar is struck once, with moments of the written score; every
time it is played its strokes are set where they come.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Generic, TypeVar

from gmpy2 import mpq

from rhythm.exact.frozen import dataclass
from rhythm.formats.musicxml.drums import drum_key, is_drummed, kit_of
from rhythm.formats.musicxml.ornaments import Ornament, ornament_on
from rhythm.formats.musicxml.performance import direction_of, grace_pitches, touch_of
from rhythm.score.identity import event_name
from rhythm.score.model import Bar, Event, Note, Part, Pitch
from rhythm.score.tempo import Tempo
from rhythm.show.beats import beat_number
from rhythm.show.clock import Clock
from rhythm.show.flourishes import Neighbours, strokes, unit_at
from rhythm.show.loudness import Dynamics
from rhythm.show.performed import Pedal, Tone
from rhythm.show.playing_order import DEFAULT_TEMPO, placed
from rhythm.show.swing_feel import Feel

__all__ = ["PartPlayer", "Stage"]

_GRACE = mpq(1, 32)
Value = TypeVar("Value")


@dataclass(frozen=True, slots=True)
class Stage:
    """What all parts of a performance share."""

    bars: Sequence[Bar]
    order: Sequence[int]
    clock: Clock
    feel: Feel
    tempi: Sequence[Tempo]
    prefix: str

    def unit(self, moment: mpq) -> mpq:
        """How long the notes of an ornament are at a moment of the written score."""
        index = bisect_right(self.tempi, moment, key=lambda tempo: tempo.moment) - 1
        return unit_at(self.tempi[index].quarters if index >= 0 else DEFAULT_TEMPO)


@dataclass(frozen=True, slots=True)
class _Struck:
    """A note of one bar, before the bar is played: offsets are moments of the written score."""

    onset: mpq
    end: mpq
    key: int
    cents: int
    loudness: int
    share: mpq
    event: str
    tie_in: bool = False
    tie_out: bool = False
    percussion: bool = False
    grace: bool = False
    plucked: bool = False


class PartPlayer:
    """Plays one part."""

    def __init__(self, stage: Stage, index: int, part: Part) -> None:
        self._stage, self._index, self._part = stage, index, part
        self._higher = _Since(
            [(mark.onset, mark.transpose) for mark in part.marks if mark.transpose is not None],
            mpq(0),
        )
        said = [
            (max(mpq(0), mark.onset + mark.reach), mark.bar, direction_of(mark))
            for mark in part.marks
        ]
        self._plucked = _Since(
            [(moment, each.plucked) for moment, _, each in said if each.plucked is not None], False
        )
        self._feet = [(moment, bar, each.pedal) for moment, bar, each in said if each.pedal]
        self._dynamics = Dynamics(part)
        self._neighbours = Neighbours(part)
        self._kit, self._drummed = kit_of(part), is_drummed(part)

    def tones(self) -> Iterator[Tone]:
        """The tones of the part, the order of bars played out."""
        by_bar = self._struck()
        held: dict[tuple[int, int], Tone] = {}
        for shift, index in placed(self._stage.bars, self._stage.order):
            for struck in sorted(by_bar.get(index, ()), key=lambda s: (s.onset, s.key, s.end)):
                tone = self._tone(struck, shift, index)
                key = tone.key, tone.cents
                waiting = held.pop(key, None)
                if waiting is not None:
                    if struck.tie_in and waiting.end == tone.start:
                        names = tuple(dict.fromkeys((*waiting.events, *tone.events)))
                        tone = replace(waiting, end=tone.end, until=tone.until, events=names)
                    else:
                        yield waiting
                if struck.tie_out:
                    held[key] = tone
                else:
                    yield tone
        yield from held.values()

    def pedals(self) -> Iterator[Pedal]:
        """What the feet do, the order of bars played out; what is held at the end is let go."""
        by_bar: dict[int, list[tuple[mpq, str]]] = {}
        for moment, bar, pedal in self._feet:
            by_bar.setdefault(bar, []).append((moment, pedal))
        down: set[bool] = set()
        end = mpq(0)
        for shift, index in placed(self._stage.bars, self._stage.order):
            end = self._stage.bars[index].end + shift
            for moment, pedal in sorted(by_bar.get(index, ()), key=lambda foot: foot[0]):
                for change in self._feet_for(pedal, down):
                    yield self._pedal(moment + shift, *change)
        for sostenuto in sorted(down):
            yield self._pedal(end, False, sostenuto)

    def _feet_for(self, pedal: str, down: set[bool]) -> Iterator[tuple[bool, bool]]:
        """What to do, as (down, sostenuto), given which pedals are down already."""
        if pedal in ("up", "change"):
            for sostenuto in sorted(down):
                if pedal == "up" or not sostenuto:
                    down.discard(sostenuto)
                    yield False, sostenuto
        if pedal != "up":
            sostenuto = pedal == "sostenuto"
            if sostenuto not in down:
                down.add(sostenuto)
                yield True, sostenuto

    def _pedal(self, moment: mpq, down: bool, sostenuto: bool) -> Pedal:
        return Pedal(moment, self._stage.clock(moment), self._index, down, sostenuto)

    def _tone(self, struck: _Struck, shift: mpq, index: int) -> Tone:
        start, end = struck.onset + shift, struck.end + shift
        sounding = end if struck.tie_out else start + (end - start) * struck.share
        bar, clock = self._stage.bars[index], self._stage.clock
        return Tone(
            start,
            sounding,
            clock(start),
            clock(sounding),
            struck.key,
            struck.loudness,
            self._index,
            index,
            beat_number(bar, struck.onset - bar.start),
            (struck.event,),
            struck.cents,
            struck.percussion,
            struck.grace,
            struck.plucked,
        )

    def _struck(self) -> dict[int, list[_Struck]]:
        """What is struck in each bar, by index."""
        found: dict[int, list[_Struck]] = {}
        for j, voice in enumerate(self._part.voices):
            partner = -1
            for k, event in enumerate(voice.events):
                if event.cue or k == partner:
                    continue
                name = event_name(self._index, j, k, self._stage.prefix)
                struck = found.setdefault(event.bar, [])
                other = voice.events[k + 1] if k + 1 < len(voice.events) else None
                if other is not None and _is_shaken(event, other):
                    partner = k + 1
                    second = event_name(self._index, j, partner, self._stage.prefix)
                    struck.extend(self._shaken(event, other, name, second))
                else:
                    struck.extend(self._strike(event, name))
        return found

    def _strike(self, event: Event, name: str) -> Iterator[_Struck]:
        onset, end = self._stage.feel.span(event)
        graces = grace_pitches(event.graces)
        if graces:
            each = min(_GRACE, (event.duration or _GRACE * 4) / (4 * len(graces)))
            # Before the very first note there is no time: there they sound with it.
            yield from self._graced(
                graces, max(mpq(0), onset - each * len(graces)), each, event, name
            )
        after = grace_pitches(event.after)
        if after:
            each = min(_GRACE, event.duration / (4 * len(after)) or _GRACE / 4)
            end -= each * len(after) if event.duration else 0
            yield from self._graced(after, end, each, event, name)
        if event.is_rest or not event.duration:
            return
        touch = touch_of(event)
        loudness = max(1, min(127, self._dynamics.at(event.onset) + touch.louder))
        ornaments = [ornament_on(note) for note in event.notes]
        whole = next((o for o in ornaments if o is not None and o.kind == "tremolo"), None)
        for index, note in enumerate(event.notes):
            struck = self._note(note, onset, end, event, name, loudness, touch.share)
            ornament = whole or ornaments[index]
            if ornament is None or note.tie_in or ornament.kind == "tremolo to":
                yield struck
            else:
                yield from self._ornamented(struck, note, event, ornament)

    def _graced(
        self,
        graces: Sequence[Sequence[Pitch]],
        first: mpq,
        each: mpq,
        event: Event,
        name: str,
    ) -> Iterator[_Struck]:
        loudness = self._dynamics.at(event.onset)
        for count, pitches in enumerate(graces):
            start = first + each * count
            for pitch in pitches:
                key, cents = self._sounding(pitch, event.onset)
                yield _Struck(
                    start, start + each, key, cents, loudness, mpq(1), name,
                    percussion=self._drummed, grace=True,
                )  # fmt: skip

    def _ornamented(
        self, struck: _Struck, note: Note, event: Event, ornament: Ornament
    ) -> Iterator[_Struck]:
        length = struck.end - struck.onset
        made = strokes(ornament, length, self._stage.unit(event.onset))
        for count, stroke in enumerate(made):
            key, cents = struck.key, struck.cents
            if stroke.steps and note.pitch is not None:
                pitch = self._neighbours.of(
                    note.pitch, stroke.steps, ornament, event.bar, event.onset
                )
                key, cents = self._sounding(pitch, event.onset)
            yield replace(
                struck,
                onset=struck.onset + stroke.start,
                end=struck.onset + stroke.end,
                key=key,
                cents=cents,
                share=mpq(1),
                tie_out=struck.tie_out and count == len(made) - 1,
            )

    def _shaken(self, event: Event, other: Event, name: str, second: str) -> Iterator[_Struck]:
        """A tremolo between two notes or chords: theirs in turns, over the length of both."""
        ornament = next(o for note in event.notes if (o := ornament_on(note)) is not None)
        graces = grace_pitches(event.graces)
        if graces:
            yield from self._strike(event.replace(notes=()), name)
        loudness = max(1, min(127, self._dynamics.at(event.onset) + touch_of(event).louder))
        made = strokes(ornament, event.duration + other.duration, self._stage.unit(event.onset))
        for count, stroke in enumerate(made):
            now, named = (event, name) if count % 2 == 0 else (other, second)
            start, end = event.onset + stroke.start, event.onset + stroke.end
            for note in now.notes:
                struck = self._note(note, start, end, event, named, loudness, mpq(1))
                yield replace(struck, tie_in=False, tie_out=False)

    def _note(
        self,
        note: Note,
        onset: mpq,
        end: mpq,
        event: Event,
        name: str,
        loudness: int,
        share: mpq,
    ) -> _Struck:
        key, cents = (
            (drum_key(note, self._kit), 0)
            if note.pitch is None
            else self._sounding(note.pitch, event.onset)
        )
        return _Struck(
            onset, end, key, cents, loudness, share, name, note.tie_in, note.tie_out,
            note.pitch is None or self._drummed, plucked=self._plucked.at(event.onset),
        )  # fmt: skip

    def _sounding(self, pitch: Pitch, moment: mpq) -> tuple[int, int]:
        semitones = pitch.midi + self._higher.at(moment)
        key = int((semitones + mpq(1, 2)).__floor__())
        return min(127, max(0, key)), int((semitones - key) * 100)


def _is_shaken(event: Event, other: Event) -> bool:
    """Is this a tremolo between two notes that follow each other?"""
    return (
        bool(event.pieces and other.pieces)
        and event.pieces[0].tremolo == "start"
        and other.pieces[0].tremolo == "stop"
        and event.end == other.onset
        and any(ornament_on(note) is not None for note in event.notes)
    )


class _Since(Generic[Value]):
    """What holds from a moment on until the next."""

    def __init__(self, turns: Sequence[tuple[mpq, Value]], before: Value) -> None:
        self._turns = sorted(turns, key=lambda turn: turn[0])
        self._moments = [moment for moment, _ in self._turns]
        self._before = before

    def at(self, moment: mpq) -> Value:
        at = bisect_right(self._moments, moment)
        return self._turns[at - 1][1] if at else self._before
