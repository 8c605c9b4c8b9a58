"""What sounds and when, repeats played out: common ground of MIDI files and the page's player.

Conventions
-----------
Moments are whole notes from the start of the performance; ``order`` is the order in which bars are
played (:mod:`rhythm.show.playing_order`). Cue notes, grace notes and rests are silent. Transposing
parts sound as they do among others, not as written.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from gmpy2 import mpq

from rhythm.score.model import Bar, Part, Score
from rhythm.score.tempo import Tempo, tempi

__all__ = ["Sound", "placed", "played_length", "played_tempi", "sounds"]

_WOOD_BLOCK = 76
_DEFAULT_TEMPO = mpq(120)  # quarters a minute: what a file without tempo means


@dataclass(frozen=True, slots=True)
class Sound:
    """One key held down from ``start`` to ``end`` (whole notes, repeats played out)."""

    key: int
    start: mpq
    end: mpq
    percussion: bool


def sounds(part: Part, bars: Sequence[Bar], order: Sequence[int]) -> Iterator[Sound]:
    """What one part plays; a note tied in goes on sounding where the same key is held for it."""
    turns = [(mark.onset, mark.transpose) for mark in part.marks if mark.transpose is not None]
    turns.sort()
    moments = [moment for moment, _ in turns]
    by_bar: dict[int, list[tuple[mpq, mpq, int, bool, bool, bool]]] = {}
    for voice in part.voices:
        for event in voice.events:
            if event.is_rest or event.cue or not event.duration:
                continue
            at = bisect_right(moments, event.onset)
            higher = turns[at - 1][1] if at else 0
            for note in event.notes:
                percussion = note.pitch is None
                key = _WOOD_BLOCK if note.pitch is None else _key(note.pitch.midi + higher)
                by_bar.setdefault(event.bar, []).append(
                    (event.onset, event.end, key, note.tie_in, note.tie_out, percussion)
                )
    held: dict[int, Sound] = {}
    for shift, index in placed(bars, order):
        for onset, end, key, tie_in, tie_out, percussion in sorted(by_bar.get(index, ())):
            start, stop = onset + shift, end + shift
            waiting = held.pop(key, None)
            if waiting is not None:
                if tie_in and waiting.end == start:
                    start = waiting.start
                else:
                    yield waiting
            sound = Sound(key, start, stop, percussion)
            if tie_out:
                held[key] = sound
            else:
                yield sound
    yield from held.values()


def _key(semitones: mpq) -> int:
    return min(127, max(0, int((semitones + mpq(1, 2)).__floor__())))


def placed(bars: Sequence[Bar], order: Sequence[int]) -> Iterator[tuple[mpq, int]]:
    """For every bar as played: how far later it comes than it is written, and its index."""
    start = mpq(0)
    for index in order:
        yield start - bars[index].start, index
        start += bars[index].length


def played_length(bars: Sequence[Bar], order: Sequence[int]) -> mpq:
    """How long it all lasts, repeats played out."""
    return sum((bars[index].length for index in order), mpq(0))


def played_tempi(score: Score, order: Sequence[int]) -> list[tuple[mpq, mpq]]:
    """Every tempo with its moment, in order, in quarters a minute; the first one at 0."""
    by_bar: dict[int, list[Tempo]] = {}
    for tempo in tempi(score):
        by_bar.setdefault(tempo.bar, []).append(tempo)
    found = [
        (tempo.moment + shift, tempo.quarters)
        for shift, index in placed(score.bars, order)
        for tempo in by_bar.get(index, ())
    ]
    if not found or found[0][0] > 0:
        found.insert(0, (mpq(0), _DEFAULT_TEMPO))
    return found
