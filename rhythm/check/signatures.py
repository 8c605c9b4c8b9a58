"""A signature that is misprinted once: most bars under it hold the same other length.

Then the bars are right and the signature is wrong, and it is said once, where it stands; the bars
are judged by the signature that they hold.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence

from gmpy2 import mpq

from rhythm.check.bar_lengths import length_of
from rhythm.check.survey import PartBar
from rhythm.exact.frozen import dataclass
from rhythm.exact.metre import Metre
from rhythm.exact.metre_of_length import simplest_metre

__all__ = ["Misprint", "misprints"]

_FEWEST = 4
_SHARE = mpq(3, 5)


@dataclass(frozen=True, slots=True)
class Misprint:
    """A wrong signature: where it stands, for which parts, what it should be.

    ``column`` is its first bar, ``until`` the first bar it no longer governs; of ``among`` bars
    whose music tells their length ``holding`` hold ``metre``.
    """

    column: int
    until: int
    parts: tuple[int, ...]
    printed: Metre
    metre: Metre
    holding: int
    among: int


def misprints(columns: Sequence[Sequence[PartBar]]) -> Iterator[Misprint]:
    """The misprinted signatures of a score, in order."""
    found: dict[tuple[int, int, Metre, Metre], list[tuple[int, int, int]]] = {}
    for which in range(len(columns[0]) if columns else 0):
        for start, until in _stretches(columns, which):
            printed = columns[start][which].bar.metre
            if printed is None or printed.senza or until - start < _FEWEST:
                continue
            held = [
                length
                for index in range(start, until)
                if not _stands_at_a_break(columns, index, which)
                and (length := length_of(columns[index][which], columns[index][which].metre))
                is not None
            ]
            lengths = Counter(_whole_bars(held))
            among = sum(lengths.values())
            if among < _FEWEST or 2 * lengths[printed.length] > among:
                continue
            length, holding = lengths.most_common(1)[0]
            if length == printed.length or holding < _SHARE * among:
                continue
            metre = _meant(columns, start, which, length)
            if metre is not None:
                key = (start, until, printed, metre)
                found.setdefault(key, []).append((which, holding, among))
    for (start, until, printed, metre), parts in sorted(found.items(), key=lambda each: each[0][0]):
        yield Misprint(
            start,
            until,
            tuple(which for which, _, _ in parts),
            printed,
            metre,
            min(holding for _, holding, _ in parts),
            min(among for _, _, among in parts),
        )


def _stretches(columns: Sequence[Sequence[PartBar]], which: int) -> Iterator[tuple[int, int]]:
    """The stretches of bars under one signature."""
    starts = [
        index
        for index, column in enumerate(columns)
        if not index or column[which].bar.metre != columns[index - 1][which].bar.metre
        or column[which].bar.shows_metre
    ]  # fmt: skip
    yield from zip(starts, [*starts[1:], len(columns)], strict=True)


def _whole_bars(held: Sequence[mpq]) -> Iterator[mpq]:
    """The lengths of bars, two halves that make the commonest length as one."""
    most = Counter(held).most_common(1)[0][0] if held else None
    half: mpq | None = None
    for length in held:
        if half is not None and half + length == most:
            yield most
            half = None
            continue
        if half is not None:
            yield half
        half = length if most is not None and length < most else None
        if half is None:
            yield length
    if half is not None:
        yield half


def _stands_at_a_break(columns: Sequence[Sequence[PartBar]], index: int, which: int) -> bool:
    """May the bar be short because a repeat, an ending or a double bar cuts it?"""
    bar = columns[index][which].bar
    lines = [bar.left, bar.right]
    if index:
        lines.append(columns[index - 1][which].bar.right)
    if index + 1 < len(columns):
        lines.append(columns[index + 1][which].bar.left)
    for line in lines:
        if line is not None and (
            line.repeat or line.ending_type or line.style not in ("", "regular")
        ):
            return True
    return False


def _meant(
    columns: Sequence[Sequence[PartBar]], start: int, which: int, length: mpq
) -> Metre | None:
    """The signature that these bars should have: the other parts', else the simplest."""
    column = columns[start]
    printed = column[which].bar.metre
    for sign in ("C", "C|"):
        meant = Metre.parse(sign)
        if printed is not None and printed.symbol == meant.symbol and meant.length == length:
            return meant
    for slot in column:
        if slot.bar.metre is not None and slot.bar.metre.length == length:
            return slot.bar.metre
    return simplest_metre(length, column[which].bar.metre)
