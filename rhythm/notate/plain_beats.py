"""Bars of two dotted beats that plain beats write more simply: 4 4 4 in 6/8.

Three plain beats last as long as two dotted ones (the hemiola). House and most handbooks show the
dotted beats all the same and tie over them, 4 8~ 8 4; editors who take the bar for three beats
write it so. Which of the two ways one sees is asked of a bar as a whole, and only of a bar whose
notes differ by it and take fewer symbols in plain beats.

Conventions
-----------
6/8 in plain beats is 3/4; 12/8 and 6/4 are 3/2. Positions are whole notes from the bar's start.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import lru_cache
from typing import NamedTuple

from gmpy2 import mpq

from rhythm.exact.metre import Metre
from rhythm.exact.tree import OFF, Node
from rhythm.exact.values import is_power_of_two
from rhythm.notate.metric_grid import bar_grid
from rhythm.notate.rests import fill_rest
from rhythm.notate.values import Symbol, split_note

__all__ = ["Held", "plain_metre", "reading"]

_QUARTER = mpq(1, 4)


class Held(NamedTuple):
    """A note or a silence: where it stands, and the most dots it may have."""

    start: mpq
    end: mpq
    rest: bool
    dots: int


class Reading(NamedTuple):
    """A bar in the plain beats of ``metre``: the notes that differ, each in both ways."""

    metre: Metre
    notes: tuple[tuple[Held, tuple[Symbol, ...], tuple[Symbol, ...]], ...]


@lru_cache(maxsize=256)
def plain_metre(metre: Metre | None) -> tuple[Metre, mpq] | None:
    """The metre of three plain beats as long as two or four dotted ones, and a dotted one's length.

    None for metres that are not made so.
    """
    if metre is None or not metre.length or not metre.in_note_values:
        return None
    dotted = list(_dotted(metre.tree))
    beat = metre.length / 3
    if len(dotted) not in (2, 4) or not all(node.triple for node in dotted):
        return None
    if len({node.length for node in dotted}) > 1 or beat.numerator != 1 or beat < _QUARTER:
        return None
    unit = int(beat.denominator)
    return (Metre.parse(f"3/{unit}"), dotted[0].length) if is_power_of_two(unit) else None


def _dotted(node: Node) -> Iterator[Node]:
    """The topmost cells of three equal parts, and the beats that are none."""
    if node.triple or not node.children:
        yield node
        return
    for part in node.children:
        yield from _dotted(part)


def reading(metre: Metre | None, length: mpq, shift: mpq, items: Sequence[Held]) -> Reading | None:
    """The bar in plain beats, if that takes fewer symbols and some of its notes differ by it."""
    found = plain_metre(metre)
    if found is None or not any(_holds_over(found[1], shift, item) for item in items):
        return None
    plain, beat = found
    fewer = 0
    notes = []
    for item in items:
        if _is_within(beat, shift, item) and _is_within(_QUARTER, shift, item):
            continue  # written alike in both
        dotted = _written(metre, length, shift, item)
        other = _written(plain, length, shift, item)
        if not dotted or not other:
            return None
        fewer += len(dotted) - len(other)
        if not item.rest and dotted != other:
            notes.append((item, dotted, other))
    return Reading(plain, tuple(notes)) if fewer > 0 and notes else None


def _is_within(beat: mpq, shift: mpq, item: Held) -> bool:
    start = item.start + shift
    return item.end + shift <= (start // beat + 1) * beat


def _holds_over(beat: mpq, shift: mpq, item: Held) -> bool:
    """Does a note hold over the start of a dotted beat, not being made of such beats itself?"""
    start, end = item.start + shift, item.end + shift
    if item.rest or not (start % beat or end % beat):
        return False
    return (start // beat + 1) * beat < end


@lru_cache(maxsize=16384)
def _written(metre: Metre | None, length: mpq, shift: mpq, item: Held) -> tuple[Symbol, ...]:
    """The item as the house writes it in this metre; nothing where it lies off the tree."""
    grid = bar_grid(metre, length, shift)
    if OFF in (grid.rank(item.start), grid.rank(item.end)):
        return ()
    if item.rest:
        return tuple(fill_rest(grid, item.start, item.end))
    return tuple(split_note(grid, item.start, item.end, item.dots))
