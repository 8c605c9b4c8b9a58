"""Patterns of whole pulses: which pulses are struck, and in which order values follow.

Conventions
-----------
A pattern is given as intervals (pulses from one stroke to the next, the last one reaching the
first stroke of the next turn), as onsets (pulse numbers from 0) or as struck pulses (booleans).
Everything here is cyclic, exact and independent of any score.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import TypeVar

from gmpy2 import lcm

from rhythm.exact.errors import RequestError

__all__ = [
    "euclid",
    "intervals",
    "permuted",
    "realigns",
    "resultant",
    "rotated",
]

T = TypeVar("T")


def resultant(a: int, b: int) -> tuple[int, ...]:
    """The intervals between the strokes of two even pulses, one every ``a``, one every ``b``.

    One turn lasts lcm(a, b) and reads the same backwards. Schillinger's resultants: 3:2 is
    2 1 1 2, 4:3 is 3 1 2 2 1 3. Raises RequestError for a period below 1.
    """
    if a < 1 or b < 1:
        raise RequestError(f"no resultant of {a} and {b}", legal="two whole numbers from 1 up")
    span = int(lcm(a, b))
    struck = [*sorted({*range(0, span, a), *range(0, span, b)}), span]
    return tuple(end - start for start, end in pairwise(struck))


def euclid(strokes: int, pulses: int) -> tuple[bool, ...]:
    """``strokes`` strokes spread over ``pulses`` pulses as evenly as whole pulses allow.

    Bjorklund's algorithm as Toussaint tells it (The Euclidean Algorithm Generates Traditional
    Musical Rhythms, 2005): columns of strokes and of rests are joined until at most one is left
    over. E(3,8) is x..x..x. in this very rotation. Raises RequestError unless
    1 <= strokes <= pulses.
    """
    if not 1 <= strokes <= pulses:
        raise RequestError(
            f"{strokes} strokes cannot be spread over {pulses} pulses",
            legal="from 1 stroke to as many as there are pulses",
        )
    heads: list[tuple[bool, ...]] = [(True,)] * strokes
    tails: list[tuple[bool, ...]] = [(False,)] * (pulses - strokes)
    while len(tails) > 1:
        paired = min(len(heads), len(tails))
        joined = [head + tail for head, tail in zip(heads, tails, strict=False)]
        heads, tails = joined, heads[paired:] + tails[paired:]
    return tuple(pulse for column in heads + tails for pulse in column)


def intervals(struck: Sequence[bool]) -> tuple[int, ...]:
    """The cyclic intervals from each stroke to the next: x..x..x. is 3 3 2."""
    places = [i for i, stroke in enumerate(struck) if stroke]
    ends = [*places[1:], places[0] + len(struck)] if places else []
    return tuple(end - start for start, end in zip(places, ends, strict=True))


def rotated(items: Sequence[T], steps: int) -> tuple[T, ...]:
    """The items turned left by ``steps`` (right where negative): the first goes to the end."""
    if not items:
        return ()
    at = steps % len(items)
    return (*items[at:], *items[:at])


def permuted(items: Sequence[T], order: Sequence[int]) -> tuple[T, ...]:
    """The items of every group of ``len(order)`` in that order, counted from 1.

    1 2 3 4 5 6 7 in order 3 1 2 gives 3 1 2 6 4 5 7: what does not fill a group stays. Raises
    RequestError where the order is not a permutation.
    """
    size = len(order)
    if size == 0 or sorted(order) != list(range(1, size + 1)):
        raise RequestError(
            f"{' '.join(map(str, order))!r} is not an order",
            legal="each number from 1 up once, such as 3 1 2",
        )
    full = len(items) - len(items) % size
    groups = (items[at : at + size] for at in range(0, full, size))
    return (*(group[i - 1] for group in groups for i in order), *items[full:])


def realigns(talea: int, color: int) -> int:
    """After how many notes a talea and a color of these lengths begin together again."""
    if talea < 1 or color < 1:
        raise RequestError("a talea and a color have at least one note each")
    return int(lcm(talea, color))
