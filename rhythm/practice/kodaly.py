"""Rhythm names by value after Kodály: ta, ti-ti, ti-ri-ti-ri, tri-o-la, syn-co-pa.

Longer notes hold their vowel for every further quarter (``ta-a``) and end a dotted one in ``i``
(``ta-i``). ``tim`` for a dotted eighth, and ``ri-tim`` for the short note before one, are given
from memory. A quarter is ``ta`` in every metre: the names follow the value, not the beat.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from gmpy2 import mpq

__all__ = ["Stroke", "names"]

_QUARTER, _EIGHTH = mpq(1, 4), mpq(1, 8)
_LONGEST = 8  # quarters that are sung out; longer notes stop there


@dataclass(frozen=True, slots=True)
class Stroke:
    """A note as the names see it.

    ``offset`` is from the bar's start, ``third`` 0, 1 or 2 in a triplet and None outside;
    ``ternary`` whether its beat is; ``bar`` keeps patterns from crossing bar lines.
    """

    bar: int
    offset: mpq
    duration: mpq
    ternary: bool = False
    third: int | None = None


def names(strokes: Sequence[Stroke]) -> tuple[str, ...]:
    """The name of every note of a voice, in order."""
    found = [_by_value(stroke) for stroke in strokes]
    for i in range(len(strokes) - 1):
        here, after = strokes[i], strokes[i + 1]
        follows = here.bar == after.bar and here.offset + here.duration == after.offset
        if follows and after.duration == 3 * here.duration and after.duration < _QUARTER:
            found[i] = "ri"
    for i in range(len(strokes) - 2):
        if _is_syncopa(strokes[i : i + 3]):
            found[i : i + 3] = ["syn", "co", "pa"]
    return tuple(found)


def _is_syncopa(three: Sequence[Stroke]) -> bool:
    first, middle, last = three
    return (
        [stroke.duration for stroke in three] == [_EIGHTH, _QUARTER, _EIGHTH]
        and first.bar == middle.bar == last.bar
        and first.offset + _EIGHTH == middle.offset
        and middle.offset + _QUARTER == last.offset
        and not first.offset % _QUARTER
        and not first.ternary
    )


def _by_value(stroke: Stroke) -> str:
    duration = stroke.duration
    if stroke.third is not None:
        return ("tri", "o", "la")[stroke.third]
    if duration >= _QUARTER:
        quarters, rest = divmod(duration, _QUARTER)
        held = "-a" * (min(int(quarters), _LONGEST) - 1)
        return "ta" + held + ("-i" if rest >= _EIGHTH else "")
    if duration.numerator == 3:
        return "tim"
    if duration >= _EIGHTH:
        return "ti"
    return "ri" if int(stroke.offset // duration) % 2 else "ti"
