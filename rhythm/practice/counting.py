"""Counting a rhythm aloud: which syllable is said on every note, written under it as a verse.

Numbers, takadimi and gordon name the place of an onset in its beat, in simple, compound and
additive metres and in tuplets; kodaly names values. With numbers, beats on which nothing begins
are counted in brackets: a half note on the first beat is ``1 (2)``, a quarter rest there ``(1)``.

Conventions
-----------
Beats are those of the metre in force, numbered from 1 in every bar; an upbeat counts from its
place in the metre. A bar without metre is counted in quarters. A tied note is one note.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Collection, Container, Iterable, Sequence
from dataclasses import dataclass
from itertools import islice

from gmpy2 import mpq

from rhythm.exact.errors import RequestError
from rhythm.exact.metre import Metre
from rhythm.practice.kodaly import Stroke, names
from rhythm.practice.syllables import SYSTEMS, syllable
from rhythm.score.model import Addition, Bar, Event, Part, Score, Voice

__all__ = ["count", "free_verse", "syllables"]

_QUARTERS = Metre.parse("4/4")


@dataclass(frozen=True, slots=True)
class _Beat:
    """A beat, or what a bar holds of it: ``seen`` from there, though it may ``start`` before."""

    seen: mpq
    start: mpq
    length: mpq
    ternary: bool
    number: int
    bar: int


def _beats(bars: Iterable[Bar]) -> list[_Beat]:
    """Every beat of the timeline; a bar longer than its metre counts on."""
    found = []
    for bar in bars:
        metre = bar.metre if bar.metre is not None and bar.metre.length else _QUARTERS
        at, number = bar.start - bar.shift, 0
        while at < bar.end:
            for node in metre.beat_nodes:
                number += 1
                if at + node.length > bar.start and at < bar.end:
                    seen = max(at, bar.start)
                    found.append(_Beat(seen, at, node.length, node.ternary, number, bar.index))
                at += node.length
    return found


def _counted(event: Event) -> bool:
    return event.visible and event.duration > 0


def _third(event: Event, beat: _Beat) -> int | None:
    """Where in a triplet a note stands: 0, 1, 2, or None where it is in none."""
    for piece in event.pieces[:1]:
        for tuplet in piece.tuplets:
            if tuplet.actual == 3 and tuplet.length:
                third = (piece.offset - tuplet.offset) * 3 / tuplet.length
                return int(third) if third.denominator == 1 else None
    if event.pieces or beat.ternary or event.duration.denominator % 3:
        return None
    third = (event.onset - beat.start) * 3 / beat.length
    return int(third) if third.denominator == 1 else None


def syllables(events: Sequence[Event], bars: Sequence[Bar], system: str) -> tuple[str, ...]:
    """What is said on each event of one voice, "" where nothing is.

    ``system`` is one of numbers, takadimi, gordon, kodaly. Hidden and cue notes and grace groups
    say nothing. Raises RequestError for another system.
    """
    if system not in SYSTEMS:
        raise RequestError(f"no counting system {system!r}", legal="one of " + ", ".join(SYSTEMS))
    beats = _beats(bars)
    starts = [beat.seen for beat in beats]

    def beat_of(event: Event) -> _Beat:
        return beats[max(bisect_right(starts, event.onset) - 1, 0)]

    if not beats:
        return ("",) * len(events)
    sounding = [i for i, event in enumerate(events) if _counted(event) and not event.is_rest]
    texts = [""] * len(events)
    if system == "kodaly":
        bar_starts = {bar.index: bar.start for bar in bars}
        strokes = []
        for i in sounding:
            event, beat = events[i], beat_of(events[i])
            offset = event.onset - bar_starts[beat.bar]
            strokes.append(
                Stroke(beat.bar, offset, event.duration, beat.ternary, _third(event, beat))
            )
        for i, name in zip(sounding, names(strokes), strict=True):
            texts[i] = name
        return tuple(texts)
    places: dict[mpq, set[mpq]] = defaultdict(set)
    for event in filter(_counted, events):
        beat = beat_of(event)
        places[beat.start].add((event.onset - beat.start) / beat.length)
    for i in sounding:
        beat = beat_of(events[i])
        place = (events[i].onset - beat.start) / beat.length
        texts[i] = syllable(system, place, places[beat.start], beat.ternary, beat.number)
    if system == "numbers":
        _silent_beats(events, beats, starts, texts)
    return tuple(texts)


def _silent_beats(
    events: Sequence[Event], beats: list[_Beat], starts: list[mpq], texts: list[str]
) -> None:
    """Add the beats on which nothing begins, in brackets, to what is held or silent over them."""
    struck = {event.onset for event in events if _counted(event) and not event.is_rest}
    for i, event in enumerate(events):
        if not _counted(event):
            continue
        at = bisect_right(starts, event.onset) - 1
        first = at if at >= 0 and starts[at] == event.onset and event.is_rest else at + 1
        silent = []
        for beat in islice(beats, max(first, 0), bisect_left(starts, event.end)):
            if beat.start == beat.seen and beat.start not in struck:
                silent.append(f"({beat.number})")
        texts[i] = " ".join(filter(None, [texts[i], *silent]))


def free_verse(events: Iterable[Event]) -> str:
    """The number of a lyric verse that none of these events has: "1" where there are no lyrics."""
    used: set[str] = set()
    for event in events:
        used.update(event.verses)
        used.update(a.number or "1" for a in event.additions if a.kind == "lyric")
    numbers = [int(verse) for verse in used if verse.isdecimal()]
    return str(max(numbers, default=len(used)) + 1)


def _first_sounding(part: Part, bars: Container[int]) -> str | None:
    for voice in part.voices:
        if any(e.bar in bars and _counted(e) and not e.is_rest for e in voice.events):
            return voice.name
    return None


def count(
    score: Score,
    system: str = "numbers",
    part: str | None = None,
    voice: str | None = None,
    *,
    bars: Collection[int] | None = None,
) -> Score:
    """The score with what is counted under its notes, as a lyric verse of its own.

    ``part`` is an id or a name, ``voice`` a voice's name; by default every part's first voice that
    sounds there is counted. ``bars`` are the indices of the bars to write under, None all of them;
    the others stay as they are. Lyrics that are there keep their verse. Raises RequestError where
    there is no such part or voice, or no such system.
    """
    chosen = range(len(score.bars)) if bars is None else frozenset(bars)
    changed = {}
    for i, each in enumerate(score.parts):
        if part is not None and part not in (each.id, each.name):
            continue
        wanted = voice if voice is not None else _first_sounding(each, chosen)
        if wanted is not None and any(line.name == wanted for line in each.voices):
            changed[i] = _count_part(each, wanted, system, chosen)
    if not changed and (part is not None or voice is not None):
        named = ", ".join(f"{p.id} ({'/'.join(v.name for v in p.voices)})" for p in score.parts)
        raise RequestError(
            "there is no "
            + " ".join(
                f"{what} {name!r}" for what, name in (("part", part), ("voice", voice)) if name
            ),
            legal=f"one of {named}",
        )
    return score.map_parts(changed)


def _count_part(part: Part, name: str, system: str, chosen: Container[int]) -> Part:
    verse = free_verse(event for line in part.voices for event in line.events)
    touched: set[int] = set()
    voices = []
    for line in part.voices:
        if line.name != name:
            voices.append(line)
            continue
        events = []
        for event, text in zip(line.events, syllables(line.events, part.bars, system), strict=True):
            if text and event.bar in chosen:
                touched.add(event.bar)
                lyric = Addition("lyric", text, verse)
                event = event.replace(additions=(*event.additions, lyric))
            events.append(event)
        voices.append(Voice(line.name, tuple(events)))
    bars = tuple(bar.replace(source=None) if bar.index in touched else bar for bar in part.bars)
    return part.replace(bars=bars, voices=tuple(voices))
