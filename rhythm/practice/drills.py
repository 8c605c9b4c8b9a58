"""Rhythm-only drills: every way to place strokes on pulses, and two hands against each other.

Enumerations are complete and free of doubles: *compositions* begin on the first pulse and count
every order of the intervals; *necklaces* count patterns that are rotations of one another once,
in the rotation that is easiest to read. Both come easiest first, by the level.

Conventions
-----------
A pattern is given by its intervals in pulses: son is 3 3 4 2 4 over 16.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import replace
from math import comb

from gmpy2 import mpq

from rhythm.exact.errors import RequestError
from rhythm.exact.frozen import dataclass
from rhythm.exact.metre import Metre
from rhythm.notate.score_notation import spell_score
from rhythm.practice.difficulty import Difficulty, line_level
from rhythm.practice.rhythm_line import Line
from rhythm.practice.stroke_scores import Strokes, rhythm_part, rhythm_score
from rhythm.score.model import Score

__all__ = ["KINDS", "Drill", "compositions", "drills", "necklaces", "ostinato", "two_parts"]

KINDS = ("compositions", "necklaces")
"""The ways to enumerate patterns."""

_MOST = 20_000  # patterns of one enumeration; more would neither be read nor be quick
_MOST_TURNS = 64


def _check(onsets: int, pulses: int) -> None:
    if not 1 <= onsets <= pulses:
        raise RequestError(
            f"{onsets} onsets in {pulses} pulses", legal="1 onset up to one on every pulse"
        )
    if comb(pulses - 1, onsets - 1) > _MOST:
        raise RequestError(
            f"{onsets} onsets in {pulses} pulses can stand in more than {_MOST} ways",
            legal="fewer pulses, or fewer onsets",
        )


def compositions(onsets: int, pulses: int) -> Iterator[tuple[int, ...]]:
    """Every order of whole intervals that fill the pulses with so many onsets: C(n-1, k-1) of them.

    Raises RequestError where onsets are not 1 to ``pulses``, or the ways are beyond counting.
    """
    from sympy.utilities.iterables import multiset_permutations, partitions

    _check(onsets, pulses)
    for parts in partitions(pulses, m=onsets):
        if sum(parts.values()) == onsets:
            intervals = [size for size, times in parts.items() for _ in range(times)]
            for order in multiset_permutations(intervals):
                yield tuple(order)


def necklaces(onsets: int, pulses: int) -> Iterator[tuple[int, ...]]:
    """As :func:`compositions`, with rotations of one another counted once, the greatest first.

    Raises RequestError as :func:`compositions` does.
    """
    for order in compositions(onsets, pulses):
        if order == max(_turns(order)):
            yield order


def _turns(intervals: tuple[int, ...]) -> list[tuple[int, ...]]:
    return [(*intervals[i:], *intervals[:i]) for i in range(len(intervals))]


@dataclass(frozen=True, slots=True)
class Drill:
    """One pattern of a drill: intervals in pulses, the pulse, the bar's metre, its difficulty."""

    intervals: tuple[int, ...]
    pulse: mpq
    metre: Metre
    difficulty: Difficulty

    @property
    def onsets(self) -> tuple[int, ...]:
        """The pulses that are struck."""
        found, now = [], 0
        for interval in self.intervals:
            found.append(now)
            now += interval
        return tuple(found)

    @property
    def text(self) -> str:
        """The pattern as struck and silent pulses: ``x..x..x...x.x...``."""
        return "".join("x" + "." * (interval - 1) for interval in self.intervals)

    def score(self, turns: int = 2, cut: Collection[int] = ()) -> Score:
        """The pattern written out ``turns`` times on a one-line staff.

        Strokes whose numbers, from 0, are in ``cut`` last one pulse; what is left of them is rest.
        """
        length = self.metre.length
        onsets = [
            turn * length + onset * self.pulse for turn in range(turns) for onset in self.onsets
        ]
        strokes = Strokes.until_next("Rhythm", onsets, turns * length)
        lengths = tuple(
            self.pulse if number % len(self.intervals) in cut else each
            for number, each in enumerate(strokes.lengths)
        )
        strokes = replace(strokes, lengths=lengths)
        return rhythm_score(self.text, [strokes], [self.metre] * turns)


def _drill(intervals: tuple[int, ...], pulse: mpq, metre: Metre) -> Drill:
    onsets, now = [], 0
    for interval in intervals:
        onsets.append(now)
        now += interval
    return Drill(intervals, pulse, metre, line_level(Line.of_grid(onsets, pulse, metre)))


