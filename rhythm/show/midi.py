"""A Standard MIDI File of a score, so that a restated theme can be heard.

Conventions
-----------
What sounds, when and how loud is the performance's affair (:mod:`rhythm.show.sound`); here it is
written down. Ticks are exact: the division is the least number of ticks to the quarter, at least
480 where it can be, in which every written onset and length is whole; where that would pass 32767
(fifteen bits are there for it), and for grace notes and shortened ends, positions are the nearest
tick.

The file is of format 1 (Standard MIDI Files 1.0): a first track with tempo, metre and key, then one
for each part with its instrument and its words, then the click where one is asked for. Channels are
:mod:`rhythm.show.midi_channels`'. Microtones go to the nearest semitone, halves up.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Iterable, Iterator, Sequence
from io import BytesIO
from math import lcm
from typing import Any

from gmpy2 import mpq

from rhythm.exact.errors import RequestError
from rhythm.exact.metre import Metre
from rhythm.formats.musicxml.sung import Key, keys_of, syllables_of
from rhythm.score.identity import named_events
from rhythm.score.model import Event, Score
from rhythm.show.beats import count_in_places
from rhythm.show.midi_channels import DRUMS, Held, Place, apart, places_of, programs_of
from rhythm.show.sound import Performance, sound

__all__ = ["MOST_COUNTED", "midi_bytes", "midi_division"]

MOST_COUNTED = 8
"""No more bars are counted in than this."""

_LARGEST_DIVISION = 0x7FFF
_COMFORTABLE_DIVISION = 480
_SPEED = re.compile(r"\s*(\d{1,3}(?:\.\d{1,3})?)\s*%\s*", re.ASCII)
_SLOWEST, _FASTEST = mpq(1, 10), mpq(4)
_BAR_CLICK, _BEAT_CLICK = (76, 112), (77, 88)  # high and low wood block, and how loud
_DAMPER, _SOSTENUTO = 64, 66  # controllers
_BAR = 3  # the weight of a click that opens a bar
_MAJOR = ("Cb", "Gb", "Db", "Ab", "Eb", "Bb", "F", "C", "G", "D", "A", "E", "B", "F#", "C#")
_MINOR = ("Ab", "Eb", "Bb", "F", "C", "G", "D", "A", "E", "B", "F#", "C#", "G#", "D#", "A#")

# (tick, rank among what happens at this tick, message)
_Timed = tuple[int, int, Any]
_HEAD, _OFF, _SIGN, _ON = range(4)


def midi_bytes(
    score: Score,
    *,
    repeats: bool = True,
    speed: str = "100%",
    click: bool = False,
    count_in: int = 0,
) -> bytes:
    """The score as a Standard MIDI File; ``repeats=False`` plays the page once through.

    ``speed`` is in percent of the score's own, 10% to 400%; ``click`` adds a track that clicks the
    beats, ``count_in`` so many bars (0 to 8) that are counted first. Raises RequestError.
    """
    pace = _speed(speed)
    if not 0 <= count_in <= MOST_COUNTED:
        raise RequestError(
            f"{count_in} bars cannot be counted in", legal=f"from 0 to {MOST_COUNTED} can"
        )
    performance = sound(score, repeats=repeats)
    return _Writer(score, performance, pace, click, count_in).data()


def midi_division(score: Score) -> int:
    """Ticks to the quarter: the least that is exact for ``score``, brought up to 480 or more."""
    exact = 1
    for _part, _voice, event in score.events():
        exact = lcm(exact, _denominator(event.onset), _denominator(event.duration))
    for bar in score.bars:
        exact = lcm(exact, _denominator(bar.length))
    if exact > _LARGEST_DIVISION:
        return _LARGEST_DIVISION
    rounds = -(-_COMFORTABLE_DIVISION // exact)
    return exact * rounds if exact * rounds <= _LARGEST_DIVISION else exact


def _denominator(length: mpq) -> int:
    return int((length * 4).denominator)


def _speed(text: str) -> mpq:
    found = _SPEED.fullmatch(text)
    speed = mpq(found.group(1)) / 100 if found else mpq(0)
    if not _SLOWEST <= speed <= _FASTEST:
        raise RequestError(
            f"{text!r} is no speed", legal="write a percentage from 10% to 400%, such as 60%"
        )
    return speed


class _Writer:
    """Writes one performance down."""

    def __init__(
        self, score: Score, performance: Performance, speed: mpq, click: bool, count_in: int
    ) -> None:
        import mido  # type: ignore[import-untyped]

        self._mido = mido
        self._score, self._performance, self._speed = score, performance, speed
        self._division = midi_division(score)
        self._counted: tuple[tuple[mpq, int], ...] = ()
        self._before = mpq(0)
        if count_in and performance.bars:
            first = score.bars[performance.bars[0].bar]
            self._counted, self._before = count_in_places(first, count_in)
        self._click = click

    def data(self) -> bytes:
        file = self._mido.MidiFile(type=1, ticks_per_beat=self._division, charset="utf-8")
        tracks = [self._conductor(), *self._parts()]
        end = self._tick(max((bar.end for bar in self._performance.bars), default=mpq(0)))
        for messages in tracks:
            file.tracks.append(self._track(messages, end))
        written = BytesIO()
        file.save(file=written)
        return written.getvalue()

    def _tick(self, moment: mpq) -> int:
        """The tick of a moment of the performance, what is counted before it included."""
        return int(((moment + self._before) * 4 * self._division + mpq(1, 2)).__floor__())

    def _track(self, messages: list[_Timed], end: int) -> Any:
        """Every message after the time since the one before, then the end."""
        track = self._mido.MidiTrack()
        now = 0
        for tick, _, message in sorted(messages, key=lambda timed: timed[:2]):
            track.append(message.copy(time=tick - now))
            now = tick
        track.append(self._mido.MetaMessage("end_of_track", time=max(0, end - now)))
        return track

    def _meta(self, kind: str, **says: Any) -> Any:
        return self._mido.MetaMessage(kind, **says)

    def _conductor(self) -> list[_Timed]:
        messages: list[_Timed] = []
        if self._score.title:
            messages.append((0, _HEAD, self._meta("track_name", name=self._score.title)))
        for number, (moment, tempo) in enumerate(self._performance.tempi):
            microseconds = int(60_000_000 / (tempo * self._speed) + mpq(1, 2))
            message = self._meta("set_tempo", tempo=max(1, min(0xFFFFFF, microseconds)))
            messages.append((self._tick(moment) if number else 0, _SIGN, message))
        metre: Metre | None = None
        for played in self._performance.bars:
            now = self._score.bars[played.bar].metre
            if now is not None and now.length and now != metre:
                # What is counted in has the metre of the first bar.
                tick = self._tick(played.start) if metre is not None else 0
                metre = now
                messages.append((tick, _HEAD, self._meta("time_signature", **_signature(metre))))
        for number, (moment, key) in enumerate(self._keys()):
            tick = self._tick(moment) if number or moment else 0
            names = _MINOR if key.minor else _MAJOR
            name = names[key.fifths + 7] + ("m" if key.minor else "")
            messages.append((tick, _HEAD, self._meta("key_signature", key=name)))
        return messages

    def _keys(self) -> Iterator[tuple[mpq, Key]]:
        """The keys as played, of the first part that has any."""
        keys = next((keys for part in self._score.parts if (keys := keys_of(part))), [])
        moments = [key.moment for key in keys]
        told: tuple[int, bool] | None = None
        for played in self._performance.bars:
            bar = self._score.bars[played.bar]
            since = max(0, bisect_right(moments, bar.start) - 1)
            for key in keys[since:]:
                if key.moment >= bar.end:
                    break
                if (key.fifths, key.minor) != told:
                    told = key.fifths, key.minor
                    yield played.start + max(mpq(0), key.moment - bar.start), key

    def _parts(self) -> list[list[_Timed]]:
        parts = self._score.parts
        pitched = sorted({tone.part for tone in self._performance.tones if not tone.percussion})
        programs = {
            index: programs_of(
                parts[index].program,
                [tone for tone in self._performance.tones if tone.part == index],
            )
            for index in pitched
        }
        feet = {pedal.part for pedal in self._performance.pedals}
        # What is done to the whole channel must not reach another part of the same instrument.
        alone = {index for index in pitched if index in feet or len(programs[index]) > 1}
        placed = places_of(
            [(parts[index].program, index if index in alone else None) for index in pitched]
        )
        places = dict(zip(pitched, placed, strict=True))
        several = any(place.port for place in placed)
        tracks: list[list[_Timed]] = []
        for index, part in enumerate(parts):
            place = places.get(index)
            messages: list[_Timed] = [(0, _HEAD, self._meta("track_name", name=part.name))]
            if place is not None and several:
                messages.append((0, _HEAD, self._meta("midi_port", port=place.port)))
            if place is not None:
                for moment, program in programs[index]:
                    message = self._mido.Message(
                        "program_change", channel=place.channel, program=program - 1
                    )
                    messages.append((self._tick(moment) if moment else 0, _SIGN, message))
            tracks.append(messages)
        for pedal in self._performance.pedals:
            if pedal.part in places:
                message = self._mido.Message(
                    "control_change",
                    channel=places[pedal.part].channel,
                    control=_SOSTENUTO if pedal.sostenuto else _DAMPER,
                    value=127 if pedal.down else 0,
                )
                tracks[pedal.part].append((self._tick(pedal.start), _SIGN, message))
        for tick, index, text in self._words():
            tracks[index].append((tick, _SIGN, self._meta("lyrics", text=text)))
        held = [
            self._held(
                Place(places.get(tone.part, Place(0, DRUMS)).port, DRUMS)
                if tone.percussion
                else places[tone.part],
                tone.key, tone.start, tone.end, tone.part, tone.loudness,
            )
            for tone in self._performance.tones
        ]  # fmt: skip
        if self._click or self._counted:
            held += self._clicks(len(tracks))
            tracks.append([(0, _HEAD, self._meta("track_name", name="Click"))])
        for each in apart(held):
            for kind, tick, rank, velocity in (
                ("note_on", each.start, _ON, each.loudness),
                ("note_off", each.end, _OFF, 0),
            ):
                message = self._mido.Message(
                    kind, channel=each.place.channel, note=each.key, velocity=velocity
                )
                tracks[each.track].append((tick, rank, message))
        return tracks

    def _held(
        self, place: Place, key: int, start: mpq, end: mpq, track: int, loudness: int
    ) -> Held:
        first = self._tick(start)
        return Held(place, key, first, max(self._tick(end), first + 1), track, loudness)

    def _clicks(self, track: int) -> Iterator[Held]:
        """What is counted in, then the beats where they are asked for."""
        beats = [(place - self._before, weight) for place, weight in self._counted]
        if self._click:
            beats += [(each.start, each.weight) for each in self._performance.clicks]
        for moment, weight in beats:
            if weight:
                key, loudness = _BAR_CLICK if weight == _BAR else _BEAT_CLICK
                yield self._held(Place(0, DRUMS), key, moment, moment + mpq(1, 32), track, loudness)

    def _words(self) -> Iterator[tuple[int, int, str]]:
        """(tick, part, syllable) of what is sung: the verse of the turn, else the first."""
        sung: dict[str, Event] = {
            name: event
            for name, _, _, event in named_events(self._score)
            if event.verses or event.additions
        }
        starts = [bar.start for bar in self._performance.bars]
        done: set[tuple[str, mpq]] = set()
        for tone in self._performance.tones:
            event = sung.get(tone.events[0])
            if event is None or tone.grace or (tone.events[0], tone.start) in done:
                continue
            done.add((tone.events[0], tone.start))
            turn = self._performance.bars[bisect_right(starts, tone.start) - 1].turn
            for delay, text in _verse(syllables_of(event), turn):
                yield self._tick(tone.start + delay), tone.part, text


def _verse(syllables: Sequence[tuple[str, mpq, str]], turn: int) -> Iterable[tuple[mpq, str]]:
    verses = list(dict.fromkeys(verse for verse, _, _ in syllables))
    if verses:
        wanted = str(turn) if str(turn) in verses else verses[0]
        return [(delay, text) for verse, delay, text in syllables if verse == wanted]
    return []


def _signature(metre: Metre) -> dict[str, int]:
    """The signature as one sum over its finest unit, and the clicks (24 to a quarter) of a beat."""
    unit = lcm(*(term.unit for term in metre.terms))
    return {
        "numerator": min(255, int(metre.length * unit)),
        "denominator": 1 << (unit.bit_length() - 1),
        "clocks_per_click": min(255, max(1, int(metre.beats[0] * 96))),
        "notated_32nd_notes_per_beat": 8,
    }
