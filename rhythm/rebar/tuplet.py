"""Tuplets made: N notes in the time of M, and notes divided in n equal ones.

Conventions
-----------
Times are whole notes. A ratio ``5:4`` of sixteenths makes of every five sixteenths (5/16) a bracket
that lasts as long as four (4/16); all voices are squeezed together, counted from the passage's
first note, and the bars are redrawn in their metres.
"""

from __future__ import annotations

import re

from gmpy2 import mpq

from rhythm.exact.errors import MusicError, RequestError
from rhythm.exact.time_map import TimeMap
from rhythm.exact.values import format_value, name_value, value
from rhythm.notate.metric_grid import odd_part
from rhythm.rebar.density import subdivided
from rhythm.rebar.passage import Passage
from rhythm.rebar.rebar import lift_bars
from rhythm.rebar.rebuilding import settle
from rhythm.rebar.sections import by_section, section_edges
from rhythm.rebar.telling import counted, outcome, redrawn, rest_added
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
from rhythm.score.outcome import Fact, Outcome, Report
from rhythm.score.select import Bars

__all__ = ["NORMALS", "divide", "parse_ratio", "squeeze"]

MOST = 13
"""Ratios go up to thirteen notes."""

NORMALS = (1, 2, 3, 4, 6, 8, 12)
"""A bracket's notes go in the time of so many: powers of two, and three times a power of two."""

_RATIO = re.compile(r"\s*(\d{1,3})\s*:\s*(\d{1,3})\s*")


def parse_ratio(text: str) -> tuple[int, int]:
    """Read ``5:4``: 2 to 13 notes in the time of 1, 2, 3, 4, 6, 8 or 12. Raises RequestError."""
    found = _RATIO.fullmatch(text)
    legal = f"2 to {MOST} notes in the time of {', '.join(map(str, NORMALS))}, such as 5:4"
    if not found:
        raise RequestError(f"{text!r} is not a ratio", legal=legal)
    actual, normal = int(found[1]), int(found[2])
    if not 2 <= actual <= MOST or normal not in NORMALS:
        raise RequestError(f"no bracket of {actual}:{normal}", legal=legal)
    if actual == normal:
        raise RequestError(f"{actual}:{normal} changes nothing", legal=legal)
    return actual, normal


def squeeze(score: Score, ratio: str, unit: str | mpq, bars: str | Bars | None) -> Outcome[Report]:
    """Every N consecutive notes of ``unit`` in the time of M, rebarred: see ``tuplet``.

    The report has ``padded``, the silence that completes brackets, ``filled``, that which fills
    the last bar, and ``redrawn_metres``, which would have cut brackets, each with the one in its
    place.
    """
    actual, normal = parse_ratio(ratio)
    step = _unit(value(unit))
    passage = lift_bars(score, bars)
    if passage.is_empty:
        return Outcome(score, None, Report(idle="there is no music"))
    padded = filled = mpq(0)
    counting = Ratio(actual, normal, step)

    def change(section: Passage) -> Passage:
        nonlocal padded, filled
        result, silence, image = _squeezed(section, counting)
        padded += silence
        filled += max(mpq(0), result.length - image)
        return result

    squeezed = by_section(passage, section_edges(passage), change)
    settled = settle(squeezed.filled(), bound=counting.is_plain)
    kept = {bar.metre for bar in passage.bars if bar.metre is not None and bar.metre.length}
    made = {bar.metre for bar in squeezed.bars}
    pairs = ((metre, holding_brackets(metre, counting.length)) for metre in kept - made)
    exchanged = tuple(sorted((pair for pair in pairs if pair[1] in made), key=str))
    told = [f"{new} in place of {old}, whose bars cut brackets" for old, new in exchanged]
    facts = (
        Fact(
            "ratio", f"{actual}:{normal}", f"{actual} {name_value(step)}s in the time of {normal}"
        ),
        redrawn(passage, settled),
        Fact("redrawn_metres", exchanged, "; ".join(told)),
        rest_added("padded", padded, "open brackets"),
        rest_added("filled", filled, "the last bar"),
    )
    return outcome(passage, settled, bars, facts)


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
    # Silence at the end stays: it is in brackets too.
    squeezed = passage.warped(TimeMap.linear(ratio.actual, ratio.normal), silent_end=True)
    squeezed = in_whole_bars(lengthened(squeezed, image), ratio, passage.bars)
    if ratio.is_plain:
        squeezed = bracketed(squeezed, ratio)
    return squeezed, (opening + short) * ratio.scale, image


def divide(score: Score, parts: int, span: str | mpq, bars: str | Bars | None) -> Outcome[Report]:
    """Every note that lasts ``span`` in ``parts`` equal notes on its pitch: see ``tuplet``.

    A quarter in 5 is a bracket 5:4 of sixteenths. The report has ``divided``, how many notes there
    were. Raises RequestError unless 2 <= parts <= 13, and MusicError where no note lasts so long.
    """
    length = value(span)
    if not 2 <= parts <= MOST:
        raise RequestError(f"{parts} notes to a span", legal=f"2 to {MOST} notes")
    passage = lift_bars(score, bars)
    lasting = [each.duration for s in passage.strands for each in s.laid if each.sounds]
    if length not in lasting:
        found = ", ".join(format_value(each) for each in sorted(set(lasting))[:12])
        raise MusicError(
            f"no note lasts {format_value(length)}", legal=f"there are notes of {found}"
        )
    settled = settle(subdivided(passage, parts, length))
    count = lasting.count(length)
    words = f"{counted(count, name_value(length))} divided into {parts} notes each"
    return outcome(passage, settled, bars, [Fact("divided", count, words)])


def _unit(unit: mpq) -> mpq:
    if unit <= 0 or unit.numerator != 1 or odd_part(int(unit.denominator)) > MOST:
        raise RequestError(
            f"no bracket counts in {format_value(unit)}",
            legal="a plain value, such as 1/8 or 1/16, or a tuplet's, such as 1/12",
        )
    return unit
