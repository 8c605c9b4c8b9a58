"""Counting a rhythm aloud: which syllable is said on every note, written under it as a verse.

Numbers, takadimi and gordon name the place of an onset in its beat, in simple, compound and
additive metres and in tuplets; kodaly names values. With numbers, beats on which nothing begins
are counted in brackets: a half note on the first beat is ``1 (2)``, a quarter and its rest too.

Conventions
-----------
Beats are those of the metre in force, numbered from 1 in every bar; an upbeat counts from its
place in the metre. A bar without metre is counted in quarters. A tied note is one note.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Container, Iterable, Iterator, Sequence
from itertools import accumulate, pairwise

from gmpy2 import mpq

from rhythm.exact.errors import RequestError
from rhythm.exact.frozen import dataclass
from rhythm.exact.metre import Metre
from rhythm.exact.nearest import among
from rhythm.exact.values import symbol
from rhythm.practice.kodaly import Stroke, names
from rhythm.practice.syllables import SYSTEMS, Counting, syllable
from rhythm.score.model import Addition, Bar, Event, Mark, Note, Part, Piece, Score, Voice
from rhythm.score.select import Bars, select
from rhythm.score.whole_numbers import whole_number

__all__ = ["count", "count_in_place", "free_verse", "syllables"]

_QUARTERS = Metre.parse("4/4")
_AMONG = 500_000  # behind what stands at the head of a bar, before what closes it


@dataclass(frozen=True, slots=True)
class _Beat:
    """A beat, or what a bar holds of it: ``seen`` from there, though it may ``start`` before."""

    seen: mpq
    start: mpq
    length: mpq
    ternary: bool
    number: int
    bar: Bar
    uneven: bool = False


class _Beats:
    """Every beat of the timeline; a bar longer than its metre counts on."""

    def __init__(self, bars: Iterable[Bar]) -> None:
        self.all: list[_Beat] = []
        for bar in bars:
            metre = bar.metre if bar.metre is not None and bar.metre.length else _QUARTERS
            uneven = len(set(metre.beats)) > 1
            at, number = bar.start - bar.shift, 0
            while at < bar.end:
                for node in metre.beat_nodes:
                    number += 1
                    if at + node.length > bar.start and at < bar.end:
                        seen = max(at, bar.start)
                        beat = _Beat(seen, at, node.length, node.ternary, number, bar, uneven)
                        self.all.append(beat)
                    at += node.length
        self.starts = [beat.seen for beat in self.all]

    def at(self, moment: mpq) -> _Beat:
        """The beat that a moment lies in."""
        return self.all[max(bisect_right(self.starts, moment) - 1, 0)]

    def beginning(self, onset: mpq, end: mpq) -> list[_Beat]:
        """The beats that begin from ``onset`` on and before ``end``."""
        found = self.all[bisect_left(self.starts, onset) : bisect_left(self.starts, end)]
        return [beat for beat in found if beat.start == beat.seen]


def _counted(event: Event) -> bool:
    return event.visible and event.duration > 0


def _is_said(event: Event) -> bool:
    return _counted(event) and not event.is_rest


@dataclass(frozen=True, slots=True)
class _Said:
    """What is said under an event: the words, and how long after its onset they stand."""

    delay: mpq
    words: str


def syllables(events: Sequence[Event], bars: Sequence[Bar], system: str) -> tuple[str, ...]:
    """What is said on each event of one voice, "" where nothing is.

    ``system`` is one of numbers, takadimi, gordon, kodaly. Hidden and cue notes and grace groups
    say nothing. Raises RequestError for another system.
    """
    spoken = _spoken(events, _Beats(bars), system)
    return tuple(" ".join(said.words for said in each) for each in spoken)


def _spoken(events: Sequence[Event], beats: _Beats, system: str) -> Sequence[Sequence[_Said]]:
    if system not in SYSTEMS:
        raise RequestError(f"no counting system {system!r}", legal=among(str(system), SYSTEMS))
    if not beats.all:
        return [[] for _ in events]
    named = _values(events, beats) if system == "kodaly" else _places(events, beats, system)
    if system == "numbers":
        return _with_silent_beats(events, beats, named)
    return [[_Said(mpq(0), name)] if name else [] for name in named]


def _values(events: Sequence[Event], beats: _Beats) -> list[str]:
    """The names of values, for the events that say something; "" for the others."""
    heard = [i for i, event in enumerate(events) if _is_said(event)]
    strokes = []
    for i in heard:
        beat = beats.at(events[i].onset)
        strokes.append(Stroke.of(events[i], beat.bar.start, beat.start, beat.ternary))
    texts = [""] * len(events)
    for i, name in zip(heard, names(strokes), strict=True):
        texts[i] = name
    return texts


def _places(events: Sequence[Event], beats: _Beats, system: str) -> list[str]:
    """The names of places in the beat, for the events that say something; "" for the others."""
    places: dict[mpq, set[mpq]] = defaultdict(set)
    for event in filter(_counted, events):
        beat = beats.at(event.onset)
        places[beat.start].add((event.onset - beat.start) / beat.length)
    texts = [""] * len(events)
    for i, event in enumerate(events):
        if _is_said(event):
            beat = beats.at(event.onset)
            place = (event.onset - beat.start) / beat.length
            texts[i] = syllable(
                system,
                place,
                places[beat.start],
                beat.ternary,
                beat.number,
                uneven=beat.uneven,
            )
    return texts


def _with_silent_beats(
    events: Sequence[Event], beats: _Beats, named: Sequence[str]
) -> list[list[_Said]]:
    """The numbers with the beats on which nothing begins, in brackets.

    Each stands under the note that begins last before it in its bar, a piece tied on counting as
    one; else under the first note after it; in a silent bar under the rest. Not every program
    shows words under a rest.
    """
    struck = {event.onset for event in events if _is_said(event)}
    notes: dict[int, list[tuple[mpq, int]]] = defaultdict(list)  # by bar
    words: list[dict[mpq, list[tuple[mpq, str]]]] = [defaultdict(list) for _ in events]
    for i, event in enumerate(events):
        if _is_said(event):
            words[i][event.onset].append((event.onset, named[i]))
            for moment in _pieces(event, beats):
                notes[beats.at(moment).bar.index].append((moment, i))
    for i, event in enumerate(events):
        if not _counted(event):
            continue
        for beat in beats.beginning(event.onset, event.end):
            if beat.start in struck:
                continue
            struck.add(beat.start)
            near = notes[beat.bar.index]
            passed = [note for note in near if note[0] <= beat.start]
            itself = (max(event.onset, beat.bar.start), i)
            moment, home = max(passed) if passed else min(near, default=itself)
            words[home][moment].append((beat.start, f"({beat.number})"))
    return [
        [
            _Said(at - event.onset, " ".join(word for _, word in sorted(each[at])))
            for at in sorted(each)
        ]
        for event, each in zip(events, words, strict=True)
    ]


def _in_place(events: Sequence[Event], beats: _Beats) -> Iterator[tuple[mpq, str]]:
    """The numbers, each where it is said: the silent beats at their own places, in brackets."""
    struck = {event.onset for event in events if _is_said(event)}
    for event, name in zip(events, _places(events, beats, "numbers"), strict=True):
        if name:
            yield event.onset, name
        if _counted(event):
            for beat in beats.beginning(event.onset, event.end):
                if beat.start not in struck:
                    struck.add(beat.start)
                    yield beat.start, f"({beat.number})"


def count_in_place(score: Score) -> Score:
    """The score with the numbers in a row under each part, every one at its own place.

    Where :func:`count` puts the beats that are held or silent under the note before, here each
    stands at its own moment, under rests too. It is made for pages: a row of words that belong to
    no note is no verse. The first voice of each part that sounds is counted.
    """
    changed = {}
    for index, part in enumerate(score.parts):
        wanted = _first_sounding(part, range(len(part.bars)))
        if wanted is None:
            continue
        beats = _Beats(part.bars)
        line = next(voice for voice in part.voices if voice.name == wanted)
        staff = next((n.staff for e in line.events for n in e.notes if n.staff), "")
        made = [
            Mark(moment, beats.at(moment).bar.index, "counted", _AMONG, staff=staff, text=text)
            for moment, text in sorted(_in_place(line.events, beats), key=lambda each: each[0])
        ]
        marks = sorted((*part.marks, *made), key=lambda m: (m.bar, m.onset, m.order))
        rests = _room(part.bars, [mark.onset for mark in made], staff)
        room = Voice(_free_name(part), tuple(rests))
        changed[index] = part.replace(marks=tuple(marks), voices=(*part.voices, room))
    return score.map_parts(changed)


def _room(bars: Sequence[Bar], moments: Sequence[mpq], staff: str) -> Iterator[Event]:
    """Hidden rests from word to word: they keep the words of a row apart.

    There are none in a bar where a stretch between two words is no plain value.
    """
    for bar in bars:
        places = sorted({bar.start, *(m for m in moments if bar.start <= m < bar.end)})
        spans = list(pairwise([*places, bar.end]))
        written = [symbol(end - place, 2) for place, end in spans]
        for (place, end), sign in zip(spans, written, strict=True):
            if sign is not None and None not in written:
                piece = Piece(bar.index, place - bar.start, end - place, *sign)
                yield Event(
                    place, end - place, bar.index, (Note("rest", staff=staff),), (piece,),
                    hidden=True,
                )  # fmt: skip


def _free_name(part: Part) -> str:
    taken = {voice.name for voice in part.voices}
    return next(name for i in range(1, len(taken) + 2) if (name := str(i)) not in taken)


def _pieces(event: Event, beats: _Beats) -> list[mpq]:
    """When the written pieces of an event begin; one that is not spelled is cut at bar lines."""
    if event.pieces:
        lengths = [piece.duration for piece in event.pieces[:-1]]
        return list(accumulate(lengths, initial=event.onset))
    inner = beats.all[
        bisect_right(beats.starts, event.onset) : bisect_left(beats.starts, event.end)
    ]
    return [event.onset, *(beat.seen for beat in inner if beat.seen == beat.bar.start)]


def free_verse(events: Iterable[Event]) -> str:
    """The number of a lyric verse that none of these events has: "1" where there are no lyrics."""
    used: set[str] = set()
    for event in events:
        used.update(event.verses)
        used.update(a.number or "1" for a in event.additions if a.kind == "lyric")
    numbers = [number for verse in used if (number := whole_number(verse)) is not None]
    return str(max(numbers, default=len(used)) + 1)


def _first_sounding(part: Part, bars: Container[int]) -> str | None:
    for voice in part.voices:
        for event in filter(_is_said, voice.events):
            if event.bar in bars or any(piece.bar in bars for piece in event.pieces):
                return voice.name
    return None


def count(
    score: Score,
    system: Counting = "numbers",
    part: str | None = None,
    voice: str | None = None,
    *,
    bars: str | Bars | None = None,
) -> Score:
    """The score with what is counted under its notes, as a lyric verse of its own.

    ``part`` is an id or a name, ``voice`` a voice's name; by default every part's first voice that
    sounds there is counted. ``bars`` (``5-8``) are those to write under, None all of them; the
    others stay as they are. Lyrics that are there keep their verse. Raises RequestError where
    there is no such part or voice, or no such system.
    """
    asked = select(score, bars=bars, part=part, voice=voice)
    chosen = range(len(score.bars)) if asked.bars is None else asked.bars
    changed = {}
    for p in asked.parts:
        wanted = voice if voice is not None else _first_sounding(score.parts[p], chosen)
        if wanted is not None:
            changed[p] = _count_part(score.parts[p], wanted, system, chosen)
    return score.map_parts(changed)


def _count_part(part: Part, name: str, system: str, chosen: Container[int]) -> Part:
    verse = free_verse(event for line in part.voices for event in line.events)
    beats = _Beats(part.bars)
    voices = []
    for line in part.voices:
        if line.name != name:
            voices.append(line)
            continue
        events = []
        for event, spoken in zip(line.events, _spoken(line.events, beats, system), strict=True):
            lyrics = []
            for said in spoken:
                if beats.at(event.onset + said.delay).bar.index in chosen:
                    lyrics.append(Addition("lyric", said.words, verse, said.delay))
            if lyrics:
                event = event.replace(additions=(*event.additions, *lyrics))
            events.append(event)
        voices.append(Voice(line.name, tuple(events)))
    return part.replace(voices=tuple(voices))
