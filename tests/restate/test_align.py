"""Align: how the bars of one metre are laid on the bars of another.

The tables are this project's choice; common practice, no source, except where one is named.
"""

from __future__ import annotations

from itertools import pairwise

import pytest
from gmpy2 import mpq
from hypothesis import given
from hypothesis import strategies as st

from rhythm.exact.errors import RequestError
from rhythm.exact.metre import Metre
from rhythm.exact.time_map import TimeMap
from rhythm.restate.align import FEET, Lilt, align
from tests.strategies import plain_metres

# source, target, lilt, durations that fill the source bar, durations they become
TABLE = [
    ("4/4", "12/8", "trochee", "1/8 1/8 1/8 1/8 1/2", "1/4 1/8 1/4 1/8 3/4"),
    ("4/4", "12/8", "iamb", "1/8 1/8 1/8 1/8 1/2", "1/8 1/4 1/8 1/4 3/4"),
    ("4/4", "12/8", "even", "1/8 1/8 1/8 1/8 1/2", "3/16 3/16 3/16 3/16 3/4"),
    ("2/4", "3/4", "trochee", "1/4 1/4", "1/2 1/4"),
    ("2/4", "3/4", "iamb", "1/4 1/4", "1/4 1/2"),
    ("2/4", "3/4", "even", "1/4 1/4", "3/8 3/8"),
    ("4/4", "3/2", "trochee", "1/2 1/2", "1 1/2"),
    ("4/4", "3/4", "trochee", "1/4 1/4 1/4 1/4", "1/4 1/4 1/8 1/8"),
    ("4/4", "3/4", "iamb", "1/4 1/4 1/4 1/4", "1/8 1/8 1/4 1/4"),
    # one bar of 3/4 for one of 4/4 with the bar count kept
    ("3/4", "4/4", "trochee", "1/4 1/4 1/4", "1/4 1/4 1/2"),
    ("3/4", "4/4", "iamb", "1/4 1/4 1/4", "1/2 1/4 1/4"),
    ("4/4", "3+2/4", "trochee", "1/4 1/4 1/4 1/4", "1/2 1/4 1/4 1/4"),
    ("4/4", "2+3/4", "iamb", "1/4 1/4 1/4 1/4", "1/4 1/4 1/4 1/2"),
    ("4/4", "2+2+3/8", "trochee", "1/4 1/4 1/4 1/4", "1/4 1/4 1/4 1/8"),
    ("4/4", "7/8", "trochee", "1/4 1/4 1/4 1/4", "1/4 1/4 1/4 1/8"),
    ("3/4", "2/4", "trochee", "1/2 1/4", "1/4 1/4"),
    ("12/8", "4/4", "trochee", "1/4 1/8 1/4 1/8 3/4", "1/8 1/8 1/8 1/8 1/2"),
    ("2/2", "6/4 compound", "trochee", "1/4 1/4 1/2", "1/2 1/4 3/4"),
    ("6/4", "18/8", "trochee", "1/8 1/8 1/4 1", "1/4 1/8 3/8 3/2"),
    ("3/8", "9/16", "trochee", "1/16 1/16 1/8 1/8", "1/8 1/16 3/16 3/16"),
    ("2/4", "6/8", "3:2", "1/8 1/8 1/8 1/8", "9/40 3/20 9/40 3/20"),
    ("2/4", "6/8", "2:1", "1/8 1/8 1/8 1/8", "1/4 1/8 1/4 1/8"),
    ("2/4", "2/4", "7:5", "1/8 1/8 1/8 1/8", "7/48 5/48 7/48 5/48"),
    ("6/8", "2/4", "2:1", "1/4 1/8 1/4 1/8", "1/8 1/8 1/8 1/8"),
    ("6/8", "6/8", "3:2", "1/4 1/8 3/8", "9/40 3/20 3/8"),
    ("2/4", "2/4", "1:2", "1/8 1/8 1/4", "1/12 1/6 1/4"),
]
IDS = [f"{source} to {target}, {lilt}: {before}" for source, target, lilt, before, _ in TABLE]


def images(warp: TimeMap, durations: str) -> str:
    places = [mpq(0)]
    for duration in durations.split():
        places.append(places[-1] + mpq(duration))
    ends = [warp(place) for place in places]
    return " ".join(str(b - a) for a, b in pairwise(ends))


@pytest.mark.parametrize(("source", "target", "lilt", "before", "after"), TABLE, ids=IDS)
def test_a_bar_is_laid_on_another(
    source: str, target: str, lilt: str, before: str, after: str
) -> None:
    warp = align(Metre.parse(source), Metre.parse(target), lilt=lilt)
    assert images(warp, before) == after
    assert images(warp.inverse(), after) == before


@pytest.mark.parametrize(("source", "target", "lilt", "before", "after"), TABLE, ids=IDS)
def test_the_way_back_under_the_same_foot_is_the_inverse(
    source: str, target: str, lilt: str, before: str, after: str
) -> None:
    there, back = Metre.parse(source), Metre.parse(target)
    if lilt in FEET or there.is_compound != back.is_compound:
        assert align(back, there, lilt=lilt) == align(there, back, lilt=lilt).inverse()
    else:
        assert align(back, there, lilt=lilt) == align(there, back, lilt=lilt)


@given(plain_metres(), plain_metres(), st.sampled_from([*FEET, "3:2", "1:2"]))
def test_any_two_bars_meet_at_both_ends_and_are_mapped_exactly(
    source: Metre, target: Metre, lilt: str
) -> None:
    warp = align(source, target, lilt=lilt)
    assert (warp.start, warp.end) == (0, source.length)
    assert (warp(mpq(0)), warp(source.length)) == (0, target.length)
    back = warp.inverse()
    steps = [source.length * i / 48 for i in range(49)]
    assert [back(warp(step)) for step in steps] == steps
    rising = [warp(step) for step in steps]
    assert rising == sorted(set(rising))


@given(plain_metres(), plain_metres(), st.sampled_from(FEET))
def test_the_same_foot_leads_back(source: Metre, target: Metre, lilt: str) -> None:
    assert align(target, source, lilt=lilt) == align(source, target, lilt=lilt).inverse()


@given(plain_metres(most=36, units=(2, 4, 8, 16)), st.sampled_from(FEET))
def test_a_metre_laid_on_itself_is_unchanged(metre: Metre, lilt: str) -> None:
    assert align(metre, metre, lilt=lilt) == TimeMap.linear(metre.length, metre.length)


@pytest.mark.parametrize("text", ["trochee", "iamb", "even", "2:1", "7:5"])
def test_a_lilt_is_printed_as_it_is_read(text: str) -> None:
    assert str(Lilt.parse(text)) == text
    assert repr(Lilt.parse(text)) == f"Lilt({text!r})"


@pytest.mark.parametrize("text", ["", "dactyl", "2:0", "0:1", "2:1:1", "-1:2", "1.5:1"])
def test_an_unknown_lilt_is_refused_with_the_legal_ones(text: str) -> None:
    with pytest.raises(RequestError, match="there are trochee, iamb, even, and ratios such as 2:1"):
        align(Metre.parse("4/4"), Metre.parse("12/8"), lilt=text)


def test_a_bar_without_measure_cannot_be_aligned() -> None:
    with pytest.raises(RequestError, match="no length"):
        align(Metre.parse("X"), Metre.parse("4/4"))
