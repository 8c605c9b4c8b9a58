"""What fills a length, and where cycles of different lengths meet again.

Conventions
-----------
Lengths are ``gmpy2.mpq`` in whole notes. Everything is exact and complete: all whole-number
solutions, not the first one.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from gmpy2 import gcd, lcm, mpq

from rhythm.exact.errors import RequestError
from rhythm.exact.frozen import dataclass
from rhythm.exact.metre import Metre
from rhythm.exact.values import format_value

__all__ = ["MOST_BARS", "Filling", "Meeting", "common_length", "common_unit", "fillings", "meet"]

MOST_BARS = 10_000
"""Lengths of more bars than this are not filled: nobody would read the answer."""


def _check(lengths: Sequence[mpq]) -> None:
    if not lengths:
        raise RequestError("no lengths to compare", legal="at least one length")
    for length in lengths:
        if length <= 0:
            raise RequestError(f"a length of {length}", legal="lengths above 0")


def common_unit(lengths: Sequence[mpq]) -> mpq:
    """The greatest value of which every length is a whole number: 1/8 for 5/8 and 1."""
    _check(lengths)
    bottom = lcm(*(length.denominator for length in lengths))
    return mpq(int(gcd(*(int(length * int(bottom)) for length in lengths))), int(bottom))


def common_length(lengths: Sequence[mpq]) -> mpq:
    """The least length that is a whole number of each: 5 for 5/8 and 1."""
    unit = common_unit(lengths)
    return unit * int(lcm(*(int(length / unit) for length in lengths)))


@dataclass(frozen=True, slots=True)
class Meeting:
    """Where cycles meet: after ``length``, ``units`` times ``unit``, so many turns of each.

    ``unit`` is the greatest unit fraction (1/8, 1/16, 1/12...) in which all lengths are whole.
    """

    cycles: tuple[mpq, ...]
    length: mpq
    unit: mpq
    units: int
    turns: tuple[int, ...]

    def to_dict(self) -> dict[str, object]:
        """Plain values for JSON; lengths as texts."""
        return {
            "cycles": [format_value(cycle) for cycle in self.cycles],
            "length": format_value(self.length),
            "unit": format_value(self.unit),
            "units": self.units,
            "turns": list(self.turns),
        }


def meet(*cycles: mpq | int) -> Meeting:
    """Where cycles that start together start together again.

    5/8 against 4/4 meet after 40 eighths (8 bars and 5 bars). Whole numbers may stand for counts
    of any one unit: groups of 3, 5 and 7 over 16 meet after 48, 80 and 112.
    """
    lengths = tuple(mpq(cycle) for cycle in cycles)
    length = common_length(lengths)
    unit = mpq(1, int(lcm(*(each.denominator for each in lengths))))
    turns = tuple(int(length / each) for each in lengths)
    return Meeting(lengths, length, unit, int(length / unit), turns)


@dataclass(frozen=True, slots=True)
class Filling:
    """So many bars of each metre, ``bars`` in all, and in how many ``orders`` they can stand."""

    metres: tuple[Metre, ...]
    counts: tuple[int, ...]

    @property
    def bars(self) -> int:
        """The number of bars."""
        return sum(self.counts)

    @property
    def orders(self) -> int:
        """In how many different orders these bars can follow one another (a multinomial)."""
        result = 1
        placed = 0
        for count in self.counts:
            for i in range(1, count + 1):
                placed += 1
                result = result * placed // i
        return result

    def __str__(self) -> str:
        used = (
            f"{count} × {metre}"
            for metre, count in zip(self.metres, self.counts, strict=True)
            if count
        )
        return " + ".join(used)

    def to_dict(self) -> dict[str, object]:
        """Plain values for JSON."""
        return {
            "counts": {
                str(metre): count for metre, count in zip(self.metres, self.counts, strict=True)
            },
            "bars": self.bars,
            "orders": self.orders,
        }


def fillings(length: mpq, metres: Sequence[Metre]) -> Iterator[Filling]:
    """Every way to fill ``length`` exactly with whole bars of these metres.

    5/8 and 7/8 fill four bars of 4/4 in one way: five of 5/8 and one of 7/8. Yields nothing where
    no whole numbers do. Raises RequestError for no metre, equal metres, or one without a length.
    """
    chosen = tuple(metres)
    lengths = [metre.length for metre in chosen]
    _check(lengths)
    if len({str(metre) for metre in chosen}) < len(chosen):
        raise RequestError("a metre is named twice", legal="different metres")
    unit = common_unit([*lengths, length])
    sizes = [int(each / unit) for each in lengths]
    if length / min(lengths) > MOST_BARS:
        raise RequestError(
            f"{length} holds more than {MOST_BARS} bars of {min(chosen, key=lambda m: m.length)}",
            legal="a shorter length",
        )

    def search(at: int, left: int) -> Iterator[tuple[int, ...]]:
        rest = sizes[at:]
        if left % int(gcd(*rest)):
            return
        if len(rest) == 1:
            yield (left // rest[0],)
            return
        for count in range(left // rest[0], -1, -1):
            for tail in search(at + 1, left - count * rest[0]):
                yield (count, *tail)

    for counts in search(0, int(length / unit)):
        yield Filling(chosen, counts)
