"""Double tremolos: two notes that are written at twice their length and sound in turn.

MusicXML writes each of the two with the value of both together and a 2:1 time-modification, which
is multiplied into any tuplet (W3C community report). Spelling knows durations alone; here a pair
that is still a pair is written as one again. Where the two have come apart in length or over a beat
they stay single notes, tremolo signs and all.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from rhythm.exact.values import symbol, symbol_value
from rhythm.score.model import Event, Piece, Score, Voice

__all__ = ["tremolo_pairs", "with_tremolos"]


def tremolo_pairs(events: tuple[Event, ...]) -> Iterator[tuple[int, int]]:
    """The indices of the two notes of every double tremolo of a voice."""
    waiting = -1
    for i, event in enumerate(events):
        if len(event.pieces) != 1 or not event.pieces[0].tremolo:
            continue
        before = events[waiting] if waiting >= 0 else None
        if before is not None and before.end == event.onset and before.bar == event.bar:
            yield waiting, i
            waiting = -1
        else:
            waiting = i


def with_tremolos(before: Score, after: Score) -> Score:
    """``after`` with the tremolos of ``before`` written as such; their sounding events agree."""
    parts = []
    for old, new in zip(before.parts, after.parts, strict=True):
        voices = tuple(map(_voice, old.voices, new.voices))
        parts.append(new if voices == new.voices else new.replace(voices=voices))
    return after.replace(parts=tuple(parts))


def _voice(old: Voice, new: Voice) -> Voice:
    sounding = tuple(event for event in old.events if not event.is_rest)
    if not any(event.pieces and event.pieces[0].tremolo for event in sounding):
        return new
    events = list(new.events)
    places = [i for i, event in enumerate(events) if not event.is_rest]
    for first, second in tremolo_pairs(sounding):
        i, j = places[first], places[second]
        pair = _paired(events[i].pieces, events[j].pieces)
        if pair is not None:
            events[i] = events[i].replace(pieces=(pair[0],))
            events[j] = events[j].replace(pieces=(pair[1],))
    return Voice(new.name, tuple(events))


def _paired(one: tuple[Piece, ...], other: tuple[Piece, ...]) -> tuple[Piece, Piece] | None:
    """Two plain symbols as a tremolo; None where they are not alike or share a beam with others."""
    if len(one) != 1 or len(other) != 1:
        return None
    first, second = one[0], other[0]
    alike = (first.type, first.dots, first.ratio) == (second.type, second.dots, second.ratio)
    own_beam = all(
        words == ("begin", "end") for words in zip(first.beams, second.beams, strict=False)
    )
    twice = symbol(2 * symbol_value(first.type, first.dots)) if alike and first.type else None
    if first.tremolo or twice is None or not own_beam or len(first.beams) != len(second.beams):
        return None
    beams = first.beams[:-1], second.beams[:-1]
    ratio = (2 * first.ratio[0], first.ratio[1])
    made = [
        replace(piece, type=twice[0], dots=twice[1], ratio=ratio, beams=found, tremolo=True)
        for piece, found in zip((first, second), beams, strict=True)
    ]
    return made[0], made[1]
