"""Where every position of a bar goes: the exact image of its map, fitted voice by voice.

Conventions
-----------
Positions are offsets from the bar's start, in whole notes. A voice's *positions* in a bar are the
places where its events begin or end; the map of positions is strictly increasing, so events keep
their order, never overlap where they did not, and leave no gap where there was none.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from gmpy2 import mpq

from rhythm.exact.metre import Metre
from rhythm.notate.tremolos import tremolo_pairs
from rhythm.restate.fit import fit_bar
from rhythm.restate.targets import BarMap
from rhythm.score.model import Bar, Event, Piece, Voice

__all__ = ["Fitter", "Reach", "VoiceBar", "voice_bars"]

Interval = tuple[mpq, mpq]

Reach = tuple[mpq, int, mpq]
"""Where an event begins in its bar, the bar it ends in, and where in that."""


@dataclass(slots=True)
class VoiceBar:
    """What one voice holds in one bar: positions, rests' inner seams, spans of tuplets.

    ``seams`` are positions between two adjacent rests: nothing sounds there, so they do not take
    part in the fit. ``held`` says that an event of an earlier bar sounds on into this one.
    """

    positions: set[mpq]
    seams: set[mpq]
    tuplets: set[Interval]
    held: bool = False


def _slot(found: dict[int, VoiceBar], index: int) -> VoiceBar:
    slot = found.get(index)
    if slot is None:
        slot = found[index] = VoiceBar(set(), set(), set())
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
            reached = None
        offset = event.onset - start
        if offset != reached:
            slot.positions.add(offset)
        last, end = _end_of(event, bars)
        reaches.append((offset, last, end))
        if last == index:
            slot.positions.add(end)
            reached = end
        else:
            _slot(found, last).positions.add(end)
            for later in range(index + 1, last + 1):
                _slot(found, later).held = True
        for piece in event.pieces:
            if piece.tuplets and piece.ratio != (1, 1):
                _add_tuplet(_slot(found, piece.bar), piece)
        if not event.is_rest or not event.visible:
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


class Fitter:
    """Fits the positions of voices to the target's grid, remembering every bar it has seen."""

    def __init__(self, mode: str | None, share: mpq | None = None) -> None:
        """``mode`` None: idiomatic, unless a ratio's ``share`` of the beat is on no grid."""
        self._mode = mode
        self._share = share
        self._known: dict[object, dict[mpq, mpq]] = {}

    def fit(self, slot: VoiceBar, bar: Bar, bar_map: BarMap) -> dict[mpq, mpq]:
        """The image of every position of ``slot``, as offsets in the restated bar."""
        ordered = tuple(sorted(slot.positions))
        key = (
            id(bar_map),
            bar.shift,
            bar.length,
            ordered,
            tuple(sorted(slot.seams)),
            tuple(sorted(slot.tuplets)),
            slot.held,
        )
        known = self._known.get(key)
        if known is None:
            known = self._known[key] = self._fit(ordered, slot, bar, bar_map)
        return known

    def _fit(
        self, ordered: Sequence[mpq], slot: VoiceBar, bar: Bar, bar_map: BarMap
    ) -> dict[mpq, mpq]:
        shift, span = bar.shift, bar_map.source.length
        base = bar_map(shift)
        inner = [p for p in ordered if p not in slot.seams]
        spans = [(a + shift, b + shift) for a, b in sorted(slot.tuplets)]
        image: dict[mpq, mpq] = {}
        by_turn: dict[int, list[mpq]] = {}
        for position in inner:
            by_turn.setdefault(int((position + shift) // span), []).append(position)
        for turn, group in by_turn.items():
            start = turn * span
            here = [p + shift - start for p in group]
            tuplets = [(a - start, b - start) for a, b in spans if start <= a and b <= start + span]
            edges = [p - start for p in (shift, shift + bar.length)]
            held = slot.held or turn > 0 or group[0] == 0
            fitted = self._fit_turn(here, tuplets, edges, held, bar_map)
            offset = turn * bar_map.written.length
            for position, place in zip(group, fitted, strict=True):
                image[position] = offset + bar_map.put(place) - base
        # Nothing may pass the bar line: the end of the bar goes to the end of the bar.
        if bar.length in image:
            image[bar.length] = bar_map(bar.length + shift) - base
        for seam in sorted(slot.seams):
            image[seam] = _between(image, seam)
        places = [image[position] for position in ordered]
        if any(after <= before for before, after in pairwise(places)):
            # A tuplet over several beats met a note that the fit had moved: the map itself rises.
            return {p: bar_map(p + shift) - base for p in ordered}
        return image

    def _fit_turn(
        self,
        here: Sequence[mpq],
        tuplets: Sequence[Interval],
        edges: Sequence[mpq],
        held: bool,
        bar_map: BarMap,
    ) -> tuple[mpq, ...]:
        mode = self._mode or _usual_mode(bar_map.target, self._share)
        if bar_map.refit is not None:
            return bar_map.refit(here, tuplets, mode)
        return fit_bar(
            here,
            bar_map.warp,
            bar_map.source,
            bar_map.target,
            straight=tuplets,
            fixed=edges,
            held=held,
            mode=mode,
        )


def _usual_mode(target: Metre, share: mpq | None) -> str:
    """``ratio`` where the split of some beat would fall beside its half divisions."""
    if share is None:
        return "idiomatic"
    cells = (2 * len(node.children) for node in target.beat_nodes)
    on_grid = all((share * count).denominator == 1 for count in cells)
    return "idiomatic" if on_grid else "ratio"


def _between(image: dict[mpq, mpq], seam: mpq) -> mpq:
    """A seam between rests keeps its proportion between the fitted positions around it."""
    before = max(p for p in image if p < seam)
    after = min(p for p in image if p > seam)
    share = (seam - before) / (after - before)
    return image[before] + share * (image[after] - image[before])
