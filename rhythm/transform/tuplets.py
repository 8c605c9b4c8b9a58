"""Tuplets made and released: N notes in the time of M, spans in n equal notes, and back.

Conventions
-----------
Times are whole notes. A ratio ``5:4`` of sixteenths makes of every five sixteenths (5/16) a bracket
that lasts as long as four (4/16); all voices are squeezed together, counted from the passage's
first note, and the bars are redrawn in their metres.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from gmpy2 import lcm, mpq

from rhythm.exact.errors import MusicError, RequestError
from rhythm.exact.metre import Metre, Term
from rhythm.exact.values import format_value, is_power_of_two, value
from rhythm.exact.warp import Warp
from rhythm.score.model import Score
from rhythm.transform.barplan import BarPlan, metre_holding, starts
from rhythm.transform.bracketing import (
    bracketed,
    lengthened,
    refuse_crossing,
    with_rest_before,
    with_whole_brackets,
)
from rhythm.transform.devices.density import subdivided
from rhythm.transform.passage import Passage
from rhythm.transform.rebar import lift_bars
from rhythm.transform.relay import settle
from rhythm.transform.sections import by_section, section_edges

__all__ = ["Tupleted", "dissolve", "parse_ratio", "subdivide", "tuplet", "tupleted"]

MOST = 13
"""Ratios go up to thirteen notes."""

NORMALS = (1, 2, 3, 4, 6, 8, 12)
"""A bracket's notes go in the time of so many: powers of two, and three times a power of two."""

_RATIO = re.compile(r"\s*(\d{1,3})\s*:\s*(\d{1,3})\s*")


@dataclass(frozen=True, slots=True)
class Tupleted:
    """The new score, the silence that completes the last bracket, and that which fills its bar."""

    score: Score
    padded: mpq
    filled: mpq


def parse_ratio(text: str) -> tuple[int, int]:
    """Read ``5:4``: 2 to 13 notes in the time of 1, 2, 3, 4, 6, 8 or 12. Raises RequestError."""
    found = _RATIO.fullmatch(text)
    legal = f"2 to {MOST} notes in the time of {', '.join(map(str, NORMALS))}, such as 5:4"
    if not found:
        raise RequestError(f"{text!r} is no ratio", legal=legal)
    actual, normal = int(found[1]), int(found[2])
    if not 2 <= actual <= MOST or normal not in NORMALS:
        raise RequestError(f"no bracket of {actual}:{normal}", legal=legal)
    if actual == normal:
        raise RequestError(f"{actual}:{normal} changes nothing", legal=legal)
    return actual, normal


def tuplet(
    score: Score, ratio: str = "3:2", *, unit: str | mpq = "1/8", bars: str | None = None
) -> Score:
    """Every N consecutive notes of ``unit`` in the time of M, rebarred.

    Arithmetic: every duration times M/N. Brackets are counted from the first full bar on. A
    remainder that does not fill one is padded with silence, before an upbeat and at the end, and so
    is the last bar. A second ratio over the same bars nests. ``bars`` (``5-8``)
    limits it to a passage.

    Raises RequestError for a ratio or unit that is none, MusicError where a bracket would cross a
    bar line.
    """
    return tupleted(score, ratio, unit=unit, bars=bars).score


def tupleted(
    score: Score, ratio: str = "3:2", *, unit: str | mpq = "1/8", bars: str | None = None
) -> Tupleted:
    """As :func:`tuplet`, with what was padded."""
    actual, normal = parse_ratio(ratio)
    step = _unit(value(unit))
    passage = lift_bars(score, bars)
    if not passage.bars:
        return Tupleted(score, mpq(0), mpq(0))
    padded = filled = mpq(0)

    def squeeze(section: Passage) -> Passage:
        nonlocal padded, filled
        result, silence, image = _squeezed(section, actual, normal, step)
        padded += silence
        filled += max(mpq(0), result.length - image)
        return result

    squeezed = by_section(passage, section_edges(passage), squeeze)
    return Tupleted(settle(squeezed.filled()), padded, filled)


def _squeezed(passage: Passage, actual: int, normal: int, step: mpq) -> tuple[Passage, mpq, mpq]:
    """``actual`` steps in the time of ``normal``; how much was padded; where the brackets end."""
    bracket = actual * step
    upbeat = passage.bars[0].length if passage.bars[0].is_upbeat else mpq(0)
    opening = -upbeat % bracket
    if opening:
        passage = with_rest_before(passage, opening)
    short = -passage.length % bracket
    passage = with_whole_brackets(passage, bracket)
    image = (passage.length + short) * normal / actual
    squeezed = passage.warped(Warp.linear(actual, normal))
    refuse_crossing(squeezed, normal * step)
    squeezed = squeezed.each(lambda strand: bracketed(strand, actual, normal, step))
    return lengthened(squeezed, image), (opening + short) * normal / actual, image


def subdivide(score: Score, into: int, *, span: str | mpq, bars: str | None = None) -> Score:
    """Every note that lasts ``span`` in ``into`` equal notes on its pitch.

    A quarter in 5 is a bracket 5:4 of sixteenths. Raises RequestError unless 2 <= into <= 13, and
    MusicError where no note lasts so long.
    """
    length = value(span)
    if not 2 <= into <= MOST:
        raise RequestError(f"{into} notes to a span", legal=f"2 to {MOST} notes")
    passage = lift_bars(score, bars)
    if not any(each.sounds and each.duration == length for s in passage.strands for each in s.laid):
        found = {each.duration for s in passage.strands for each in s.laid if each.sounds}
        raise MusicError(
            f"no note lasts {format_value(length)}",
            legal=f"there are notes of {', '.join(format_value(d) for d in sorted(found)[:12])}",
        )
    return settle(subdivided(passage, into, length))


