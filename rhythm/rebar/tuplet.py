"""Tuplets made: N notes in the time of M, and notes divided in n equal ones.

Conventions
-----------
Times are whole notes. A ratio ``5:4`` of sixteenths makes of every five sixteenths (5/16) a bracket
that lasts as long as four (4/16); all voices are squeezed together, counted from the passage's
first note, and the bars are redrawn in their metres.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from gmpy2 import mpq

from rhythm.exact.errors import MusicError, RequestError
from rhythm.exact.metre import Metre
from rhythm.exact.time_map import TimeMap
from rhythm.exact.values import format_value, value
from rhythm.notate.metric_grid import odd_part
from rhythm.rebar import release
from rhythm.rebar.density import subdivided
from rhythm.rebar.passage import Passage
from rhythm.rebar.rebar import lift_bars
from rhythm.rebar.rebuilding import settle
from rhythm.rebar.sections import by_section, section_edges
from rhythm.rebar.whole_brackets import (
    Ratio,
    bracketed,
    holding_brackets,
    in_whole_bars,
    lengthened,
    with_rest_before,
    with_whole_brackets,
)
from rhythm.score.model import Score
from rhythm.score.select import Bars

__all__ = ["Tupleted", "parse_ratio", "subdivide", "tuplet", "tupleted"]

MOST = 13
"""Ratios go up to thirteen notes."""

NORMALS = (1, 2, 3, 4, 6, 8, 12)
"""A bracket's notes go in the time of so many: powers of two, and three times a power of two."""

_RATIO = re.compile(r"\s*(\d{1,3})\s*:\s*(\d{1,3})\s*")


@dataclass(frozen=True, slots=True)
class Tupleted:
    """The new score, the silence that completes the last bracket, and that which fills its bar.

    ``redrawn`` are the metres that would have cut brackets, each with the one in its place.
    """

    score: Score
    padded: mpq
    filled: mpq
    redrawn: tuple[tuple[Metre, Metre], ...] = ()


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
    score: Score,
    ratio: str | None = None,
    *,
    unit: str | mpq = "1/8",
    split: int | None = None,
    span: str | mpq | None = None,
    dissolve: bool = False,
    bars: str | Bars | None = None,
) -> Score:
    """Notes squeezed into tuplets, divided into equal parts, or released: one of the three.

    With ``ratio`` (``5:4``) every N consecutive notes of ``unit`` are played in the time of M,
    rebarred. Arithmetic: every duration times M/N. Brackets are counted from the first full bar on.
    A remainder that does not fill one is padded with silence, before an upbeat and at the end, and
    so is the last bar. A note held across brackets is tied from one into the next. A metre whose
    bar lines would cut brackets gives way to the nearest in length that holds whole ones. A second
    ratio over the same bars nests. With ``split`` every note that lasts ``span`` becomes so many
    equal notes (:func:`subdivide`); with ``dissolve`` tuplets become plain notes in bars that hold
    them (:func:`rhythm.rebar.release.dissolve`). ``bars`` (``5-8``) limits it to a passage.

    Raises RequestError where not one of the three is asked for, and for a ratio, unit or number
    that is none; MusicError where a bracket would cross a bar line that must stay, or no note lasts
    ``span``.
    """
    if [ratio is not None, split is not None, dissolve].count(True) != 1:
        raise RequestError("what to do is not said", legal="one of a ratio, a split, or dissolve")
    if (split is None) != (span is None):
        raise RequestError("a split lacks its span", legal="a number of notes and a note value")
    if split is not None and span is not None:
        return subdivide(score, split, span=span, bars=bars)
    if ratio is not None:
        return tupleted(score, ratio, unit=unit, bars=bars).score
    return release.dissolve(score, bars=bars)


def tupleted(
    score: Score, ratio: str, *, unit: str | mpq = "1/8", bars: str | Bars | None = None
) -> Tupleted:
    """As :func:`tuplet` with a ratio, and what was padded."""
    actual, normal = parse_ratio(ratio)
    step = _unit(value(unit))
    passage = lift_bars(score, bars)
    if not passage.bars:
        return Tupleted(score, mpq(0), mpq(0))
    padded = filled = mpq(0)
    counted = Ratio(actual, normal, step)

    def squeeze(section: Passage) -> Passage:
        nonlocal padded, filled
        result, silence, image = _squeezed(section, counted)
        padded += silence
        filled += max(mpq(0), result.length - image)
        return result

    squeezed = by_section(passage, section_edges(passage), squeeze)
    result = settle(squeezed.filled(), bound=counted.is_plain)
    kept = {bar.metre for bar in passage.bars if bar.metre is not None and bar.metre.length}
    made = {bar.metre for bar in squeezed.bars}
    pairs = ((metre, holding_brackets(metre, counted.length)) for metre in kept - made)
    redrawn = tuple(sorted((pair for pair in pairs if pair[1] in made), key=str))
    return Tupleted(result, padded, filled, redrawn)


def _squeezed(passage: Passage, ratio: Ratio) -> tuple[Passage, mpq, mpq]:
    """The passage in brackets; how much was padded; where the brackets end."""
    bracket = ratio.actual * ratio.unit
    upbeat = passage.bars[0].length if passage.bars[0].is_upbeat else mpq(0)
    opening = -upbeat % bracket
    if opening:
        passage = with_rest_before(passage, opening)
    short = -passage.length % bracket
    passage = with_whole_brackets(passage, bracket)
    image = (passage.length + short) * ratio.scale
    warp = TimeMap.linear(ratio.actual, ratio.normal)
    # In the bars that are usual after it, but silence at the end stays: it is in brackets too.
    squeezed = passage.warped(warp, passage.warped(warp).bars)
    squeezed = in_whole_bars(lengthened(squeezed, image), ratio, passage.bars)
    if ratio.is_plain:
        squeezed = bracketed(squeezed, ratio)
    return squeezed, (opening + short) * ratio.scale, image


def subdivide(score: Score, into: int, *, span: str | mpq, bars: str | Bars | None = None) -> Score:
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


def _unit(unit: mpq) -> mpq:
    if unit <= 0 or unit.numerator != 1 or odd_part(int(unit.denominator)) > MOST:
        raise RequestError(
            f"no bracket counts in {format_value(unit)}",
            legal="a plain value, such as 1/8 or 1/16, or a tuplet's, such as 1/12",
        )
    return unit
