"""What every voice holds in every bar: where its events begin and end, and what it shows there.

Conventions
-----------
Positions are offsets from the bar's start, in whole notes. A voice's *positions* in a bar are the
places where its events begin or end.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from gmpy2 import mpq

from rhythm.notate.tremolos import tremolo_pairs
from rhythm.score.model import Bar, Event, Piece, Voice

__all__ = ["Reach", "VoiceBar", "voice_bars"]

Interval = tuple[mpq, mpq]

Reach = tuple[mpq, int, mpq]
"""Where an event begins in its bar, the bar it ends in, and where in that."""


@dataclass(slots=True)
class VoiceBar:
    """What one voice holds in one bar: positions, rests' inner seams, spans of tuplets.

    ``shown`` are the positions where something visible begins or ends: only they are fitted, all
    others follow. ``seams`` are positions between two adjacent rests: nothing sounds there, so
    they follow too. ``struck`` are those where a visible note begins. ``held`` says that a visible
    event of an earlier bar sounds on into this one.
    """

    positions: set[mpq]
    shown: set[mpq]
    seams: set[mpq]
    struck: set[mpq]
    tuplets: set[Interval]
    held: bool = False


def _slot(found: dict[int, VoiceBar], index: int) -> VoiceBar:
    slot = found.get(index)
    if slot is None:
        slot = found[index] = VoiceBar(set(), set(), set(), set(), set())
    return slot


def voice_bars(voice: Voice, bars: Sequence[Bar]) -> tuple[dict[int, VoiceBar], list[Reach]]:
    """The positions of a voice, bar by bar; and where each of its events begins and ends."""
    found: dict[int, VoiceBar] = {}
    reaches: list[Reach] = []
    previous: Event | None = None  # a visible rest right before the event
    current = -1
    for event in voice.events:
        index = event.bar
        if index != current:
            current, slot, start = index, _slot(found, index), bars[index].start
        offset = event.onset - start
        last, end = _end_of(event, bars)
        reaches.append((offset, last, end))
        ending = slot if last == index else _slot(found, last)
        slot.positions.add(offset)
        ending.positions.add(end)
        visible = not (event.hidden or event.cue)
        if visible and event.duration > 0:
            slot.shown.add(offset)
            ending.shown.add(end)
            if not event.is_rest:
                slot.struck.add(offset)
            for later in range(index + 1, last + 1):
                _slot(found, later).held = True
            for piece in event.pieces:
                if piece.tuplets and piece.ratio != (1, 1):
                    _add_tuplet(_slot(found, piece.bar), piece)
        if not visible or not event.is_rest:
            previous = None
            continue
        if (
            previous is not None
            and previous.bar == index
            and previous.end == event.onset
            and event.duration > 0
        ):
            slot.seams.add(offset)
        previous = event
    for first, second in tremolo_pairs(voice.events):
        # Both notes of a double tremolo are one symbol: its halves stay halves.
        index = voice.events[first].bar
        found[index].tuplets.add((reaches[first][0], reaches[second][2]))
    return found, reaches


def _add_tuplet(slot: VoiceBar, piece: Piece) -> None:
    for tuplet in piece.tuplets[:1]:
        slot.tuplets.add((tuplet.offset, tuplet.offset + tuplet.length))


def _end_of(event: Event, bars: Sequence[Bar]) -> tuple[int, mpq]:
    """The bar an event ends in and the offset there; a hidden voice may run past its bar."""
    if event.pieces:
        last = event.pieces[-1]
        return last.bar, last.offset + last.duration
    index = event.bar
    while index + 1 < len(bars) and event.end > bars[index].end:
        index += 1
    return index, event.end - bars[index].start
