"""The measures of difficulty as published, and the level that is made of them."""

from __future__ import annotations

import pytest
from gmpy2 import mpq
from hypothesis import given
from hypothesis import strategies as st

from rhythm.exact.errors import RequestError
from rhythm.exact.metre import Metre
from rhythm.practice.difficulty import Difficulty, TupletUse, difficulty, line_level
from rhythm.practice.drills import two_parts
from rhythm.practice.measures import (
    density,
    finest,
    npvi,
    off_beatness,
    pulse,
    syncopation,
    syncopations,
    tenths,
    wnbd,
)
from rhythm.practice.rhythm_line import Line, weight
from rhythm.score.model import Bar, Event, Note, Part, Piece, Pitch, Score, Tuplet, Voice
from tests.tiny import melody

# WNBD, off-beatness: Gómez, Melvin, Rappaport, Toussaint 2005; nPVI: Toussaint 2013 fig. 17.13;
# LHL: recomputed from Longuet-Higgins & Lee 1984.
SIXTEEN = {
    "shiko": ("4 2 4 2 4", "6/5", 0, "66.7", 2),
    "son": ("3 3 4 2 4", "14/5", 1, "40.5", 4),
    "rumba": ("3 4 3 2 4", "18/5", 2, "41.0", 5),
    "soukous": ("3 3 4 1 5", "18/5", 2, "70.5", 6),
    "gahu": ("3 3 4 4 2", "18/5", 1, "23.8", 5),
    "bossa": ("3 3 4 3 3", "4", 2, "14.3", 6),
}
# 12 pulses, beat of 3 (same source)
TWELVE = {
    "soli": ("2 2 2 2 1 2 1", "15/7", 1),
    "tambú": ("2 2 2 1 2 2 1", "15/7", 2),
    "bembé": ("2 2 1 2 2 2 1", "3", 3),
    "yoruba": ("2 2 1 2 2 1 2", "3", 2),
    "sorsonet": ("1 1 2 2 2 2 2", "3", 1),
}


def onsets_of(intervals: str) -> tuple[list[int], int]:
    places, now = [], 0
    for interval in intervals.split():
        places.append(now)
        now += int(interval)
    return places, now


def line_of(values: str, metre: str) -> Line:
    bar = melody(metre, values.replace("-", "r"))
    return Line.of_events(bar.parts[0].voices[0].events, bar.bars)


def level_of(onsets: list[int] | tuple[int, ...], pulses: int = 16, beat: int = 4) -> Difficulty:
    """Onsets in a cycle of pulses; a beat of four pulses is a quarter, one of three is dotted."""
    metre = Metre.parse(f"{pulses // 4}/4" if beat == 4 else f"{pulses}/8")
    return line_level(Line.of_grid(onsets, metre.length / pulses, metre))


@pytest.mark.parametrize("name", SIXTEEN)
def test_sixteen_pulse_patterns_measure_as_published(name: str) -> None:
    intervals, distance, off, contrast, syncopated = SIXTEEN[name]
    onsets, pulses = onsets_of(intervals)
    assert pulses == 16
    found = level_of(onsets)
    assert found.wnbd == mpq(distance)
    assert found.off_beatness == off
    assert tenths(found.npvi) == contrast
    assert found.syncopation == syncopated


@pytest.mark.parametrize("name", TWELVE)
def test_twelve_pulse_patterns_measure_as_published(name: str) -> None:
    intervals, distance, off = TWELVE[name]
    onsets, pulses = onsets_of(intervals)
    assert pulses == 12
    found = level_of(onsets, pulses, 3)
    assert (found.wnbd, found.off_beatness) == (mpq(distance), off)


@pytest.mark.parametrize(
    ("metre", "weights"),
    [
        # Longuet-Higgins & Lee 1984
        ("4/4", "0 -3 -2 -3 -1 -3 -2 -3"),
        ("3/4", "0 -2 -1 -2 -1 -2"),
        ("6/8", "0 -2 -2 -1 -2 -2"),
    ],
)
def test_the_weights_of_eighths(metre: str, weights: str) -> None:
    expected = [int(each) for each in weights.split()]
    assert [weight(Metre.parse(metre), mpq(i, 8)) for i in range(len(expected))] == expected


def test_a_tuplet_note_weighs_what_a_division_of_its_beat_does() -> None:
    metre = Metre.parse("4/4")
    assert [weight(metre, mpq(i, 12)) for i in range(4)] == [0, -3, -3, -2]
    assert weight(metre, mpq(1, 24)) == -4


@pytest.mark.parametrize(
    ("values", "expected"),
    [
        # Condit-Schultz 2019
        ("1 1/2 1/2 1 1/2 1/2", "40.0"),
        ("1 1/2 1 1/2", "66.7"),
        ("3/2 1/2 3/2 1/2", "100.0"),
        ("1/4 1/4 1/4", "0.0"),
        ("1/4", "0.0"),
    ],
)
def test_npvi_as_published(values: str, expected: str) -> None:
    assert tenths(npvi([mpq(value) for value in values.split()])) == expected


