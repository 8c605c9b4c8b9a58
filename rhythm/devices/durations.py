"""Arithmetic of durations: scaling, dotting, swinging, splitting, merging.

Conventions
-----------
A rhythm is a sequence of durations in whole notes (``gmpy2.mpq``), without bars. Functions return
new tuples and are exact; where two functions undo each other their docstrings say so.
"""

from __future__ import annotations

from gmpy2 import mpq

from rhythm.exact.errors import RequestError

__all__ = [
    "dotted_pair",
    "swung_pair",
]


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
