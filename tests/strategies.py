"""Hypothesis strategies shared by the tests: note values, metres, warps, rhythms of a bar."""

from __future__ import annotations

from collections.abc import Sequence

from gmpy2 import mpq
from hypothesis import strategies as st

from rhythm.exact.metre import Metre, Term
from rhythm.exact.time_map import TimeMap
from rhythm.exact.values import NOTE_VALUES

__all__ = ["fractions", "metres", "plain_metres", "plain_values", "rhythms", "values", "warps"]


def fractions(
    low: int = 0, high: int = 4, denominators: Sequence[int] = (1, 2, 3, 4, 5, 7, 8, 12, 16, 32)
) -> st.SearchStrategy[mpq]:
    """Exact positions from ``low`` to ``high`` whole notes on musical grids."""
    return st.builds(
        lambda d, share: mpq(low) + mpq(share % ((high - low) * d + 1), d),
        st.sampled_from(list(denominators)),
        st.integers(0, 10_000),
    )


def values() -> st.SearchStrategy[mpq]:
    """Durations: any positive fraction of a whole note with small terms."""
    return st.builds(mpq, st.integers(1, 300), st.integers(1, 300))


def plain_values(max_dots: int = 2) -> st.SearchStrategy[mpq]:
    """Durations of one written symbol."""
    return st.builds(
        lambda row, dots: row.length * (2 - mpq(1, 2**dots)),
        st.sampled_from(NOTE_VALUES),
        st.integers(0, max_dots),
    )


def plain_metres(
    most: int = 13, units: Sequence[int] = (4, 8), least: int = 2
) -> st.SearchStrategy[Metre]:
    """Plain signatures of ``least`` to ``most`` units."""
    return st.builds(
        lambda n, unit: Metre((Term((n,), unit),)),
        st.integers(least, most),
        st.sampled_from(list(units)),
    )


def metres() -> st.SearchStrategy[Metre]:
    """Every kind of metre: plain, additive, composite, with symbols, hints, second signatures."""
    terms = st.builds(
        Term,
        st.lists(st.integers(1, 12), min_size=1, max_size=4).map(tuple),
        st.sampled_from([1, 2, 4, 8, 16, 32]),
    )
    several = st.lists(terms, min_size=1, max_size=3).map(tuple)
    measured = st.builds(
        Metre,
        several,
        symbol=st.sampled_from(["", "", "common", "cut", "single-number", "note", "dotted-note"]),
        compound=st.sampled_from([None, None, True, False]),
        other=st.one_of(st.just(()), several),
        relation=st.just(""),
    )
    known = ["4/4", "C", "C|", "X", "senza misura", "7/8 as 3+2+2", "3/4 (6/8) equals"]
    return st.one_of(measured, st.sampled_from(known).map(Metre.parse))


def warps(most: int = 6) -> st.SearchStrategy[TimeMap]:
    """Strictly increasing maps with up to ``most`` points."""
    step = st.tuples(values(), values())

    def build(start: tuple[mpq, mpq], steps: list[tuple[mpq, mpq]]) -> TimeMap:
        points = [start]
        for dx, dy in steps:
            points.append((points[-1][0] + dx, points[-1][1] + dy))
        return TimeMap(tuple(points))

    return st.builds(
        build,
        st.tuples(fractions(-2, 2), fractions(-2, 2)),
        st.lists(step, min_size=1, max_size=most - 1),
    )


@st.composite
def rhythms(draw: st.DrawFn, length: mpq, most: int = 10) -> tuple[mpq, ...]:
    """Positions of a voice in a bar of this length: rising, from 0 or later, below its end."""
    grid = draw(st.sampled_from([8, 16, 16, 32, 12, 24, 20]))
    cells = int(length * grid)
    chosen = draw(st.sets(st.integers(0, max(0, cells - 1)), min_size=1, max_size=most))
    return tuple(mpq(cell, grid) for cell in sorted(chosen))
