"""Devices that move notes against the beat: swing, dotting, syncopation.

Swing, dotting and their reverses look at spans of two (or three) equal units on the metre's grid,
voice by voice: a span whose notes begin and end only where the device expects is changed, any other
is left. Onsets and ends move together, so no gap or overlap arises. Marks go with their notes.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Mapping

from gmpy2 import mpq

from rhythm.devices.durations import dotted_pair, swung_pair
from rhythm.exact.errors import MusicError, RequestError
from rhythm.exact.values import format_value
from rhythm.rebar.bar_plan import starts
from rhythm.rebar.passage import Passage, PlacedEvent, VoiceLine

__all__ = ["dotting", "overdotting", "straightening", "swing", "syncopation"]

_HALF = mpq(1, 2)


def swing(passage: Passage, long: int = 2, short: int = 1, unit: mpq | None = None) -> Passage:
    """Pairs of equal ``unit`` notes played ``long`` to ``short``; the unit is half a beat.

    Arithmetic: in a span d the middle moves from d/2 to d·r/(r+s). Undone by straightening with
    the same ratio. Source: swing measured from 3.5:1 to 1:1 (Friberg and Sundström 2002); notes
    inégales 3:2, 2:1, 3:1. Example: 1/8 1/8 at 2:1 is 1/6 1/12. Beats with other notes are left.
    """
    first, _ = swung_pair(mpq(1), long, short)
    return _in_spans(passage, unit, {(_HALF,): (first,)})


def straightening(
    passage: Passage, long: int = 2, short: int = 1, unit: mpq | None = None
) -> Passage:
    """Pairs that last ``long`` to ``short`` made equal: swing undone.

    Arithmetic: in a span d the note at d·r/(r+s) moves to d/2. Source: as swing. Example: 1/6 1/12
    at 2:1 is 1/8 1/8; 3/16 1/16 at 3:1 is 1/8 1/8.
    """
    first, _ = swung_pair(mpq(1), long, short)
    return _in_spans(passage, unit, {(first,): (_HALF,)})


def dotting(passage: Passage, unit: mpq | None = None) -> Passage:
    """Pairs of equal notes dotted; three equal notes of a ternary beat made a siciliano.

    Arithmetic: 1/2 1/2 of a span becomes 3/4 1/4; 1/3 x3 becomes 1/2 1/6 1/3. Source: common
    practice. Example: 1/8 1/8 is 3/16 1/16; 1/8 1/8 1/8 in 6/8 is 3/16 1/16 1/8. Undone, for
    pairs, by straightening 3:1.
    """
    long, _ = dotted_pair(mpq(1))
    thirds = (mpq(1, 3), mpq(2, 3))
    return _in_spans(passage, unit, {(_HALF,): (long,), thirds: (_HALF, mpq(2, 3))}, ternary=True)


def overdotting(passage: Passage, unit: mpq | None = None) -> Passage:
    """Dotted pairs double-dotted, the short note as late as can be.

    Arithmetic: 3/4 1/4 of a span becomes 7/8 1/8. Source: Quantz 1752 (from memory). Example:
    3/16 1/16 is 7/32 1/32. Undone by straightening 7:1, then dotting.
    """
    single, _ = dotted_pair(mpq(1))
    double, _ = dotted_pair(mpq(1), 2)
    return _in_spans(passage, unit, {(single,): (double,)})


def _in_spans(
    passage: Passage,
    unit: mpq | None,
    moves: Mapping[tuple[mpq, ...], tuple[mpq, ...]],
    *,
    ternary: bool = False,
) -> Passage:
    """Move the inner positions of every span of two units from a key of ``moves`` to its value.

    Positions are fractions of the span. Without a unit the spans are the metre's beats: those of
    two parts, with ``ternary`` those of three too.
    """
    if unit is not None and unit <= 0:
        raise RequestError(f"a unit of {format_value(unit)}", legal="a value above 0, such as 1/8")
    spans = list(_spans(passage, unit, ternary))
    if not spans:
        raise MusicError("no beat of the metre has two halves", legal="name a unit, such as 1/16")

    def change(strand: VoiceLine) -> Iterator[PlacedEvent]:
        held = _positions(strand)
        gaps = _gaps(strand)
        table: dict[mpq, mpq] = {}
        for start, length in spans:
            inside = held[bisect_right(held, start) : bisect_left(held, start + length)]
            if bisect_left(gaps, start) != bisect_left(gaps, start + length):
                continue
            places = tuple((at - start) / length for at in inside)
            if places in moves:
                table.update(
                    (at, start + to * length) for at, to in zip(inside, moves[places], strict=True)
                )
        for each in strand.laid:
            onset = table.get(each.onset, each.onset)
            end = table.get(each.end, each.end)
            moved = onset != each.onset or end != each.end
            yield each.at(onset, end - onset) if moved else each

    return passage.each(change)


def _positions(strand: VoiceLine) -> list[mpq]:
    return sorted({at for each in strand.laid for at in (each.onset, each.end)})


def _gaps(strand: VoiceLine) -> list[mpq]:
    """Where the strand falls silent without a rest: a pair that begins there is no pair."""
    found: list[mpq] = []
    end = mpq(0)
    for each in sorted(strand.laid, key=lambda each: each.onset):
        if each.onset > end:
            found.append(end)
        end = max(end, each.end)
    return [*found, end]


def _spans(passage: Passage, unit: mpq | None, ternary: bool) -> Iterator[tuple[mpq, mpq]]:
    """Start and length of every span on the grid of the planned bars."""
    for bar, start in zip(passage.bars, starts(passage.bars), strict=True):
        if bar.metre is None or not bar.metre.length:
            continue
        if unit is not None:
            span = 2 * unit
            at = -(-bar.shift // span) * span
            while at + span <= bar.shift + bar.length:
                yield start + at - bar.shift, span
                at += span
            continue
        for node in bar.metre.beat_nodes:
            if node.ternary and not ternary:
                continue
            if bar.shift <= node.start and node.end <= bar.shift + bar.length:
                yield start + node.start - bar.shift, node.length


def syncopation(passage: Passage, value: mpq | None = None) -> Passage:
    """Notes on the beat come early by ``value`` (half a beat), taken from the note before.

    Arithmetic: an onset on a beat, not the first of a bar, moves to onset - v where the note before
    it lasts longer than v; that note ends as much earlier. Source: common practice (anticipation).
    Example: 1/4 x4 is 1/8 1/4 1/4 3/8. The order is kept and so is each bar's first note.
    """
    if value is not None and value <= 0:
        raise RequestError(f"a value of {format_value(value)}", legal="above 0, such as 1/8")
    beats: dict[mpq, mpq] = {}
    for bar, start in zip(passage.bars, starts(passage.bars), strict=True):
        if bar.metre is None or not bar.metre.length:
            continue
        for node in bar.metre.beat_nodes:
            if bar.shift < node.start < bar.shift + bar.length:
                early = value or node.length / (3 if node.ternary else 2)
                beats[start + node.start - bar.shift] = early

    def change(strand: VoiceLine) -> Iterator[PlacedEvent]:
        laid = list(strand.laid)
        for i in range(1, len(laid)):
            before, each = laid[i - 1], laid[i]
            early = beats.get(each.onset)
            held = strand.laid[i - 1]
            if early and each.sounds and held.sounds and held.end == each.onset:
                if held.duration <= early or before.duration <= early:
                    continue
                laid[i - 1] = before.at(before.onset, before.duration - early)
                laid[i] = each.at(each.onset - early, each.duration + early)
        return iter(laid)

    return passage.each(change)
