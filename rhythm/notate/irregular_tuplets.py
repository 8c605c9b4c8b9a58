"""Exact symbols for what no tuplet of the metre can hold.

Broken tuplets, ticks gone astray and wild ratios still have exact durations, and exactness wins
over beauty: such a stretch is written in a ratio of its own, tied where one symbol is not enough.
"""

from __future__ import annotations

from itertools import groupby

from gmpy2 import mpq

from rhythm.exact.tree import FINEST
from rhythm.notate.bar_items import Sign, Slot
from rhythm.notate.metric_grid import odd_part
from rhythm.notate.values import symbol_of
from rhythm.score.model import Tuplet

__all__ = ["bind_loose", "loose_signs", "tuplet_normal"]

_ZERO = mpq(0)


def tuplet_normal(actual: int, dotted: bool) -> int:
    """How many units ``actual`` of them stand in the time of; ``dotted`` for a span of three."""
    if dotted and actual == 2:
        return 3
    if dotted and actual in (5, 11, 13):
        return actual + 1 if actual != 13 else 12
    below = 3 if dotted else 1
    while below * 2 < actual:
        below *= 2
    return below


def loose_signs(slot: Slot) -> list[Sign]:
    """Exact symbols for a stretch whose ends lie on no common grid: a ratio of its own."""
    length = slot.end - slot.start
    actual = odd_part(int(length.denominator))
    normal = tuplet_normal(actual, dotted=False)
    scale = mpq(actual, normal)
    written = length * scale
    if (written / FINEST).denominator != 1:
        # Not even a tie of the shortest symbols: the nearest one, in the ratio that makes it so.
        unit = max(_largest(length), FINEST)
        share = unit / length
        ratio = (int(share.numerator), int(share.denominator))
        return [_loose_sign(slot.item, slot.start, length, unit, ratio)]
    signs: list[Sign] = []
    at = slot.start
    while at < slot.end:
        size = _largest((slot.end - at) * scale)
        signs.append(_loose_sign(slot.item, at, size / scale, size, (actual, normal)))
        at += size / scale
    return signs


def _loose_sign(item: int, at: mpq, length: mpq, written: mpq, ratio: tuple[int, int]) -> Sign:
    found = symbol_of(written) or ("", 0)
    unit = written if not found[1] else written / 3
    tuplets = (Tuplet(*ratio, unit, at, _ZERO),) if ratio != (1, 1) else ()
    return Sign(item, at, at + length, *found, ratio, tuplets)


def _largest(length: mpq) -> mpq:
    """The longest plain or dotted value not above ``length``, or the shortest there is."""
    size = mpq(8)
    while size > length and size > FINEST:
        size /= 2
    dotted = size * 3 / 2
    return dotted if dotted <= length and size > FINEST else size


def bind_loose(signs: list[Sign]) -> list[Sign]:
    """Give neighbouring loose symbols of one ratio one tuplet together."""
    bound: list[Sign] = []
    for _, group in groupby(signs, key=lambda s: s.ratio if _is_loose(s) else None):
        members = list(group)
        if _is_loose(members[0]):
            start, end = members[0].start, members[-1].end
            actual, normal = members[0].ratio
            unit = min(sign.tuplets[0].unit for sign in members)
            tuplet = Tuplet(actual, normal, unit, start, end - start)
            members = [sign._replace(tuplets=(tuplet,)) for sign in members]
        bound += members
    return bound


def _is_loose(sign: Sign) -> bool:
    return bool(sign.tuplets) and not sign.tuplets[0].length
