"""Arithmetic of durations: scaling, dotting, swinging, splitting, merging.

Conventions
-----------
A rhythm is a sequence of durations in whole notes (``gmpy2.mpq``), without bars. Functions return
new tuples and are exact; where two functions undo each other their docstrings say so.
"""

from __future__ import annotations

from collections.abc import Sequence

from gmpy2 import mpq

from rhythm.exact.errors import RequestError

__all__ = [
    "AUGMENTATIONS",
    "DIMINUTIONS",
    "dotted_pair",
    "merged",
    "scaled",
    "split",
    "swung_pair",
    "with_added_value",
]

AUGMENTATIONS: tuple[mpq, ...] = tuple(
    mpq(text) for text in ("5/4", "4/3", "3/2", "2", "3", "4", "5")
)
"""Factors of Messiaen's table of augmentations (Technique de mon langage musical)."""

DIMINUTIONS: tuple[mpq, ...] = tuple(1 / factor for factor in AUGMENTATIONS)
"""Factors of Messiaen's table of diminutions: 4/5, 3/4, 2/3, 1/2, 1/3, 1/4, 1/5."""


def scaled(values: Sequence[mpq], factor: mpq) -> tuple[mpq, ...]:
    """Every value times ``factor``; undone by 1/factor. Raises RequestError unless above 0."""
    if factor <= 0:
        raise RequestError(f"a factor of {factor}", legal="a factor above 0, such as 2 or 3/2")
    return tuple(value * factor for value in values)


def with_added_value(values: Sequence[mpq], place: int, value: mpq) -> tuple[mpq, ...]:
    """The rhythm with ``value`` added to the note at ``place``, counted from 1.

    Messiaen's added value: 1/4 x4 with 1/8 on the second gives 1/4 3/8 1/4 1/4. Undone by adding
    the negative. Raises RequestError for a place outside the rhythm or a sum not above 0.
    """
    if not 1 <= place <= len(values):
        raise RequestError(f"no note {place} among {len(values)}", legal=f"1 to {len(values)}")
    if values[place - 1] + value <= 0:
        raise RequestError(f"nothing is left of note {place}", legal="a sum above 0")
    return (*values[: place - 1], values[place - 1] + value, *values[place:])


def swung_pair(span: mpq, long: int, short: int = 1) -> tuple[mpq, mpq]:
    """A span shared ``long`` to ``short``: swing r:1 gives d·r/(r+1) and d/(r+1).

    2:1 over a quarter gives 1/6 1/12. ``short`` before ``long`` gives the reversed snap.
    Raises RequestError for a part below 1.
    """
    if long < 1 or short < 1:
        raise RequestError(f"a ratio of {long}:{short}", legal="two whole numbers from 1 up")
    first = span * long / (long + short)
    return first, span - first


def dotted_pair(span: mpq, dots: int = 1) -> tuple[mpq, mpq]:
    """A span shared as a dotted value and its complement: 1/4 gives 3/16 1/16.

    Two dots give Quantz's overdotting, 7/32 1/32; no dots give two equal halves.
    """
    if dots < 0:
        raise RequestError(f"{dots} dots", legal="0 or more dots")
    short = span / 2 ** (dots + 1)
    return span - short, short


def split(value: mpq, parts: int) -> tuple[mpq, ...]:
    """``parts`` equal values that fill ``value``; merging them undoes it."""
    if parts < 1:
        raise RequestError(f"{parts} parts", legal="1 or more parts")
    return (value / parts,) * parts


def merged(values: Sequence[mpq], unit: mpq) -> tuple[mpq, ...]:
    """The rhythm with every note that starts off a multiple of ``unit`` absorbed by the one before.

    1/8 1/8 3/16 1/16 by quarters gives 1/4 1/4. The first note always stays.
    """
    if unit <= 0:
        raise RequestError(f"a unit of {unit}", legal="a value above 0")
    kept: list[mpq] = []
    at = mpq(0)
    for value in values:
        if kept and at % unit:
            kept[-1] += value
        else:
            kept.append(value)
        at += value
    return tuple(kept)
