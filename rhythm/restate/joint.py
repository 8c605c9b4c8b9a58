"""Where every position of a bar goes: one fit for all voices of all parts.

What any visible voice begins or ends at one instant comes to one place, so that what is struck
together stays together. Where a note only ends, another voice's note may come to begin. Hidden and
cue voices, and silence between rests, take no part in the fit: they follow, linearly between its
instants.

Conventions
-----------
Positions are offsets from the bar's start, in whole notes, before and after.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Sequence
from itertools import pairwise

from gmpy2 import mpq

from rhythm.exact.metre import Metre
from rhythm.exact.tree import Node
from rhythm.restate.align import Lilt
from rhythm.restate.fit import Line, fit_bar
from rhythm.restate.positions import VoiceBar
from rhythm.restate.targets import BarMap
from rhythm.score.model import Bar

__all__ = ["Fitted", "Fitter", "Shape", "shape_of"]

Shape = tuple[tuple[mpq, ...], tuple[tuple[mpq, mpq], ...], bool, tuple[mpq, ...]]
"""A voice's instants in a bar, the spans of its tuplets, whether it is held into the bar, and the
instants at which it only ends something."""


def shape_of(slot: VoiceBar) -> Shape:
    """What takes part in the fit of what a voice holds in a bar."""
    instants = slot.shown - slot.seams
    ends = tuple(sorted(instants - slot.struck))
    return tuple(sorted(instants)), tuple(sorted(slot.tuplets)), slot.held, ends


class Fitted:
    """The fitted bar: where its instants went, and where everything between them goes."""

    def __init__(
        self, places: dict[mpq, mpq], bar: Bar, bar_map: BarMap, shapes: tuple[Shape, ...]
    ) -> None:
        """``places`` are those of the instants; ``shapes`` what was fitted together."""
        self.places = places
        self.shapes = shapes
        self.bar, self.bar_map = bar, bar_map
        self._shift, self._map = bar.shift, bar_map
        self._base = bar_map(bar.shift)
        ends = {mpq(0): mpq(0), bar.length: self.exact(bar.length)}
        spine: list[tuple[mpq, mpq]] = []
        for position, place in sorted({**ends, **places}.items()):
            # Where a tuplet and a plain division met, one of them carries on.
            if not spine or place > spine[-1][1]:
                spine.append((position, place))
        self._from = [position for position, _ in spine]
        self._to = [place for _, place in spine]
        self.still = self._from == self._to and len(spine) > 1

    def exact(self, position: mpq) -> mpq:
        """The map's own image of a position."""
        return self._map(position + self._shift) - self._base

    def between(self, position: mpq) -> mpq:
        """A position between the instants keeps its proportion; outside it takes the map."""
        at = bisect_right(self._from, position)
        if at == 0 or at == len(self._from):
            known = at and self._from[-1] == position
            return self._to[-1] if known else self.exact(position)
        (x0, x1), (y0, y1) = self._from[at - 1 : at + 1], self._to[at - 1 : at + 1]
        return y0 + (position - x0) * (y1 - y0) / (x1 - x0)

    def __call__(self, position: mpq) -> mpq:
        """Where a mark goes: with what begins or ends there, else by the map, in its order."""
        found = self.places.get(position)
        if found is not None:
            return found
        if position <= 0:
            return position
        image = self.exact(position)
        at = bisect_left(self._from, position)
        if 0 < at < len(self._from) and not self._to[at - 1] < image < self._to[at]:
            return self.between(position)
        return image

    def image(self, slot: VoiceBar) -> dict[mpq, mpq]:
        """Where every position of a voice goes, in their order."""
        ordered = sorted(slot.positions)
        known = self.places
        image = {p: known[p] if p in known else self.between(p) for p in ordered}
        if _rises(image.values()):
            return image
        image = self._around(slot, ordered)
        if _rises(image.values()):
            return image
        image = {p: self.between(p) for p in ordered}
        if _rises(image.values()):
            return image
        return {p: self.exact(p) for p in ordered}

    def _around(self, slot: VoiceBar, ordered: Sequence[mpq]) -> dict[mpq, mpq]:
        """What the voice shows where it was fitted, all else in proportion between that."""
        shown = sorted(p for p in slot.shown - slot.seams if p in self.places)
        found = {p: self.places[p] for p in shown}
        for p in ordered:
            at = bisect_left(shown, p)
            if p in found:
                continue
            if not 0 < at < len(shown):
                found[p] = self.between(p)
                continue
            a, b = shown[at - 1], shown[at]
            found[p] = found[a] + (p - a) * (found[b] - found[a]) / (b - a)
        return {p: found[p] for p in ordered}


