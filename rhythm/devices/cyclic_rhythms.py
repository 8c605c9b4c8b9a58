"""Devices that lay the notes on a given rhythm: isorhythm, resultants, Euclidean rhythms.

The notes of each voice are its color; the given values are the talea, repeated as often as the
color needs. Each section between repeats or double bars begins the talea anew, on the first beat of
a bar of the metre it began with, and its last bar is filled; voices that are through before the
others rest. A note belongs to the section it begins in. It keeps its lyrics and marks; only its
value and place change. Keys, clefs and other marks between notes go to the next note.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import replace

from gmpy2 import mpq

from rhythm.devices.following import Moves, follow
from rhythm.devices.patterns import euclid, intervals, realigns, resultant
from rhythm.devices.scaling import leading
from rhythm.devices.value_lines import (
    Value,
    bare,
    notes_of,
    staff_of,
    values_of,
)
from rhythm.exact.errors import MusicError, RequestError
from rhythm.exact.metre import Metre
from rhythm.rebar.bar_plan import BarPlan, starts
from rhythm.rebar.passage import Passage, PlacedEvent, after, rest
from rhythm.rebar.reordered_ties import retied

__all__ = ["euclidean", "isorhythm", "resultant_rhythm"]

_MOST_NOTES = 4096


def isorhythm(
    passage: Passage, talea: Sequence[tuple[mpq, bool]], *, full: bool = False
) -> Passage:
    """The notes of each voice on a repeated talea of (value, sounds) pairs.

    Arithmetic: note i takes value i mod t; talea (t sounding values) and color (c notes) begin
    together again after lcm(t, c) notes, and ``full`` repeats the color until they do. Source:
    Machaut's motets (De bon espoir: 12 values and 18 notes meet after 36, three taleae and two
    colors); Messiaen, Liturgie de cristal (17 values and 29 chords, 493). Example: C D E F on
    1/4 1/8 is C 1/4, D 1/8, E 1/4, F 1/8.
    """
    if not any(sounds for _, sounds in talea) or any(value <= 0 for value, _ in talea):
        raise RequestError("a talea without a note", legal="values such as 1/4 1/8 rest 1/8 1/2")
    edges = [mpq(0), *passage.breaks, passage.length]
    strands: list[list[PlacedEvent]] = [[] for _ in passage.strands]
    moves: list[list[Moves]] = []
    images = [mpq(0)]
    plan: list[BarPlan] = []
    for start, end in itertools.pairwise(edges):
        at = images[-1]
        ends: list[tuple[mpq, bool]] = []
        moves.append([])
        for found, strand in zip(strands, passage.strands, strict=True):
            values = values_of(strand.laid, start, end)
            color = notes_of(values)
            laid, stop = _on_talea(color, talea, at, full)
            found.extend(laid)
            ends.append((stop, bool(values)))
            moves[-1].append(_moves(color, laid))
        metre = _metre_at(passage, start)
        reach = max(stop for stop, _ in ends) - at
        bar = metre.length if metre is not None else reach
        turns = int(-(-reach // bar)) if reach else 0
        image = at + turns * bar
        plan.extend([BarPlan(bar, metre)] * turns)
        for found, strand, (stop, present) in zip(strands, passage.strands, ends, strict=True):
            if present and stop < image:
                found.append(PlacedEvent(rest(stop, image - stop, staff_of(strand))))
        images.append(image)
    followed = follow(passage, edges, images, moves)
    breaks = sorted({at for at in images if 0 < at < images[-1]})
    notes = sum(1 for each in leading(passage).laid if each.sounds)
    if not notes:
        raise MusicError("there are no notes to lay on the talea")
    sounding = sum(1 for _, sounds in talea if sounds)
    meets = realigns(sounding, notes)
    laid_out = replace(
        passage,
        strands=tuple(s.with_laid(f) for s, f in zip(passage.strands, strands, strict=True)),
        bars=tuple(plan),
        time=after(passage.time, followed),
        frame=after(passage.frame, followed),
        breaks=tuple(breaks),
    )
    told = _said(meets // sounding, "talea", "taleae"), _said(meets // notes, "color", "colors")
    return retied(laid_out).telling(
        f"a talea of {sounding} and a color of {notes} meet again after {meets} notes, "
        f"{told[0]} and {told[1]}"
    )


def _moves(color: Sequence[Value], laid: Sequence[PlacedEvent]) -> Moves:
    """Where every note of the color began and begins, for the first time."""
    sounding = (each for each in laid if each.sounds)
    return [
        (source.laid.onset, each.onset)
        for source, each in zip(color, sounding, strict=False)
        if source.laid is not None
    ]


def _metre_at(passage: Passage, start: mpq) -> Metre | None:
    """The metre of the first bar from ``start`` on; None where it has no length."""
    for bar, at in zip(passage.bars, starts(passage.bars), strict=True):
        if at >= start:
            return bar.metre if bar.metre is not None and bar.metre.length else None
    return None


def _on_talea(
    color: Sequence[Value], talea: Sequence[tuple[mpq, bool]], at: mpq, full: bool
) -> tuple[list[PlacedEvent], mpq]:
    """The color laid on the talea from ``at`` on, and where it ends."""
    if not color:
        return [], at
    sounding = sum(1 for _, sounds in talea if sounds)
    count = realigns(sounding, len(color)) if full else len(color)
    if count > _MOST_NOTES:
        raise MusicError(
            f"talea and color meet again after {count} notes",
            legal=f"at most {_MOST_NOTES} are written; leave out full",
        )
    found: list[PlacedEvent] = []
    placed = 0
    while placed < count:
        for value, sounds in talea:
            if placed == count:
                break
            if not sounds:
                found.append(PlacedEvent(rest(at, value, _staff(color[0]))))
            else:
                source = color[placed % len(color)]
                found.extend(_laid(source, at, value, again=placed >= len(color)))
                placed += 1
            at += value
    return found, at


def _laid(source: Value, at: mpq, value: mpq, *, again: bool) -> list[PlacedEvent]:
    assert source.laid is not None
    if again:
        return [PlacedEvent(bare(source.laid.event).replace(onset=at, duration=value))]
    return [*(each.at(at, mpq(0)) for each in source.before), source.laid.at(at, value)]


def _staff(value: Value) -> str:
    return value.laid.event.notes[0].staff if value.laid is not None else ""


def resultant_rhythm(passage: Passage, a: int, b: int, unit: mpq) -> Passage:
    """The notes on the resultant of ``a`` against ``b``, counted in ``unit``.

    Arithmetic: strokes at all multiples of a and of b up to lcm(a, b); see ``patterns.resultant``.
    Source: Schillinger. Example: 3:2 in eighths is 1/4 1/8 1/8 1/4.
    """
    return isorhythm(passage, [(step * unit, True) for step in resultant(a, b)])


def euclidean(passage: Passage, strokes: int, pulses: int, unit: mpq) -> Passage:
    """The notes on ``strokes`` strokes spread evenly over ``pulses`` pulses of ``unit``.

    Arithmetic: Bjorklund's algorithm, each note lasting until the next stroke; see
    ``patterns.euclid``. Source: Toussaint 2005. Example: 3 in 8 eighths is 3/8 3/8 1/4.
    """
    return isorhythm(passage, [(step * unit, True) for step in intervals(euclid(strokes, pulses))])


def _said(count: int, one: str, more: str) -> str:
    return f"{count} {one if count == 1 else more}"
