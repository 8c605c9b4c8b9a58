"""Tuplets whose bracket or ratio is written on past their end.

A writer that closes a bracket one note too late squeezes the plain note behind a tuplet into it:
three sixteenths and an eighth under one bracket of 3:2, the last three under a second ratio, so
that all of it fits into an eighth. The page reads three triplet sixteenths and a plain eighth.
"""

from __future__ import annotations

from collections.abc import Callable
from itertools import product

from gmpy2 import mpq

from rhythm.exact.values import is_power_of_two
from rhythm.formats.musicxml.read.note_reader import Written, exact_value
from rhythm.formats.musicxml.read.tick_cursor import Belief

__all__ = ["plain_tails"]

_PLAIN = (1, 1)
_MOST_WAYS = 4096

Entries = list[tuple[int, Written]]
Beliefs = dict[int, Belief]


def plain_tails(
    notes: Entries, end: mpq, target: mpq, is_doubted: Callable[[Written], bool]
) -> Beliefs | None:
    """How each broken tuplet of a voice is read so that the voice ends at ``target``.

    ``end`` is where it ends as read. Of each outermost bracket with a doubted note the first
    notes keep the outer ratio and the others stand plain, where the plain values of those first
    come to the ratio's count times a power of two; or all stay as written, where that is one ratio.
    None where no reading, or more than one, ends at ``target``.
    """
    broken = [each for each in _brackets(notes) if any(is_doubted(note) for _, note in each)]
    ways = [_ways(bracket) for bracket in broken]
    count = 1
    for each in ways:
        count *= len(each)
    if not broken or not 0 < count <= _MOST_WAYS:
        return None
    rest = end - sum(note.duration for bracket in broken for _, note in bracket)
    found = [
        chosen for chosen in product(*ways) if rest + sum(length for length, _ in chosen) == target
    ]
    if len(found) != 1:
        return None
    beliefs: Beliefs = {}
    for _, own in found[0]:
        beliefs.update(own)
    return beliefs


def _brackets(notes: Entries) -> list[Entries]:
    """The outermost brackets: as marked, or runs of notes in a ratio where nothing is marked."""
    found: list[Entries] = []
    current: Entries = []
    depth = 0
    for place, note in notes:
        marks = [mark.get("type") for mark in note.tuplet_marks or ()]
        opens, closes = marks.count("start"), marks.count("stop")
        if opens and not depth and current:
            found.append(current)
            current = []
        inside = depth > 0 or opens or note.ratio != _PLAIN
        if inside:
            current.append((place, note))
        depth = max(depth + opens - closes, 0)
        if current and (not inside or (closes and not depth)):
            found.append(current)
            current = []
    return [*found, current] if current else found


def _ways(bracket: Entries) -> list[tuple[mpq, Beliefs]]:
    """The ways to read a broken bracket, each with the length it comes to."""
    found: list[tuple[mpq, Beliefs]] = []
    ratios = {note.ratio for _, note in bracket}
    if any(not note.type for _, note in bracket):
        return found
    if len(ratios) == 1:
        found.append(_way(bracket, len(bracket), bracket[0][1].ratio))
    outer = _outer_ratio(bracket)
    passed = mpq(0)
    for count, (_, note) in enumerate(bracket, 1):
        passed += exact_value(note.type, note.dots, 1, 1)
        unit = passed / outer[0]
        if outer == _PLAIN or not _is_plain_value(unit):
            continue
        way = _way(bracket, count, outer)
        if all(way[1] != other for _, other in found):
            found.append(way)
    return found


def _outer_ratio(bracket: Entries) -> tuple[int, int]:
    """The ratio of the bracket itself, without those inside it."""
    ratios = [note.ratio for _, note in bracket if note.ratio != _PLAIN]
    return min(ratios, key=lambda ratio: (ratio[0] * ratio[1], ratio), default=_PLAIN)


def _is_plain_value(unit: mpq) -> bool:
    return is_power_of_two(int(unit.numerator)) and is_power_of_two(int(unit.denominator))


def _way(bracket: Entries, count: int, ratio: tuple[int, int]) -> tuple[mpq, Beliefs]:
    """The first ``count`` notes in this ratio, the others plain."""
    beliefs: Beliefs = {}
    length = mpq(0)
    for index, (place, note) in enumerate(bracket):
        own = ratio if index < count else _PLAIN
        duration = exact_value(note.type, note.dots, *own)
        length += duration
        changed = own != note.ratio
        beliefs[place] = Belief(duration, ratio=own, remark="overrun" if changed else "")
    return length, beliefs