def _rises(places: Iterable[mpq]) -> bool:
    return all(before < after for before, after in pairwise(places))


class Fitter:
    """Fits bars to the target's grid, remembering every bar it has seen."""

    def __init__(self, mode: str | None, lilt: Lilt) -> None:
        """``mode`` None: idiomatic, unless ``lilt`` is a ratio that splits the beat on no grid."""
        self._mode = mode
        self._lilt = lilt
        self._known: dict[object, dict[mpq, mpq]] = {}

    def fit(self, slots: Sequence[VoiceBar], bar: Bar, bar_map: BarMap) -> Fitted:
        """The bar with these voices, of whatever part, as it is restated."""
        shapes = tuple(sorted(shape_of(slot) for slot in slots if slot.shown))
        return Fitted(self.places(shapes, bar, bar_map), bar, bar_map, shapes)

    def places(self, shapes: tuple[Shape, ...], bar: Bar, bar_map: BarMap) -> dict[mpq, mpq]:
        """Where the instants of voices go when they are fitted together."""
        key = (id(bar_map), bar.shift, bar.length, shapes)
        known = self._known.get(key)
        if known is None:
            known = self._known[key] = self._fit(shapes, bar, bar_map)
        return known

    def _fit(self, shapes: tuple[Shape, ...], bar: Bar, bar_map: BarMap) -> dict[mpq, mpq]:
        shift, span = bar.shift, bar_map.source.length
        base = bar_map(shift)
        places: dict[mpq, mpq] = {}
        turns: dict[int, list[Line]] = {}
        for instants, tuplets, held, ends in shapes:
            by_turn: dict[int, list[mpq]] = {}
            for position in instants:
                by_turn.setdefault(int((position + shift) // span), []).append(position + shift)
            for turn, group in by_turn.items():
                start = turn * span
                spans = [(a + shift - start, b + shift - start) for a, b in tuplets]
                inside = tuple((a, b) for a, b in spans if a >= 0 and b <= span)
                reaches = held or turn > 0 or group[0] == shift
                here = tuple(position - start for position in group)
                first = bisect_left(ends, start - shift)
                last = bisect_right(ends, start + span - shift)
                silent = frozenset(p + shift - start for p in ends[first:last])
                turns.setdefault(turn, []).append(Line(here, inside, reaches, silent))
        for turn, lines in turns.items():
            start, offset = turn * span - shift, turn * bar_map.written.length - base
            edges = [shift - turn * span, shift + bar.length - turn * span]
            for position, place in self._fit_turn(lines, edges, bar_map).items():
                places[position + start] = offset + bar_map.put(place)
        # Nothing may pass the bar line: the end of the bar goes to the end of the bar.
        if bar.length in places:
            places[bar.length] = bar_map(bar.length + shift) - base
        return places

    def _fit_turn(
        self, lines: Sequence[Line], edges: Sequence[mpq], bar_map: BarMap
    ) -> dict[mpq, mpq]:
        mode = self._mode or _usual_mode(bar_map.target, self._lilt)
        if bar_map.refit is not None:
            places = bar_map.refit(lines, mode)
            for node in bar_map.source.beat_nodes:
                # A bar that begins or ends inside a beat keeps what it has of it.
                if any(node.start < edge < node.end for edge in edges):
                    places.update((p, p) for p in places if node.start < p < node.end)
            return places
        source, target = bar_map.source, bar_map.target
        places = fit_bar(
            lines,
            bar_map.warp,
            source,
            target,
            fixed=edges,
            mode=mode,
            finest=2 if bar_map.duple else 8,
        )
        if bar_map.duple:
            for node, image in zip(source.beat_nodes, target.beat_nodes, strict=True):
                if node.ternary and any(_in_thirds(line, node) for line in lines):
                    scale = image.length / node.length
                    inside = [p for p in places if node.start < p < node.end]
                    places |= {p: image.start + (p - node.start) * scale for p in inside}
        return places


def _in_thirds(line: Line, beat: Node) -> bool:
    """Does a voice divide the beat in its own three? Duplets leave such a beat alone."""
    return {part.start for part in beat.children[1:]} <= set(line.positions)


def _usual_mode(target: Metre, lilt: Lilt) -> str:
    """``ratio`` where the split of some beat would fall beside its half divisions.

    ``foot`` where it falls on one of them that a plain pair does not have.
    """
    mode = "idiomatic"
    for node in target.beat_nodes:
        share = lilt.share_of(node.ternary)
        if share is None:
            continue
        if (share * 2 * len(node.children)).denominator != 1:
            return "ratio"
        if node.ternary and share.denominator == 6:
            mode = "foot"
    return mode
