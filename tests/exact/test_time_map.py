"""Warps: exact maps of time that can be applied, turned round, put together and cut."""

from __future__ import annotations

import pytest
from gmpy2 import mpq
from hypothesis import given

from rhythm.exact.errors import RequestError
from rhythm.exact.time_map import TimeMap
from tests.strategies import fractions, warps

LILT = TimeMap.parse("0→0, 1/8→1/4, 1/4→3/8")


def test_a_warp_shows_its_breakpoints_to_a_musician() -> None:
    assert repr(LILT) == "TimeMap('0=0, 1/8=1/4, 1/4=3/8')"
    assert TimeMap.parse(str(LILT)) == LILT
    assert TimeMap.parse("0->0, 1/8 = 1/4, 1/4 → 3/8") == LILT


def test_a_warp_is_linear_between_its_points_and_goes_on_past_them() -> None:
    assert LILT(mpq(1, 16)) == mpq(1, 8)
    assert LILT(mpq(3, 16)) == mpq(5, 16)
    assert LILT(mpq(1, 2)) == mpq(5, 8)
    assert LILT(mpq(-1, 8)) == mpq(-1, 4)


def test_points_on_the_line_between_their_neighbours_are_dropped() -> None:
    warp = TimeMap(((mpq(0), mpq(0)), (mpq(1, 4), mpq(1, 2)), (mpq(1), mpq(2))))
    assert warp == TimeMap.linear(1, 2)
    assert len(warp.points) == 2


@given(warps(), fractions(-4, 8))
def test_the_inverse_after_the_map_is_the_identity(warp: TimeMap, t: mpq) -> None:
    back = warp.inverse()
    assert back(warp(t)) == t
    assert warp(back(t)) == t
    assert back.inverse() == warp


@given(warps(), warps(), warps(), fractions(-4, 8))
def test_composition_is_associative(f: TimeMap, g: TimeMap, h: TimeMap, t: mpq) -> None:
    assert f.then(g).then(h) == f.then(g.then(h))
    assert f.then(g)(t) == g(f(t))


@given(warps())
def test_a_map_followed_by_its_inverse_changes_nothing(warp: TimeMap) -> None:
    span = ((warp.start, warp.start), (warp.end, warp.end))
    assert warp.then(warp.inverse()) == TimeMap(span)


@given(warps(), warps())
def test_totals_are_preserved_when_maps_are_joined(f: TimeMap, g: TimeMap) -> None:
    joined = TimeMap.join([f, g])
    assert joined.length == f.length + g.length
    assert joined.image_length == f.image_length + g.image_length
    assert joined(f.end) == f(f.end)


@given(warps(), fractions(-4, 8), fractions(-4, 8))
def test_a_map_rises_strictly(warp: TimeMap, a: mpq, b: mpq) -> None:
    assert (a < b) == (warp(a) < warp(b))


@given(warps(), fractions(-2, 2), fractions(-2, 2), fractions(-4, 4))
def test_a_shifted_map_is_the_same_map_elsewhere(warp: TimeMap, x: mpq, y: mpq, t: mpq) -> None:
    assert warp.shift(x, y)(t + x) == warp(t) + y


@given(warps(), fractions(0, 4))
def test_a_restricted_map_agrees_inside_its_span(warp: TimeMap, t: mpq) -> None:
    cut = warp.restrict(mpq(0), mpq(4))
    assert cut(t) == warp(t)
    assert (cut.start, cut.end) == (0, 4)


@pytest.mark.parametrize(
    ("points", "problem"),
    [
        ("0→0", "too few points"),
        ("0→0, 1→0", "does not rise"),
        ("0→0, 0→1", "does not rise"),
        ("0→0, 1→1, 1/2→2", "does not rise"),
        ("0→0, 1", "not a point of a map"),
        ("0→0, 1→loud", "does not name a note value"),
    ],
)
def test_what_is_no_rising_map_is_refused(points: str, problem: str) -> None:
    with pytest.raises(RequestError, match=problem):
        TimeMap.parse(points)


def test_a_float_is_no_position() -> None:
    with pytest.raises(TypeError):
        TimeMap(((0.0, 0.0), (1.0, 1.5)))  # type: ignore[arg-type]
