"""Notes that rounding left a little beside their place.

Forwards and backups are counted in rounded ticks too, and a note or rest without a type lasts
nothing but ticks. Where that leaves an onset within rounding of a place where another note stands,
or of the grid of the voice's own values, that is where it stands on the page.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Mapping

from gmpy2 import mpq

from rhythm.exact.values import NOTE_TYPES
from rhythm.formats.musicxml.read.note_reader import Written
from rhythm.formats.musicxml.read.tick_cursor import Belief

__all__ = ["places_near"]

_FINE = 128
_COARSEST = mpq(1, 16)  # a voice of long notes may begin on any sixteenth

Entries = list[tuple[int, Written]]


def places_near(voices: Mapping[str, Entries], grain: mpq, end: mpq) -> dict[int, Belief]:
    """What to believe of the notes that stand beside a place, by their place in the bar.

    ``grain`` is the part's, ``end`` the end of the bar's metre.
    """
    places = {mpq(0), end}
    for notes in voices.values():
        places.update(_firm_places(notes))
    firm = sorted(places)
    found: dict[int, Belief] = {}
    for notes in voices.values():
        grids = _grids(notes)
        reached = mpq(0)
        for place, note in notes:
            if note.offset != reached:
                near = _nearest(note.offset, grids, firm, grain)
                if near != note.offset:
                    found[place] = Belief(offset=near)
            reached = note.end
            unseen = note.kind != "rest" and (note.hidden or note.cue)
            if note.type or note.value is None or unseen or place in found:
                continue  # a hidden trill keeps its shape
            near = _nearest(note.end, grids, firm, grain)
            if near not in (note.end, note.offset):
                found[place] = Belief(near - note.offset, remark="rounded")
    return found


def _is_fine(place: mpq) -> bool:
    return (place * _FINE).denominator == 1


def _firm_places(notes: Entries) -> set[mpq]:
    """Where the notes of a voice stand that follow one another from a plain place on."""
    found: set[mpq] = set()
    reached, sure = mpq(0), True
    for _, note in notes:
        sure = (sure and note.offset == reached) or _is_fine(note.offset)
        if sure:
            found.add(note.offset)
        sure = sure and bool(note.type)
        reached = note.end
        if sure:
            found.add(reached)
    return found


def _grids(notes: Entries) -> list[mpq]:
    """The steps of a voice: its shortest written value, and the same in each of its ratios."""
    least = min((NOTE_TYPES[note.type] for _, note in notes if note.type), default=_COARSEST)
    least = min(least, _COARSEST)
    ratios = {note.ratio for _, note in notes if note.ratio[0] != note.ratio[1]}
    return [least, *(least * normal / actual for actual, normal in sorted(ratios))]


def _nearest(place: mpq, grids: list[mpq], firm: list[mpq], grain: mpq) -> mpq:
    """The place that is meant, or this one itself where none is within rounding.

    ``firm`` are the places that are known, in order.
    """
    at = bisect_left(firm, place)
    if firm[at : at + 1] == [place] or any((place / step).denominator == 1 for step in grids):
        return place
    slack = min(max(2 * grain, grids[0] / 32), grids[0] / 8)
    near = min(firm[max(at - 1, 0) : at + 1], key=lambda each: abs(each - place))
    if abs(near - place) <= slack:
        return near
    for step in grids:
        near = step * int(place / step + mpq(1, 2))
        if abs(near - place) <= slack:
            return near
    return place
