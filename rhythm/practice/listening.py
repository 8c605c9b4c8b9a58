"""Tasks for the ear: dictation, and which of these did you hear.

Both come with what is to be played. In ``dictation`` the pupil has a staff with bar lines and the
first note, and writes the rest. In ``heard`` the pupil has the music and its near misses
(:mod:`rhythm.practice.near_misses`) side by side, with letters; one of them is played, drawn by
lot. The near misses of a dictation are there to be played too: did the class hear the difference?

Conventions
-----------
What is played has at most four bars in a dictation, and two where several versions stand side by
side, an upbeat not counted. Letters go by a lot of the seed alone.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from gmpy2 import mpq

from rhythm.exact.errors import MusicError
from rhythm.notate.score_notation import spell_score
from rhythm.practice.near_misses import Miss, near_misses
from rhythm.practice.sheet_layout import numbered, unrepeated
from rhythm.practice.task import Task, line_of, lot, part_of, with_voice
from rhythm.score.concatenation import concat, extract
from rhythm.score.model import Bar, Barline, Event, Mark, Note, Score, Voice

__all__ = ["LISTENING", "dictation", "heard"]

LISTENING = ("dictation", "heard")
"""The tasks in which something is played."""

_DICTATED, _COMPARED = 4, 2  # bars
_MISSES = 3
_NARROW = mpq(1, 16)


def _passage(score: Score, most: int) -> Score:
    """The first bars in which something sounds, so many at most."""
    bars = part_of(score).bars
    sounding = [e.bar for e in line_of(score).events if e.visible and not e.is_rest]
    first = min(sounding)
    upbeat = 1 if bars[first].shift else 0
    last = min(len(bars) - 1, first + upbeat + most - 1)
    return extract(score, first, last)


def dictation(score: Score, seed: int, near: str = "") -> Task:
    """A staff with bar lines and the first note, what is played, and two or three near misses."""
    music = _bare(unrepeated(_passage(score, _DICTATED)))
    misses = _some(music, seed, near)
    pupil = _blank(music)
    answer = "; ".join(
        f"near miss {number}, {_where(music, miss)}" for number, miss in enumerate(misses, start=1)
    )
    sounds = (
        ("play", music),
        *((f"miss {number}", miss.score) for number, miss in enumerate(misses, start=1)),
    )
    answer = f"{answer[0].upper()}{answer[1:]}."
    return Task("Write down what you hear.", pupil, music, answer, sounds)


def heard(score: Score, seed: int, near: str = "") -> Task:
    """The music and its near misses side by side; one of them is played."""
    music = _bare(unrepeated(_passage(score, _COMPARED)))
    misses = _some(music, seed, near)
    versions: list[tuple[Score, Miss | None]] = [
        (music, None), *((miss.score, miss) for miss in misses)
    ]  # fmt: skip
    versions.sort(key=lambda each: lot(seed, "letters", *_strokes(each[0])))
    letters = "abcd"[: len(versions)]
    played = lot(seed, "played", *_strokes(music)) % len(versions)
    true = next(i for i, (_, miss) in enumerate(versions) if miss is None)
    told = [
        f"{letter}: {_where(music, miss)}"
        for letter, (_, miss) in zip(letters, versions, strict=True)
        if miss is not None
    ]
    rows = [_lettered(s, letter) for (s, _), letter in zip(versions, letters, strict=True)]
    sounds = (
        ("play", versions[played][0]),
        *((letter, s) for letter, (s, _) in zip(letters, versions, strict=True)),
    )
    key = [*rows]
    key[played] = _lettered(versions[played][0], letters[played], "played")
    answer = f"{letters[played]} is played. {letters[true]} is the music; {'; '.join(told)}."
    return Task("Which one do you hear?", concat(rows), concat(key), answer, sounds)


def _some(music: Score, seed: int, near: str) -> Sequence[Miss]:
    """Three near misses, or two where the music makes no more."""
    try:
        return near_misses(music, _MISSES, seed=seed, near=near)
    except MusicError:
        return near_misses(music, _MISSES - 1, seed=seed, near=near)


def _where(music: Score, miss: Miss) -> str:
    return f"bar {_number(music, miss.bar)} has {miss.instead} ({miss.near})"


def _number(music: Score, index: int) -> str:
    return numbered(part_of(music).bars)[index].number


def _strokes(score: Score) -> list[mpq]:
    return [each for e in line_of(score).events for each in (e.onset, e.duration)]


def _bare(score: Score) -> Score:
    """The music without words, chord symbols and dynamics: they would tell the versions apart."""
    part = part_of(score)
    voice = line_of(score)
    events = tuple(
        event.replace(
            notes=tuple(Note(note.kind, note.pitch, note.staff) for note in event.notes),
            verses=(), graces=(), after=(), additions=(),
        )
        for event in voice.events
    )  # fmt: skip
    kept = ("attributes", "clef", "key", "staff-details", "transpose", "barline", "metronome")
    marks = tuple(mark for mark in part.marks if mark.kind in kept or mark.metronome or mark.tempo)
    bars = tuple(bar.replace(source=None) for bar in part.bars)
    made = score.replace(parts=(part.replace(bars=bars, marks=marks),), relaid=True)
    return with_voice(made, Voice(voice.name, events))


def _blank(music: Score) -> Score:
    """Bar lines and the first note; the rest is unseen notes that keep the room to write."""
    part = part_of(music)
    voice = line_of(music)
    first = next(event for event in voice.events if event.visible and not event.is_rest)
    events = [
        *(e for e in voice.events if e.onset < first.onset),
        first,
        *_unseen(part.bars, first),
    ]
    made = with_voice(music, Voice(voice.name, tuple(events)))
    return spell_score(made, keep=True)


def _unseen(bars: Sequence[Bar], first: Event) -> Iterator[Event]:
    """Hidden notes from the end of the first one on, sixteenth by sixteenth, on its pitch."""
    notes = tuple(Note(note.kind, note.pitch, note.staff) for note in first.notes)
    for bar in bars:
        start = max(bar.start, first.end)
        places, place = [start], _NARROW * (start // _NARROW + 1)
        while place < bar.end:
            places.append(place)
            place += _NARROW
        if start >= bar.end:
            continue
        for place, end in zip(places, [*places[1:], bar.end], strict=True):
            yield Event(place, end - place, bar.index, notes, hidden=True)


def _lettered(score: Score, letter: str, told: str = "") -> Score:
    """A version under its letter, closed by a double bar, without another tempo.

    What is ``told`` of it stands beside the letter.
    """
    part = part_of(score)
    start, last = part.bars[0].start, part.bars[-1]
    marks = [mark for mark in part.marks if mark.kind != "barline"]
    if not letter.startswith("a"):
        marks = [mark for mark in marks if mark.metronome is None and mark.tempo is None]
    marks.append(Mark(start, 0, "rehearsal", order=-7, text=letter))
    marks += [Mark(start, 0, "words", order=-6, text=told)] * bool(told)
    marks.append(Mark(last.end, last.index, "barline", order=10**6, text="light-light"))
    marks.sort(key=lambda mark: (mark.bar, mark.onset, mark.order))
    bars = [*part.bars[:-1], last.replace(right=Barline("light-light"))]
    if not letter.startswith("a"):
        bars[0] = bars[0].replace(shows_metre=False)
    return score.replace(parts=(part.replace(bars=tuple(bars), marks=tuple(marks)),))
