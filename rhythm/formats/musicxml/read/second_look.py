"""A second look at bars in which the file contradicts itself: what does the page show?

A reader of the page sees types, dots, ratios and a signature, and expects the bar to add up. So a
bar whose written values and ticks disagree, or whose notes stand a little beside every place, is
looked at again when all parts are known. A reading is taken only if with it the voice ends where
the bar does: at the end of its metre, or where the voices that nobody doubts end. Where there is
none, or more than one that is as good, everything stays as it was read, and the remarks say so.

The readings, in the order in which they are tried:

1. every doubted note lasts what is written;
2. every doubted note lasts its ticks;
3. a tuplet is written past its end (:mod:`rhythm.formats.musicxml.read.overrun_tuplets`);
4. some of the doubted notes, in one way only, last what is written;
5. a rest without a type lasts what the rest of the bar leaves to it; where that is nothing, it is
   not seen.

A bar is read again with what was found, first as if backups counted what the notes last, then as
if they counted ticks.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import combinations

from gmpy2 import mpq

from rhythm.formats.musicxml.read.bar_reader import Gathered, read_again
from rhythm.formats.musicxml.read.near_places import places_near
from rhythm.formats.musicxml.read.note_reader import Written, exact_value
from rhythm.formats.musicxml.read.overrun_tuplets import plain_tails
from rhythm.formats.musicxml.read.tick_cursor import Belief, is_open_ended
from rhythm.score.model import Remark

__all__ = ["look_again"]

_ZERO = mpq(0)
_FINEST = 128
_MOST_DOUBTS = 8
_ROUNDS = 4
_BACKUPS = frozenset({"far-backup", "before-start"})
_DOUBTS = frozenset({"contradiction", "negative", "zero"}) | _BACKUPS

Beliefs = dict[int, Belief]
Entries = list[tuple[int, Written]]
"""The notes of one voice with their places among all notes of the bar."""


def look_again(gathered: Sequence[list[Gathered]]) -> None:
    """Replace the bars of every part (in place) of which a second look finds a better reading."""
    for bars in gathered:
        for index, bar in enumerate(bars):
            if bar.astray or any(
                remark.kind in _DOUBTS and not remark.settled for remark in bar.remarks
            ):
                column = [part[index] for part in gathered if index < len(part)]
                targets = _targets(bar, column)
                bars[index] = _settle_places(_settle_values(bar, targets))
                _hide_what_is_over(bars[index], targets)


def _hide_what_is_over(bar: Gathered, targets: Sequence[mpq]) -> None:
    """A rest without a type, as long as no rest is, behind a full bar is no music of the page."""
    for notes in _voices(bar).values():
        last = notes[-1][1]
        if last.hidden or last.laden or last.offset not in targets[:1]:
            continue
        if _is_odd_rest(last):
            last.hidden = True
            over = Remark("odd", last.voice, last.offset, _ZERO, last.duration, settled=True)
            bar.remarks.append(over)


def _targets(bar: Gathered, column: Sequence[Gathered]) -> list[mpq]:
    """Where the bar may end, likeliest first."""
    metre = bar.metre.length if bar.metre else _ZERO
    ends: Counter[mpq] = Counter()
    for each in column:
        doubted = _doubted_voices(each)
        if any(remark.kind in _BACKUPS for remark in each.remarks):
            continue
        for voice, notes in _voices(each).items():
            if voice not in doubted:
                ends[_end(notes)] += 1
    trusted = [end for end, _ in ends.most_common(1) if end > 0]
    if metre in ends or not trusted:
        return [metre] if metre else []
    return [*trusted, metre] if metre else trusted


def _voices(bar: Gathered) -> dict[str, Entries]:
    """The voices that decide: the visible notes, or all where none is visible."""
    found: dict[str, Entries] = {}
    for place, note in enumerate(bar.notes):
        found.setdefault(note.voice, []).append((place, note))
    return found


def _doubted_voices(bar: Gathered) -> set[str]:
    return {note.voice for note in bar.notes if _is_doubted(note) or _is_odd_rest(note)}


def _is_doubted(note: Written) -> bool:
    """Do the type and the ticks of this note disagree by more than rounding?"""
    if not note.type or note.value is None or is_open_ended(note):
        return False
    return note.value <= 0 or note.duration != _written(note)


def _is_odd_rest(note: Written) -> bool:
    """Is this a rest without a type, of a length that no rest has?"""
    if note.kind != "rest" or note.type or note.measure_rest:
        return False
    return (note.duration * _FINEST).denominator != 1


def _written(note: Written) -> mpq:
    return exact_value(note.type, note.dots, *note.ratio)


def _end(notes: Entries) -> mpq:
    seen = [note.end for _, note in notes if not (note.hidden or note.cue)]
    return max(seen or [note.end for _, note in notes])


def _settle_values(bar: Gathered, targets: Sequence[mpq]) -> Gathered:
    """The bar read with what the page shows of its doubted notes, if one reading adds up."""
    doubted = _doubted_voices(bar)
    if not doubted:
        return bar
    voices = _voices(bar)
    for target in targets:
        beliefs: Beliefs = {}
        solved = set()
        for voice in doubted:
            found = next(_readings(voices[voice], target), None)
            if found is not None:
                solved.add(voice)
                beliefs.update(found)
        if not beliefs:
            continue
        for by_page in (True, False):
            tried = {place: replace(each, by_page=by_page) for place, each in beliefs.items()}
            again = read_again(bar, tried)
            ends = {voice: _end(notes) for voice, notes in _voices(again).items()}
            if all(ends[voice] == target for voice in solved) and _is_sound(again, bar, target):
                return again
    return bar


def _is_sound(again: Gathered, bar: Gathered, target: mpq) -> bool:
    """Does no more run over the end, and is no backup left that goes too far?"""
    if any(remark.kind in _BACKUPS and not remark.settled for remark in again.remarks):
        return False
    return _overfull(again, target) <= _overfull(bar, target)


def _overfull(bar: Gathered, target: mpq) -> int:
    return sum(note.end > target for note in bar.notes if not (note.hidden or note.cue))


def _readings(notes: Entries, target: mpq) -> Iterator[Beliefs]:
    """The readings of a voice with which it ends at ``target``, the best first."""
    end = _end(notes)
    doubted = [(place, note) for place, note in notes if _is_doubted(note)]
    owed = {place: _written(note) - note.duration for place, note in doubted}
    all_written = {place: Belief(_written(note)) for place, note in doubted}
    if end + sum(owed.values()) == target:
        yield all_written
    elif end == target:
        yield {}
    else:
        tails = plain_tails(notes, end, target, _is_doubted)
        if tails is not None:
            yield tails
        yield from _some_written(all_written, owed, target - end)
        for beliefs, missing in (
            (all_written, target - end - sum(owed.values())),
            ({}, target - end),
        ):
            yield from _with_a_rest(notes, beliefs, missing)


def _some_written(beliefs: Beliefs, owed: dict[int, mpq], missing: mpq) -> Iterator[Beliefs]:
    """Those doubted notes alone whose written values make good what is missing."""
    if len(owed) > _MOST_DOUBTS:
        return
    found = [
        chosen
        for count in range(1, len(owed))
        for chosen in combinations(owed, count)
        if sum(owed[place] for place in chosen) == missing
    ]
    if len(found) == 1:
        yield {place: beliefs[place] for place in found[0]}


def _with_a_rest(notes: Entries, beliefs: Beliefs, missing: mpq) -> Iterator[Beliefs]:
    """The one rest without a type takes what is missing, if a rest can be as long."""
    rests = [(place, note) for place, note in notes if note.kind == "rest" and not note.type]
    if len(rests) == 1:
        place, note = rests[0]
        length = note.duration + missing
        if length > 0 and (length * _FINEST).denominator == 1:
            kind = "rounded" if 32 * abs(missing) <= length else "odd"
            if kind == "odd" and note.hidden:
                return  # the page shows nothing there that could be longer
            yield {**beliefs, place: Belief(length, remark=kind)}


def _settle_places(bar: Gathered) -> Gathered:
    """The bar with notes that stand within rounding of a place put on it."""
    beliefs = dict(bar.beliefs)
    for _ in range(_ROUNDS):
        if not bar.astray:
            break
        found = places_near(_voices(bar), bar.grain, bar.metre.length if bar.metre else _ZERO)
        fresh = {
            place: belief
            for place, belief in found.items()
            if place not in beliefs or beliefs[place].offset != belief.offset
        }
        if not fresh:
            break
        for place, belief in fresh.items():
            old = beliefs.get(place)
            beliefs[place] = replace(old, offset=belief.offset) if old else belief
        bar = read_again(bar, beliefs)
    return bar