@given(st.lists(st.integers(1, 16), min_size=2, max_size=12), st.integers(1, 9), st.integers(1, 9))
def test_npvi_does_not_hear_the_tempo(values: list[int], up: int, down: int) -> None:
    durations = [mpq(value, 16) for value in values]
    assert npvi(durations) == npvi([each * mpq(up, down) for each in durations])
    assert 0 <= npvi(durations) < 200


@pytest.mark.parametrize(
    ("value", "text"),
    [
        ("40", "40.0"),
        ("200/3", "66.7"),
        ("1/20", "0.1"),
        ("-1/4", "-0.3"),
        ("0", "0.0"),
        ("-1/100", "0.0"),
        ("999/100", "10.0"),
    ],
)
def test_a_decimal_is_rounded_half_up_from_the_exact_value(value: str, text: str) -> None:
    assert tenths(mpq(value)) == text


@pytest.mark.parametrize(
    ("values", "metre", "expected"),
    [
        ("1/4 1/4 1/4 1/4", "4/4", (0, 0, 0, 0)),
        # the off-beat quarter ties over the second beat: -2 - -3
        ("1/8 1/4 1/8 1/2", "4/4", (0, 1, 0, 0)),
        # over the half-bar: -1 - -3
        ("1/4 1/8 1/4 3/8", "4/4", (0, 0, 2, 1)),
        # over the bar line: 0 - -3
        ("7/8 1/4 7/8", "4/4", (0, 3, 2)),
        ("1/8 3/8 1/4", "6/8", (0, 1, 0)),
        ("-1/8 1/8 -1/8 1/8 1/4 1/4", "4/4", (1, 0, 0, 0)),
    ],
)
def test_each_note_is_syncopated_by_the_heaviest_place_it_covers(
    values: str, metre: str, expected: tuple[int, ...]
) -> None:
    assert syncopations(line_of(values, metre)) == expected


def test_wnbd_counts_a_note_that_crosses_one_beat_twice() -> None:
    # T = 1/2: up to the next beat 1/T, past it 2/T, to the second beat after or past it 1/T
    half = mpq(2)
    assert wnbd(line_of("1/8 1/8 1/4 1/2", "4/4")) == half / 4
    assert wnbd(line_of("1/8 1/4 1/8 1/2", "4/4")) == (2 * half + half) / 4
    assert wnbd(line_of("1/8 3/8 1/2", "4/4")) == half / 3
    assert wnbd(line_of("1/8 1/2 3/8", "4/4")) == (half + half) / 3


def test_off_beatness_is_about_the_grid_it_is_told() -> None:
    line = Line.of_grid((0, 4, 6, 10, 12), mpq(1, 16), Metre.parse("4/4"))
    assert off_beatness(line) == 0
    assert pulse(line) == mpq(1, 8)
    assert off_beatness(line, mpq(1, 8)) == 2


def test_density_and_finest_value() -> None:
    line = line_of("1/8 1/8 1/4 1/16 3/16 1/4", "4/4")
    assert density(line) == mpq(6, 4)
    assert finest(line) == mpq(1, 16)


def test_the_level_orders_the_six_patterns() -> None:
    levels = {name: level_of(onsets_of(row[0])[0]).level for name, row in SIXTEEN.items()}
    order = sorted(levels, key=levels.__getitem__)
    assert order[:2] == ["shiko", "son"]
    assert set(order[2:4]) == {"gahu", "rumba"}
    assert set(order[4:]) == {"bossa", "soukous"}
    assert len(set(levels.values())) == 6


# Ranked by hand from what a beginner reads first to what needs work (common practice, no source).
LADDER = [
    ("two halves", "1/2 1/2", "4/4", ()),
    ("quarters", "1/4 1/4 1/4 1/4", "4/4", ()),
    ("quarters and two eighths", "1/4 1/4 1/8 1/8 1/4", "4/4", ()),
    ("dotted quarter, eighth", "3/8 1/8 3/8 1/8", "4/4", ()),
    ("triplets on the beat", "1/12 1/12 1/12 1/4 1/12 1/12 1/12 1/4", "4/4", (TupletUse(3, 2),)),
    ("eighth quarter eighth", "1/8 1/4 1/8 1/8 1/4 1/8", "4/4", ()),
    ("dotted eighth, sixteenth", "3/16 1/16 3/16 1/16 3/16 1/16 3/16 1/16", "4/4", ()),
    ("sixteenths", "1/16 " * 16, "4/4", ()),
    ("off-beat quarters", "1/8 1/4 1/4 1/4 1/8", "4/4", ()),
    ("sixteenth eighth sixteenth", "1/16 1/8 1/16 " * 4, "4/4", ()),
    ("triplet quarters", "1/6 1/6 1/6 1/6 1/6 1/6", "4/4", (TupletUse(3, 2, 2),)),
    ("quintuplets", "1/20 1/20 1/20 1/20 1/20 1/4 1/20 1/20 1/20 1/20 1/20 1/4", "4/4",
     (TupletUse(5, 4),)),
    ("syncopated sixteenths", "3/16 1/8 3/16 1/8 3/16 3/16", "4/4", ()),
    ("septuplets", "1/28 " * 7 + "1/4 " + "1/28 " * 7 + "1/4", "4/4", (TupletUse(7, 4),)),
]  # fmt: skip


