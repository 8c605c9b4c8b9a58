"""Fit: what becomes of the rhythm of a beat, both ways.

The tables are this project's choice; common practice, no source, except the rhythmic modes.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import pytest
from gmpy2 import mpq
from hypothesis import given
from hypothesis import strategies as st

from rhythm.exact.metre import Metre, compound_partner, simple_partner
from rhythm.exact.time_map import TimeMap
from rhythm.restate.align import align
from rhythm.restate.fit import Line, fit_bar
from tests.strategies import plain_metres, rhythms

TO_COMPOUND = [
    ("1/8 1/8", "1/4 1/8"),
    ("1/16 1/16 1/16 1/16", "1/8 1/8 1/16 1/16"),
    ("3/16 1/16", "1/4 1/8"),
    ("1/16 3/16", "1/8 1/4"),
    ("7/32 1/32", "1/4 1/8"),
    ("3/32 1/32 1/8", "3/16 1/16 1/8"),
    ("1/32 3/32 1/8", "1/16 3/16 1/8"),
    ("1/32 3/32 1/32 3/32", "1/16 3/16 1/32 3/32"),
    ("1/8 1/16 1/16", "1/4 1/16 1/16"),
    ("1/8 3/32 1/32", "1/4 3/32 1/32"),
    ("1/16 1/16 1/8", "1/8 1/8 1/8"),
    ("1/8 1/4 1/8", "1/4 3/8 1/8"),
    ("3/8 1/8", "5/8 1/8"),
    ("1/8 3/8", "1/4 1/2"),
    ("1/4 1/4", "3/8 3/8"),
    ("1/2", "3/4"),
]
TUPLETS_TO_COMPOUND = [
    ("1/12 1/12 1/12", "1/8 1/8 1/8"),
    ("1/6 1/12", "1/4 1/8"),
    ("1/24 1/24 1/24 1/24 1/24 1/24", "1/16 1/16 1/16 1/16 1/16 1/16"),
    ("1/6 1/6 1/6", "1/4 1/4 1/4"),
    ("1/20 1/20 1/20 1/20 1/20", "3/40 3/40 3/40 3/40 3/40"),
]
TO_SIMPLE = [
    ("1/4 1/8", "1/8 1/8"),
    ("1/8 1/4", "1/16 3/16"),
    ("1/8 1/8 1/8", "1/16 1/16 1/8"),
    ("3/16 1/16 1/8", "3/32 1/32 1/8"),
    ("1/4 3/32 1/32", "1/8 3/32 1/32"),
    ("1/4 1/16 1/16", "1/8 1/16 1/16"),
    ("1/8 1/8 1/16 1/16", "1/16 1/16 1/16 1/16"),
    ("5/16 1/16", "3/16 1/16"),
    ("3/16 3/16", "1/8 1/8"),
    ("3/8 3/8", "1/4 1/4"),
    # The rhythmic modes in 6/8 (Britannica), as the rule makes them simple
    ("3/8 1/8 1/4", "1/4 1/16 3/16"),
    ("1/8 1/4 3/8", "1/16 3/16 1/4"),
]
TUPLETS_TO_SIMPLE = [
    ("3/16 3/16", "1/8 1/8"),
    ("3/32 3/32 3/32 3/32", "1/16 1/16 1/16 1/16"),
    ("3/40 3/40 3/40 3/40 3/40", "1/20 1/20 1/20 1/20 1/20"),
]


def placed(
    positions: Sequence[mpq],
    warp: TimeMap,
    source: Metre,
    target: Metre,
    *,
    straight: Sequence[tuple[mpq, mpq]] = (),
    held: bool = False,
    mode: str = "idiomatic",
) -> tuple[mpq, ...]:
    """The places of a voice alone."""
    line = Line(tuple(positions), tuple(straight), held or positions[0] == 0)
    return tuple(fit_bar([line], warp, source, target, mode=mode).values())


def fitted(
    source: str, target: str, durations: str, *, tuplet: bool = False, **options: str
) -> str:
    """The durations, from the start of the bar, after align and fit."""
    ours, theirs = Metre.parse(source), Metre.parse(target)
    places = [mpq(0)]
    for duration in durations.split():
        places.append(places[-1] + mpq(duration))
    warp = align(ours, theirs, lilt=options.get("lilt", "trochee"))
    spans = [(places[0], places[-1])] if tuplet else []
    mode = options.get("mode", "idiomatic")
    found = placed(places, warp, ours, theirs, straight=spans, mode=mode)
    return " ".join(str(b - a) for a, b in pairwise(found))


@pytest.mark.parametrize(("before", "after"), TO_COMPOUND, ids=[row[0] for row in TO_COMPOUND])
def test_a_simple_beat_becomes_compound(before: str, after: str) -> None:
    assert fitted("2/4", "6/8", before) == after


@pytest.mark.parametrize(("before", "after"), TO_SIMPLE, ids=[row[0] for row in TO_SIMPLE])
def test_a_compound_beat_becomes_simple(before: str, after: str) -> None:
    assert fitted("6/8", "2/4", before) == after


@pytest.mark.parametrize("written", [True, False], ids=["written tuplet", "by its onsets"])
@pytest.mark.parametrize(
    ("before", "after"), TUPLETS_TO_COMPOUND, ids=[row[0] for row in TUPLETS_TO_COMPOUND]
)
def test_a_tuplet_goes_straight_into_a_compound_beat(
    before: str, after: str, written: bool
) -> None:
    assert fitted("2/4", "6/8", before, tuplet=written) == after


@pytest.mark.parametrize("written", [True, False], ids=["written tuplet", "by its onsets"])
@pytest.mark.parametrize(
    ("before", "after"), TUPLETS_TO_SIMPLE, ids=[row[0] for row in TUPLETS_TO_SIMPLE]
)
def test_a_tuplet_goes_straight_into_a_simple_beat(before: str, after: str, written: bool) -> None:
    assert fitted("6/8", "2/4", before, tuplet=written) == after


@pytest.mark.parametrize(
    ("before", "after"),
    [
        ("1/8 1/8", "1/8 1/4"),
        ("1/16 1/16 1/16 1/16", "1/16 1/16 1/8 1/8"),
        ("3/16 1/16", "1/4 1/8"),
        ("1/8 1/4 1/8", "1/8 3/8 1/4"),
    ],
)
def test_an_iamb_puts_the_short_part_first(before: str, after: str) -> None:
    assert fitted("2/4", "6/8", before, lilt="iamb") == after


@pytest.mark.parametrize(
    ("source", "target", "before", "after"),
    [
        ("2/2", "6/4 compound", "1/4 1/4 3/8 1/8", "1/2 1/4 1/2 1/4"),
        ("4/8", "12/16", "1/16 1/16 3/32 1/32", "1/8 1/16 1/8 1/16"),
        ("6/16", "2/8", "1/8 1/16 1/16 1/8", "1/16 1/16 1/32 3/32"),
    ],
)
def test_the_grid_follows_the_size_of_the_beat(
    source: str, target: str, before: str, after: str
) -> None:
    assert fitted(source, target, before) == after


@pytest.mark.parametrize(
    ("source", "target", "before", "after"),
    [
        ("4/4", "2+2+3/8", "3/16 1/16 7/32 1/32 1/4 1/4", "3/16 1/16 7/32 1/32 1/4 1/8"),
        ("4/4", "3/4", "1/4 1/4 3/16 1/16 1/4", "1/4 1/4 3/32 1/32 1/8"),
        ("2/4", "3/4", "3/16 1/16 1/4", "3/8 1/8 1/4"),
    ],
)
def test_beats_restated_as_beats_of_their_own_kind_keep_their_rhythm(
    source: str, target: str, before: str, after: str
) -> None:
    assert fitted(source, target, before) == after


def test_more_notes_than_sixteenths_go_on_thirty_seconds() -> None:
    after = "1/16 1/16 1/16 1/16 1/32 1/32 1/32 1/32"
    assert fitted("2/4", "6/8", " ".join(["1/32"] * 8)) == after


def test_more_notes_than_any_grid_has_keep_the_exact_image() -> None:
    after = " ".join(["1/32"] * 8 + ["1/64"] * 8)
    assert fitted("2/4", "6/8", " ".join(["1/64"] * 16)) == after


def test_the_exact_mode_keeps_the_image_of_the_map() -> None:
    assert fitted("2/4", "6/8", "3/16 1/16", mode="exact") == "5/16 1/16"


def test_a_suspension_still_sounds_on_the_beat() -> None:
    """A note held over the beat by a sixteenth is not cut at the beat to save a tie."""
    simple, compound = Metre.parse("2/4"), Metre.parse("6/8")
    places = [mpq(n, 16) for n in (0, 5, 6, 7, 8)]
    found = placed(places, align(simple, compound), simple, compound)
    assert found == tuple(mpq(n, 16) for n in (0, 8, 10, 11, 12))


def test_what_is_not_written_before_a_voice_enters_costs_no_symbol() -> None:
    simple, compound = Metre.parse("2/4"), Metre.parse("6/8")
    warp, places = align(simple, compound), [mpq(3, 16), mpq(1, 4)]
    assert placed(places, warp, simple, compound) == (mpq(5, 16), mpq(3, 8))
    assert placed(places, warp, simple, compound, held=True) == (mpq(1, 4), mpq(3, 8))


def test_a_triplet_over_half_a_beat_leaves_the_rest_of_the_beat_readable() -> None:
    simple, compound = Metre.parse("2/4"), Metre.parse("6/8")
    places = [mpq(n, 24) for n in (0, 1, 2, 3, 6)]
    spans = [(mpq(0), mpq(1, 8))]
    found = placed(places, align(simple, compound), simple, compound, straight=spans)
    assert found == tuple(mpq(n, 16) for n in (0, 1, 2, 4, 6))


def test_two_half_beat_triplets_fill_a_compound_beat_evenly() -> None:
    simple, compound = Metre.parse("2/4"), Metre.parse("6/8")
    places = [mpq(n, 24) for n in range(7)]
    spans = [(mpq(0), mpq(1, 8)), (mpq(1, 8), mpq(1, 4))]
    found = placed(places, align(simple, compound), simple, compound, straight=spans)
    assert found == tuple(mpq(n, 16) for n in range(7))


def test_a_bar_stretched_evenly_is_still_written_in_sixteenths() -> None:
    source, target = Metre.parse("2/4"), Metre.parse("7/8")
    places = [mpq(n, 16) for n in range(9)]
    found = placed(places, align(source, target, lilt="even"), source, target)
    assert found == tuple(mpq(n, 16) for n in (0, 2, 3, 5, 7, 9, 10, 12, 14))


@given(st.data(), plain_metres(units=(4, 8)), plain_metres(units=(4, 8)))
def test_order_beats_and_nearness_are_kept(
    data: st.DataObject, source: Metre, target: Metre
) -> None:
    """Fitted positions rise, stay in their beat, and move by at most a division."""
    places = data.draw(rhythms(source.length))
    warp = align(source, target)
    images = [warp(place) for place in places]
    found = placed(places, warp, source, target)
    assert len(found) == len(places)
    assert all(a < b for a, b in pairwise(found))
    for place, image, result in zip(places, images, found, strict=True):
        beat = target.beat_node_at(image)
        assert target.beat_node_at(result).start == beat.start
        dyadic = not place.denominator % 3 and not place.denominator % 5
        if dyadic:
            assert abs(result - image) <= beat.children[0].length
        if image == beat.start:
            assert result == image


@given(st.data(), st.sampled_from(["2/4", "3/4", "4/4", "2/2", "4/8", "5/4"]))
def test_rhythms_on_the_divisions_come_back_from_the_compound_partner(
    data: st.DataObject, name: str
) -> None:
    simple = Metre.parse(name)
    compound = compound_partner(simple)
    cells = len(simple.beats) * 2
    step = simple.length / cells
    chosen = data.draw(st.sets(st.integers(0, cells - 1), min_size=1))
    places = tuple(step * i for i in sorted(chosen))
    there = placed(places, align(simple, compound), simple, compound)
    assert placed(there, align(compound, simple), compound, simple) == places


def test_partners_lead_back() -> None:
    names = ["2/4", "3/4", "4/4", "2/2", "3/2", "6/4", "5/4", "7/4", "9/4", "4/8", "2/8"]
    for name in names:
        metre = Metre.parse(name)
        assert simple_partner(compound_partner(metre)) == metre


def test_a_figure_is_fitted_alike_whatever_was_fitted_before_it() -> None:
    """Plain it becomes long-short; under a bracket over the beat it keeps its proportion."""
    simple, compound = Metre.parse("2/4"), Metre.parse("6/8")
    warp, places = align(simple, compound), [mpq(0), mpq(3, 16)]
    plain, bracketed = (mpq(0), mpq(1, 4)), (mpq(0), mpq(9, 32))
    for spans, meant in (((), plain), (((mpq(0), mpq(1, 4)),), bracketed)) * 2:
        assert placed(places, warp, simple, compound, straight=spans) == meant
