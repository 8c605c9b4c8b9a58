"""Scores made from nothing but rhythm: strokes on a one-line staff.

Conventions
-----------
A part is a run of bars of given metres and strokes at exact onsets from the start; what no stroke
covers is silent. Everything is spelled afresh.
"""

from __future__ import annotations

from collections.abc import Sequence

from gmpy2 import mpq

from rhythm.exact.errors import RequestError
from rhythm.exact.frozen import dataclass
from rhythm.exact.metre import Metre
from rhythm.exact.values import symbol
from rhythm.notate.score_notation import spell_score
from rhythm.score.model import Bar, Event, Mark, Note, Part, Piece, Score, Tuplet, Voice

__all__ = ["STROKE", "Strokes", "bars_of", "rhythm_part", "rhythm_score"]

STROKE = Note("unpitched")
"""A stroke, written on the line of a one-line staff."""


@dataclass(frozen=True, slots=True)
class Strokes:
    """A named line: where strokes begin and how long they last.

    With a ``tuplet``, every bar is one bracket of so many equal strokes, each a bar's share.
    """

    name: str
    onsets: tuple[mpq, ...]
    lengths: tuple[mpq, ...]
    tuplet: tuple[int, int, mpq] | None = None  # actual, normal, unit

    @classmethod
    def until_next(cls, name: str, onsets: Sequence[mpq], end: mpq) -> Strokes:
        """Every stroke lasts until the next, the last until ``end``."""
        ends = (*onsets[1:], end)
        lengths = tuple(b - a for a, b in zip(onsets, ends, strict=True))
        return cls(name, tuple(onsets), lengths)


def bars_of(metres: Sequence[Metre]) -> tuple[Bar, ...]:
    """Bars of these metres in order, numbered from 1."""
    bars: list[Bar] = []
    start = mpq(0)
    for index, metre in enumerate(metres):
        shows = not bars or bars[-1].metre != metre
        bars.append(
            Bar(index, str(index + 1), start, metre.length, metre, shows, filled=metre.length)
        )
        start += metre.length
    return tuple(bars)


def rhythm_part(id_: str, strokes: Strokes, bars: Sequence[Bar]) -> Part:
    """A part of one voice over these bars. Raises RequestError for strokes outside them."""
    end = bars[-1].end if bars else mpq(0)
    events: list[Event] = []
    now = mpq(0)
    for onset, length in zip(strokes.onsets, strokes.lengths, strict=True):
        if length <= 0 or onset < now or onset + length > end:
            raise RequestError(
                f"a stroke at {onset} of {length} does not stand in order inside the bars",
                legal=f"strokes one after another from 0 to {end}",
            )
        events += _silence(now, onset, bars)
        bar = _bar_at(onset, bars)
        pieces = _bracketed(strokes.tuplet, bars[bar], onset, length) if strokes.tuplet else ()
        events.append(Event(onset, length, bar, (STROKE,), pieces))
        now = onset + length
    events += _silence(now, end, bars)
    return Part(id_, strokes.name, tuple(bars), (Voice("1", tuple(events)),), _marks())


def _bracketed(
    tuplet: tuple[int, int, mpq], bar: Bar, onset: mpq, length: mpq
) -> tuple[Piece, ...]:
    """One stroke of a bar that is one bracket: the spelling keeps such a tuplet."""
    actual, normal, unit = tuplet
    written = symbol(unit)
    if written is None:
        return ()
    group = Tuplet(actual, normal, unit, mpq(0), bar.length)
    offset = onset - bar.start
    return (Piece(bar.index, offset, length, *written, (actual, normal), (group,)),)


def _marks() -> tuple[Mark, ...]:
    zero = mpq(0)
    return (
        Mark(zero, 0, "clef", order=-3, text="percussion"),
        Mark(zero, 0, "staff-details", order=-2, text="1"),
    )


def _bar_at(onset: mpq, bars: Sequence[Bar]) -> int:
    return next(bar.index for bar in reversed(bars) if bar.start <= onset)


def _silence(start: mpq, end: mpq, bars: Sequence[Bar]) -> list[Event]:
    """Rests from ``start`` to ``end``, cut at the bar lines."""
    found = []
    for bar in bars:
        low, high = max(start, bar.start), min(end, bar.end)
        if low < high:
            found.append(Event(low, high - low, bar.index, (Note("rest"),)))
    return found


def rhythm_score(title: str, parts: Sequence[Strokes], metres: Sequence[Metre]) -> Score:
    """A spelled score of these lines, one part each, ending in a final bar line."""
    bars = bars_of(metres)
    made = tuple(rhythm_part(f"P{i + 1}", strokes, bars) for i, strokes in enumerate(parts))
    if bars:
        last = bars[-1]
        final = Mark(last.end, last.index, "barline", order=10**6, text="light-heavy")
        made = tuple(part.replace(marks=(*part.marks, final)) for part in made)
    return spell_score(Score(made, title=title))