def drills(
    onsets: int,
    metre: Metre,
    pulse: mpq,
    *,
    kind: str = "compositions",
    levels: tuple[mpq, mpq] | None = None,
) -> tuple[Drill, ...]:
    """Every pattern of so many onsets in one bar of a metre, on pulses of a value, easiest first.

    ``kind`` is compositions or necklaces; ``levels`` keeps what lies between two levels. Raises
    RequestError for another kind, a pulse that does not fill the bar, or as :func:`compositions`.
    """
    if kind not in KINDS:
        raise RequestError(f"no enumeration {kind!r}", legal="one of " + ", ".join(KINDS))
    pulses = metre.length / pulse if pulse > 0 else mpq(0)
    if pulses < 1 or pulses.denominator != 1:
        raise RequestError(
            f"pulses of {pulse} do not fill a bar of {metre}", legal="a pulse that divides the bar"
        )
    if kind == "compositions":
        found = [_drill(each, pulse, metre) for each in compositions(onsets, int(pulses))]
    else:
        found = [
            min((_drill(turn, pulse, metre) for turn in set(_turns(each))), key=_ease)
            for each in necklaces(onsets, int(pulses))
        ]
    if levels is not None:
        low, high = levels
        found = [each for each in found if low <= each.difficulty.level <= high]
    return tuple(sorted(found, key=_ease))


def _ease(drill: Drill) -> tuple[mpq, int, tuple[int, ...]]:
    """Easiest first; equals by syncopation, then with the long intervals first."""
    found = drill.difficulty
    return found.level, found.syncopation, tuple(-interval for interval in drill.intervals)


def two_parts(a: int, b: int, turns: int = 2) -> Score:
    """``a`` equal strokes in one hand against ``b`` in the other, a bar a turn.

    The slower hand beats the bar, a quarter a beat, so that 3 against 2 is a bar of 2/4 and 4
    against 3 one of 3/4; the faster hand plays a tuplet over it. What both play together is the
    resultant: 2 1 1 2 for 3 against 2 (Schillinger, The Schillinger System of Musical
    Composition). Raises RequestError unless both are 2 to 12, different, and neither a multiple of
    the other, and the turns 1 to 64.
    """
    if not (2 <= a <= 12 and 2 <= b <= 12) or a % b == 0 or b % a == 0:
        raise RequestError(
            f"{a} against {b}", legal="two numbers from 2 to 12, neither a multiple of the other"
        )
    if not 1 <= turns <= _MOST_TURNS:
        raise RequestError(f"{turns} turns of {a} against {b}", legal=f"1 to {_MOST_TURNS} turns")
    slow, fast = sorted((a, b))
    metre = Metre.parse(f"{slow}/4")
    end = turns * metre.length
    parts = []
    for hand, count in (("Fast hand", fast), ("Slow hand", slow)):
        step = metre.length / count
        strokes = Strokes.until_next(hand, [i * step for i in range(turns * count)], end)
        if count == fast:
            normal = slow
            while normal * 2 < fast:
                normal *= 2
            strokes = replace(strokes, tuplet=(fast, normal, metre.length / normal))
        parts.append(strokes)
    return rhythm_score(f"{a} against {b}", parts, [metre] * turns)


def ostinato(theme: Score, intervals: Sequence[int], unit: mpq) -> Score:
    """The theme with a pattern repeated under it, from its first full bar to its end.

    ``intervals`` are counted in ``unit``. The pattern runs on over the bar lines; the theme is not
    touched. Raises RequestError for an empty pattern, intervals below 1 or a unit not above 0.
    """
    if not intervals or min(intervals) < 1 or unit <= 0:
        raise RequestError("no pattern to repeat", legal="intervals from 1 up over a unit above 0")
    bars = tuple(bar.replace(left=None, right=None) for bar in theme.bars)
    first = next((bar for bar in bars if not bar.shift), bars[0])
    end = theme.length
    onsets, lengths, now, at = [], [], first.start, 0
    while now < end:
        length = min(intervals[at % len(intervals)] * unit, end - now)
        onsets.append(now)
        lengths.append(length)
        now, at = now + length, at + 1
    used = {part.id for part in theme.parts}
    free = next(name for i in range(1, len(used) + 2) if (name := f"P{i}") not in used)
    strokes = Strokes("Ostinato", tuple(onsets), tuple(lengths))
    under = spell_score(Score((rhythm_part(free, strokes, bars),), hand=theme.hand))
    return theme.replace(parts=(*theme.parts, *under.parts))
