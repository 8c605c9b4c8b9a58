"""A Standard MIDI File of a score, so that a restated theme can be heard.

Conventions
-----------
Ticks are exact: the division is the least number of ticks to the quarter, at least 480 where it
can be, in which every onset and length is whole. Where that would pass 32767 (fifteen bits are
there for it) positions are rounded to the nearest tick at that bound, none by more than half.

What sounds: every note that is not a cue, tied notes as one, transposing parts where they sound,
each part on a channel of its own with the instrument that the score names, at one loudness. Repeats
and endings are played out (:mod:`rhythm.show.playing_order`). Unpitched notes knock on wood.
Microtones go to the nearest semitone, halves up. Grace notes do not sound.

The layout follows the Standard MIDI Files 1.0 specification: format 1, a first track with tempo
and metre, then one track for each part.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import lcm

from gmpy2 import mpq

from rhythm.exact.metre import Metre
from rhythm.score.model import Bar, Part, Score
from rhythm.show.playing_order import playing_order
from rhythm.show.sounding import placed, played_length, played_tempi, sounds

__all__ = ["midi_bytes", "midi_division"]

_LARGEST_DIVISION = 0x7FFF
_COMFORTABLE_DIVISION = 480
_PERCUSSION, _VELOCITY = 9, 80

# (tick, rank among what happens at this tick, message)
_Message = tuple[int, int, bytes]


def midi_bytes(score: Score, *, repeats: bool = True) -> bytes:
    """The score as a Standard MIDI File; ``repeats=False`` plays the page straight through."""
    order = playing_order(score.bars) if repeats else list(range(len(score.bars)))
    division = midi_division(score)
    tracks = [_conductor(score, order, division)]
    channels = [channel for channel in range(16) if channel != _PERCUSSION]
    for i, part in enumerate(score.parts):
        channel = channels[i % len(channels)]
        tracks.append(_part_track(part, score.bars, order, division, channel))
    head = b"MThd" + (6).to_bytes(4, "big") + _words(1, len(tracks), division)
    return head + b"".join(b"MTrk" + len(track).to_bytes(4, "big") + track for track in tracks)


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


def _part_track(
    part: Part, bars: Sequence[Bar], order: Sequence[int], division: int, channel: int
) -> bytes:
    messages: list[_Message] = [(0, 0, _meta(0x03, part.name.encode()))]
    if part.program is not None:
        messages.append((0, 0, bytes((0xC0 | channel, part.program - 1))))
    for sound in sounds(part, bars, order):
        where = _PERCUSSION if sound.percussion else channel
        start, end = _tick(sound.start, division), _tick(sound.end, division)
        messages.append((start, 2, bytes((0x90 | where, sound.key, _VELOCITY))))
        messages.append((max(end, start + 1), 1, bytes((0x80 | where, sound.key, 0))))
    return _track(messages, _tick(played_length(bars, order), division))


def _conductor(score: Score, order: Sequence[int], division: int) -> bytes:
    bars = score.bars
    messages: list[_Message] = [
        (_tick(moment, division), 1, _tempo_message(tempo))
        for moment, tempo in played_tempi(score, order)
    ]
    metre: Metre | None = None
    for shift, index in placed(bars, order):
        bar = bars[index]
        if bar.metre is not None and bar.metre.length and bar.metre != metre:
            metre = bar.metre
            messages.append((_tick(bar.start + shift, division), 0, _metre_message(metre)))
    return _track(messages, _tick(played_length(bars, order), division))


def _tempo_message(tempo: mpq) -> bytes:
    microseconds = min(0xFFFFFF, int(60_000_000 / tempo + mpq(1, 2)))
    return _meta(0x51, max(1, microseconds).to_bytes(3, "big"))


def _metre_message(metre: Metre) -> bytes:
    """The signature as one sum over its finest unit, and the clicks (24 to a quarter) of a beat."""
    unit = lcm(*(term.unit for term in metre.terms))
    beats = int(metre.length * unit)
    clicks = min(255, max(1, int(metre.beats[0] * 96)))
    return _meta(0x58, bytes((min(255, beats), unit.bit_length() - 1, clicks, 8)))


def _tick(moment: mpq, division: int) -> int:
    return int((moment * 4 * division + mpq(1, 2)).__floor__())


def _track(messages: list[_Message], end: int) -> bytes:
    """The track's bytes: every message after the time since the one before, then its end."""
    data = bytearray()
    now = 0
    for tick, _, message in sorted(messages):
        data += _variable(tick - now) + message
        now = tick
    return bytes(data + _variable(max(0, end - now)) + _meta(0x2F, b""))


def _meta(kind: int, payload: bytes) -> bytes:
    return bytes((0xFF, kind)) + _variable(len(payload)) + payload


def _variable(number: int) -> bytes:
    """A variable-length quantity: seven bits a byte, the last one without the high bit."""
    data = [number & 0x7F]
    while number := number >> 7:
        data.append(0x80 | number & 0x7F)
    return bytes(reversed(data))


def _words(*numbers: int) -> bytes:
    return b"".join(number.to_bytes(2, "big") for number in numbers)