def test_the_level_orders_a_ladder_ranked_by_hand() -> None:
    levels = [line_level(line_of(values, metre), uses).level for _, values, metre, uses in LADDER]
    assert levels == sorted(levels), list(zip([row[0] for row in LADDER], levels, strict=True))
    assert levels[0] < 2
    assert levels[-1] > 6
    assert all(1 <= level <= 10 for level in levels)


@given(
    st.lists(st.integers(0, 15), min_size=1, max_size=16, unique=True),
)
def test_every_pattern_has_a_level_from_one_to_ten(onsets: list[int]) -> None:
    found = level_of(onsets)
    assert 1 <= found.level <= 10
    assert (found.level * 10).denominator == 1
    assert found.syncopation >= 0


def event(onset: str, duration: str, bar: int = 0, tuplet: Tuplet | None = None) -> Event:
    note = Note("pitched", Pitch("C", mpq(0), 5))
    piece = Piece(bar, mpq(onset) - bar, mpq(duration), "", tuplets=(tuplet,) if tuplet else ())
    return Event(mpq(onset), mpq(duration), bar, (note,), (piece,))


def score_of(metres: str, *voices: list[Event]) -> Score:
    bars, now = [], mpq(0)
    for index, text in enumerate(metres.split()):
        metre = Metre.parse(text)
        bars.append(Bar(index, str(index + 1), now, metre.length, metre, shows_metre=not index))
        now += metre.length
    named = tuple(Voice(str(i + 1), tuple(events)) for i, events in enumerate(voices))
    return Score((Part("P1", "Line", tuple(bars), named, ()),))


def test_a_score_measures_as_the_line_it_holds() -> None:
    score = score_of("4/4", [event("0", "1/8"), event("1/8", "1/4"), event("3/8", "5/8")])
    found = difficulty(score)
    assert (found.onsets, found.syncopation, found.metre_changes) == (3, 3, 0)
    assert found.density == mpq(3, 4)


def test_the_hardest_voice_grades_the_score_and_a_voice_can_be_named() -> None:
    easy = [event("0", "1/2"), event("1/2", "1/2")]
    hard = [event("0", "3/16"), event("3/16", "3/8"), event("9/16", "7/16")]
    score = score_of("4/4", easy, hard)
    assert difficulty(score) == difficulty(score, voice="2")
    assert difficulty(score, voice="1").level < difficulty(score).level
    with pytest.raises(RequestError, match="there is no part 'P9'"):
        difficulty(score, part="P9")


def test_changing_and_uneven_metres_and_tuplets_make_it_harder() -> None:
    plain = score_of("4/4 4/4", [event("0", "1"), event("1", "1", 1)])
    mixed = score_of("4/4 7/8", [event("0", "1"), event("1", "7/8", 1)])
    assert difficulty(mixed).metre_changes == 1
    assert difficulty(mixed).level > difficulty(plain).level + 3
    third = Tuplet(3, 2, mpq(1, 8), mpq(0), mpq(1, 4))
    triplet = [event(f"{i}/12", "1/12", 0, third) for i in range(3)] + [event("1/4", "3/4")]
    assert difficulty(score_of("4/4", triplet)).tuplets == (TupletUse(3, 2),)


def test_a_silent_score_has_the_lowest_level() -> None:
    rest = Event(mpq(0), mpq(1), 0, (Note("rest"),))
    assert difficulty(score_of("4/4", [rest])).level == 1
    assert syncopation(Line((), ())) == 0


def test_a_bracket_on_the_grid_of_halves_is_counted_once_as_a_tuplet() -> None:
    """Four in the time of three, and two; common practice, no source."""
    four = difficulty(melody("6/8", "3/32 3/32 3/32 3/32 3/8"))
    assert [str(use) for use in four.tuplets] == ["4:3"]
    assert dict(four.points)["subdivision"] == 0
    two = difficulty(melody("6/8", "3/16 3/16 3/8"))
    three = difficulty(melody("2/4", "1/12 1/12 1/12 1/4"))
    assert [str(use) for use in two.tuplets] == ["2:3"]
    assert dict(two.points)["subdivision"] == dict(three.points)["subdivision"] == 0


def test_two_hands_are_graded_in_a_sensible_order() -> None:
    """What is closer to the beat first; ranked by hand."""

    def level(a: int, b: int) -> mpq:
        return difficulty(two_parts(a, b)).level

    assert level(3, 2) < level(4, 3) < level(5, 3)
    assert all(level(4, 3) < level(*pair) for pair in ((5, 4), (7, 4), (7, 5), (9, 8), (11, 7)))