def dissolve(score: Score, *, bars: str | None = None) -> Score:
    """Tuplets released into plain notes, in bars whose metres hold them.

    Arithmetic: where a bracket N:M stands, time goes N/M as fast for all voices, so its notes last
    what they look like; a bar of 4/4 with one triplet beat becomes 2+2+2+3/8, one of nothing but
    triplets 12/8. Nested brackets are released together. Raises MusicError where brackets of
    different ratios stand together and no plain values hold both.
    """
    passage = lift_bars(score, bars)
    spans = _brackets(passage)
    if not spans:
        return score
    cuts = sorted({at for start, end, _ in spans for at in (start, end)})
    points = [(mpq(0), mpq(0))]
    edges = sorted({mpq(0), *cuts, *_beat_edges(passage), passage.length})
    image = mpq(0)
    spans.sort(key=lambda span: span[0])
    active: list[tuple[mpq, mpq, mpq]] = []
    at_span = 0
    for start, end in pairwise(edges):
        while at_span < len(spans) and spans[at_span][0] <= start:
            active.append(spans[at_span])
            at_span += 1
        active = [span for span in active if span[1] > start]
        image += (end - start) * _common({factor for _, _, factor in active})
        points.append((end, image))
    warp = Warp(tuple(points))
    released = passage.warped(warp, _released_bars(passage, warp))
    return settle(released.each(lambda strand: [each.in_tuplets(()) for each in strand.laid]))


def _brackets(passage: Passage) -> list[tuple[mpq, mpq, mpq]]:
    """Start, end and ratio of every written note in a tuplet, from the passage's start."""
    found: dict[tuple[mpq, mpq, mpq], None] = {}
    bars = passage.score.bars
    base = bars[passage.first].start
    for strand in passage.strands:
        for each in strand.laid:
            for piece in each.event.pieces:
                ratio = mpq(piece.ratio[0], piece.ratio[1]) / (2 if piece.tremolo else 1)
                if ratio == 1 or not each.event.visible:
                    continue
                start = bars[piece.bar].start - base + piece.offset
                found[start, start + piece.duration, ratio] = None
    return list(found)


def _beat_edges(passage: Passage) -> Iterable[mpq]:
    for bar, start in zip(passage.bars, starts(passage.bars), strict=True):
        yield start
        if bar.metre is not None and bar.metre.length:
            for node in bar.metre.beat_nodes:
                at = node.start - bar.shift
                if 0 < at < bar.length:
                    yield start + at


def _common(ratios: set[mpq]) -> mpq:
    """The stretch that makes plain values of all these tuplets; 1 where there are none."""
    result = mpq(1)
    for ratio in ratios:
        count = _odd(int(ratio.numerator))
        if _odd(int(result.numerator)) % count:
            result = ratio if result == 1 else result * mpq(count, _power_below(count))
    return result


def _odd(n: int) -> int:
    return n // (n & -n)


def _power_below(n: int) -> int:
    return 1 << (n.bit_length() - 1)


def _released_bars(passage: Passage, warp: Warp) -> list[BarPlan]:
    plan: list[BarPlan] = []
    for bar, start in zip(passage.bars, starts(passage.bars), strict=True):
        length = warp(start + bar.length) - warp(start)
        if bar.metre is None or not bar.metre.length or length == bar.length:
            plan.append(replace(bar, length=length))
            continue
        beats = [
            (max(node.start - bar.shift, mpq(0)), min(node.end - bar.shift, bar.length))
            for node in bar.metre.beat_nodes
            if node.end > bar.shift and node.start - bar.shift < bar.length
        ]
        if not beats or bar.length > bar.full:
            plan.append(BarPlan(length, metre_holding(length)))
            continue
        images = [warp(start + b) - warp(start + a) for a, b in beats]
        plan.append(BarPlan(length, _metre_of_beats(images)))
    return plan


def _metre_of_beats(beats: Sequence[mpq]) -> Metre:
    """A metre with these beats: 12/8 for four of 3/8, 3/4 for three of 1/4, 2+2+3/8 for others."""
    bottom = max(int(lcm(*(int(beat.denominator) for beat in beats))), 4)
    if not is_power_of_two(bottom):
        raise MusicError(
            f"beats of {', '.join(format_value(beat) for beat in beats)} make no metre",
            legal="release brackets of one ratio at a time, with a passage of bars",
        )
    if len(set(beats)) == 1:
        beat = beats[0]
        if beat.numerator == 3:
            return Metre.parse(f"{3 * len(beats)}/{beat.denominator}")
        if beat.numerator == 1:
            return Metre.parse(f"{len(beats)}/{beat.denominator}")
    return Metre((Term(tuple(int(beat * bottom) for beat in beats), bottom),))


def _unit(unit: mpq) -> mpq:
    if unit <= 0 or unit.numerator != 1 or _odd(int(unit.denominator)) > MOST:
        raise RequestError(
            f"no bracket counts in {format_value(unit)}",
            legal="a plain value, such as 1/8 or 1/16, or a tuplet's, such as 1/12",
        )
    return unit
