"""Exact reckoning: sums of values, tempo relations, bars that fill a length, cycles that meet."""

from __future__ import annotations

import json
from contextlib import suppress
from itertools import product

import pytest
from gmpy2 import mpq
from hypothesis import given
from hypothesis import strategies as st

from rhythm.exact.cycles import common_length, common_unit, fillings, meet
from rhythm.exact.errors import RequestError
from rhythm.exact.expressions import evaluate
from rhythm.exact.metre import Metre
from rhythm.exact.reckoning import cycle_length, reckon
from rhythm.exact.relations import least_tuplet, tempo_relation


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("24*1/32", "3/4"),
        ("24 x 1/32", "3/4"),
        ("24×1/32", "3/4"),
        ("24 times 1/32", "3/4"),
        ("24 thirty-seconds", "3/4"),
        ("24 32nds", "3/4"),
        ("dotted quarter + 2 eighths", "5/8"),
        ("quarter + eighth + sixteenth", "7/16"),
        ("3 dotted halves", "9/4"),
        ("whole minus dotted quarter", "5/8"),
        ("whole − quarter", "3/4"),
        ("3 eighth triplets", "1/4"),
        ("3 triplet eighths", "1/4"),
        ("quintuplet sixteenth", "1/20"),
        ("dotted-quarter", "3/8"),
        ("two eighths", "1/4"),
        ("2(1/4+1/8)", "3/4"),
        ("4 bars of 3/4", "3"),
        ("half of 3/4", "3/8"),
        ("(1/4 + 1/8) * 2", "3/4"),
        ("2 * (3/8 - 1/16)", "5/8"),
        ("3/4 / 3", "1/4"),
        ("3/4 : 3/8", "2"),
        ("1/3", "1/3"),
        ("1.5 * 1/4", "3/8"),
        ("-1/4 + 1/2", "1/4"),
        ("7", "7"),
    ],
)
def test_a_sum_of_values_is_exact(text: str, expected: str) -> None:
    assert evaluate(text) == mpq(expected)


@pytest.mark.parametrize(
    ("text", "problem"),
    [
        ("", "nothing is written"),
        ("   ", "nothing is written"),
        ("1/4 +", "missing at the end"),
        ("1/4 + * 2", "'\\*' stands where a value belongs"),
        ("(1/4", "a bracket is not closed"),
        ("1/4)", "'\\)' stands where"),
        ("1/0", "division by nothing"),
        ("1/4 / (1/8 - 1/8)", "division by nothing"),
        ("1/4 1/8", "stands where a sign"),
        ("1/4 & 1/8", "'&'"),
        ("__import__('os')", "cannot reckon"),
        ("wobbly quarter", "cannot reckon"),
        ("9" * 30, "digits"),
        ("(" * 60 + "1" + ")" * 60, "brackets"),
        ("1+" * 1500 + "1", "characters"),
    ],
)
def test_what_is_no_sum_is_one_clear_line(text: str, problem: str) -> None:
    with pytest.raises(RequestError, match=problem) as caught:
        evaluate(text)
    assert "\n" not in str(caught.value)


@given(st.text(max_size=30))
def test_no_text_gives_a_traceback(text: str) -> None:
    with suppress(RequestError):
        evaluate(text)


@given(
    st.lists(
        st.tuples(st.sampled_from("+-"), st.integers(1, 40), st.sampled_from([1, 2, 3, 8, 12])),
        min_size=1,
        max_size=6,
    )
)
def test_a_written_sum_is_the_sum(terms: list[tuple[str, int, int]]) -> None:
    text = "0" + "".join(f" {sign} {top}/{bottom}" for sign, top, bottom in terms)
    total = mpq(0)
    for sign, top, bottom in terms:
        total += mpq(top, bottom) if sign == "+" else -mpq(top, bottom)
    assert evaluate(text) == total


def test_a_row_and_its_retrograde_in_thirty_seconds_is_half_a_bar_of_6_4() -> None:
    # common practice, no source: 24 x 1/32 = 3/4, exactly half a 6/4 bar
    answer = reckon("24*1/32", in_="6/4")
    assert answer.value == mpq(3, 4)
    assert answer.name == "dotted half"
    assert "3/4" in answer.fills
    assert (answer.bars, answer.rest, answer.left) == (0, mpq(3, 4), mpq(3, 4))
    assert json.loads(json.dumps(answer.to_dict()))["left"] == "3/4"


@pytest.mark.parametrize(
    ("text", "metre", "bars", "rest", "left"),
    [
        ("7*1/8", "3/4", 1, "1/8", "5/8"),
        ("6/4", "3/4", 2, "0", "0"),
        ("5 quarters", "5/4", 1, "0", "0"),
        ("1/12", "2/4", 0, "1/12", "5/12"),
    ],
)
def test_what_is_left_of_a_bar(text: str, metre: str, bars: int, rest: str, left: str) -> None:
    answer = reckon(text, in_=metre)
    assert (answer.bars, answer.rest, answer.left) == (bars, mpq(rest), mpq(left))


def test_every_plain_metre_of_the_length_is_named() -> None:
    assert set(reckon("3/4").fills) >= {"3/4", "6/8"}
    assert set(reckon("whole").fills) >= {"4/4", "2/2"}
    assert reckon("1/3").fills == ()


@pytest.mark.parametrize(
    ("text", "fills"),
    [
        ("15/16", ("15/16", "30/32")),
        ("13/8", ("13/8", "26/16")),
        ("5/2", ("5/2", "10/4")),
        ("7/32", ("7/32", "14/64")),
        ("4", ("8/2", "16/4")),
        ("6/2", ("6/2", "12/4")),
        ("24/16", ("24/16", "6/4", "3/2", "12/8")),
    ],
)
def test_uncommon_bars_are_named_where_no_common_one_is_so_long(
    text: str, fills: tuple[str, ...]
) -> None:
    answer = reckon(text)
    assert answer.fills[0] == fills[0]
    assert set(answer.fills) == set(fills)
    assert {Metre.parse(each).length for each in answer.fills} == {answer.value}


def test_a_negative_sum_fills_no_bar() -> None:
    assert reckon("1/8 - 1/4").value == mpq(-1, 8)
    with pytest.raises(RequestError, match="0 or more"):
        reckon("1/8 - 1/4", in_="3/4")


@pytest.mark.parametrize(
    ("tempo", "old", "new", "expected"),
    [
        # Carter, Eight Etudes and a Fantasy, Fantasy 16-17 (DeLone 1975)
        (84, "1/12", "1/8", "126"),
        # proportio sesquialtera: three halves in the time of two (Riemann 1882)
        (60, "1/3", "1/2", "90"),
        ("92.5", "1/4", "1/4", "92.5"),
        (120, "3/8", "1/4", "80"),
    ],
)
def test_a_tempo_follows_the_value_that_stays(
    tempo: int | str, old: str, new: str, expected: str
) -> None:
    assert tempo_relation(tempo, mpq(old), mpq(new)).after == evaluate(expected)


@pytest.mark.parametrize(("tempo", "old"), [(0, "1/4"), (-5, "1/4"), (60, "0")])
def test_a_tempo_of_nothing_is_refused(tempo: int, old: str) -> None:
    with pytest.raises(RequestError, match="above 0"):
        tempo_relation(tempo, mpq(old), mpq(1, 4))


def test_a_tempo_is_never_a_float() -> None:
    with pytest.raises(TypeError, match="not an exact tempo"):
        tempo_relation(84.0, mpq(1, 12), mpq(1, 8))  # type: ignore[arg-type]


def test_5_8_and_7_8_fill_four_bars_of_4_4_in_one_way() -> None:
    found = list(fillings(mpq(4), [Metre.parse("5/8"), Metre.parse("7/8")]))
    assert [each.counts for each in found] == [(5, 1)]
    assert found[0].bars == 6
    assert found[0].orders == 6


@given(
    st.integers(1, 40),
    st.lists(
        st.sampled_from(["2/8", "3/8", "5/8", "7/8", "3/4", "4/4"]),
        min_size=1,
        max_size=3,
        unique=True,
    ),
)
def test_fillings_are_all_whole_number_solutions(eighths: int, names: list[str]) -> None:
    length = mpq(eighths, 8)
    metres = [Metre.parse(name) for name in names]
    sizes = [metre.length for metre in metres]
    tries = product(*(range(int(length / size) + 1) for size in sizes))
    brute = {
        counts
        for counts in tries
        if sum((n * size for n, size in zip(counts, sizes, strict=True)), mpq(0)) == length
    }
    found = [each.counts for each in fillings(length, metres)]
    assert len(found) == len(set(found))
    assert set(found) == brute


def test_fillings_refuse_a_metre_named_twice() -> None:
    with pytest.raises(RequestError, match="twice"):
        list(fillings(mpq(4), [Metre.parse("5/8"), Metre.parse("5/8")]))


def test_5_8_against_4_4_meet_after_40_eighths() -> None:
    met = meet(mpq(5, 8), mpq(1))
    assert (met.units, met.unit, met.turns) == (40, mpq(1, 8), (8, 5))


@pytest.mark.parametrize(("group", "units"), [(3, 48), (5, 80), (7, 112)])
def test_groups_over_sixteen_pulses_meet(group: int, units: int) -> None:
    assert meet(group, 16).units == units
    assert meet(mpq(group, 16), mpq(1)).units == units


@pytest.mark.parametrize(
    ("cycles", "units"),
    [
        # Machaut, De bon espoir: talea 12, color 18
        ((12, 18), 36),
        # Messiaen, Liturgie de cristal: 17 values, 29 chords; cello 15 and 5
        ((17, 29), 493),
        ((15, 5), 15),
    ],
    ids=["Machaut", "Messiaen piano", "Messiaen cello"],
)
def test_talea_and_color_meet(cycles: tuple[int, int], units: int) -> None:
    assert meet(*cycles).units == units


def test_three_dances_meet_in_one_bar_of_each_length() -> None:
    # Don Giovanni, Act I finale: 3/4 x2 = 2/4 x3 = 3/8 x6 with one 3/8 bar to a quarter
    met = meet(mpq(3, 4), mpq(2, 4), mpq(1, 4))
    assert met.turns == (2, 3, 6)


@pytest.mark.parametrize(
    ("text", "length"),
    [
        ("3+3+2/8", "1"),
        ("3+2/8", "5/8"),
        ("7/8 7/8 5/8", "19/8"),
        ("4/4*3 6/4", "9/2"),
        ("3/4 + 3/8", "9/8"),
        ("dotted half", "3/4"),
        ("2", "2"),
    ],
)
def test_a_cycle_is_a_metre_bars_in_turn_or_a_sum(text: str, length: str) -> None:
    assert cycle_length(text) == mpq(length)


def test_every_option_of_the_command_is_a_keyword_of_the_function() -> None:
    fives = Metre.parse("5/8")
    answer = reckon("4*4/4", fill=[fives, "7/8"], notes=5)
    assert answer.fillings is not None and [way.counts for way in answer.fillings] == [(5, 1)]
    assert answer.tuplet is not None and answer.tuplet.normal == 4
    met = reckon(meet=["5/8", "4/4"]).meeting
    assert met is not None and met.units == 40
    timed = reckon(tempo=84, old="triplet eighth", new="eighth").tempo
    assert timed is not None and timed.after == 126


@pytest.mark.parametrize(
    ("asked", "problem"),
    [
        ({}, "nothing to reckon"),
        ({"notes": 5}, "no sum"),
        ({"in_": "6/4"}, "no sum"),
        ({"tempo": 84}, "lacks a part"),
        ({"tempo": 84, "old": "1/8"}, "lacks a part"),
    ],
)
def test_a_question_that_lacks_something_is_refused(asked: dict[str, object], problem: str) -> None:
    with pytest.raises(RequestError, match=problem):
        reckon(**asked)  # type: ignore[arg-type]


@given(
    st.lists(
        st.fractions(min_value=0, max_value=4, max_denominator=12).filter(bool),
        min_size=1,
        max_size=4,
    )
)
def test_common_unit_and_length_divide_exactly(values: list[object]) -> None:
    lengths = [mpq(str(each)) for each in values]
    unit, length = common_unit(lengths), common_length(lengths)
    assert all((each / unit).denominator == 1 for each in lengths)
    assert all((length / each).denominator == 1 for each in lengths)


@pytest.mark.parametrize(
    ("notes", "span", "normal", "unit"),
    [
        # LearnMusicTheory.net: triplet in the time of two, 5, 6, 7 of four
        (3, "1/4", 2, "1/8"),
        (5, "1/4", 4, "1/16"),
        (6, "1/4", 4, "1/16"),
        (7, "1/4", 4, "1/16"),
        (9, "1/4", 8, "1/32"),
        (13, "1/2", 8, "1/16"),
        (4, "1/4", 4, "1/16"),
        (1, "1/4", 1, "1/4"),
        # plain or dotted notes where they fit
        (1, "5/4", 1, "5/4"),
        (3, "9/8", 3, "3/8"),
        (5, "15/8", 5, "3/8"),
        (6, "9/8", 6, "3/16"),
        (2, "9/8", 3, "3/8"),
        (7, "9/8", 6, "3/16"),
        (8, "9/8", 9, "1/8"),
        # in compound time of 3 x a power of two
        (2, "3/8", 3, "1/8"),
        (4, "3/8", 3, "1/8"),
        (5, "3/8", 6, "1/16"),
        (6, "3/8", 6, "1/16"),
        (7, "3/8", 6, "1/16"),
        (8, "3/8", 6, "1/16"),
        (9, "3/8", 6, "1/16"),
        (4, "5/8", 5, "1/8"),
    ],
)
def test_the_least_tuplet(notes: int, span: str, normal: int, unit: str) -> None:
    fit = least_tuplet(notes, mpq(span))
    assert (fit.normal, fit.unit) == (normal, mpq(unit))
    assert fit.each * notes == mpq(span)
    assert fit.plain == (notes == normal)


@pytest.mark.parametrize(("notes", "span"), [(0, "1/4"), (2000, "1/4"), (3, "1/3"), (3, "0")])
def test_a_tuplet_that_cannot_be_is_refused(notes: int, span: str) -> None:
    with pytest.raises(RequestError, match=r"span of|notes"):
        least_tuplet(notes, mpq(span))


def ran(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[object, str, str]:
    """The exit code of ``remetre reckon``, what it printed, and what it said of errors."""
    from remetre_cli.main import run

    with pytest.raises(SystemExit) as stop:
        run(["reckon", *words])
    told = capsys.readouterr()
    return stop.value.code, told.out, told.err


def told(capsys: pytest.CaptureFixture[str], *words: str) -> str:
    code, said, _ = ran(capsys, *words)
    assert code == 0
    return said


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        (("24*1/32", "--in", "6/4"), "24*1/32  3/4    dotted half  3/4, 6/8, 12/16  0"),
        (("dotted quarter + 2 eighths",), "5/8    half + eighth  5/8"),
        (("4*4/4", "--fill", "5/8", "--fill", "7/8"), "5 × 5/8 + 1 × 7/8  6     6"),
        (("2", "--fill", "3/4"), "no whole bars of 3/4"),
        (("1/4", "--notes", "5"), "5:4 × sixteenth  1/20"),
        (("--meet", "5/8", "--meet", "4/4"), "40 × 1/8"),
        (("--tempo", "84", "--old", "1/12", "--new", "1/8"), "1/12       1/8        126"),
        (("--tempo", "100", "--old", "1/4", "--new", "1/6"), "200/3 (about 66.67)"),
    ],
)
def test_the_command_answers_in_a_plain_table_when_piped(
    capsys: pytest.CaptureFixture[str], words: tuple[str, ...], expected: str
) -> None:
    assert expected in told(capsys, *words)


def test_the_command_answers_in_json_with_all_that_was_asked_and_nothing_else(
    capsys: pytest.CaptureFixture[str],
) -> None:
    words = ("2", "--fill", "3/4", "--fill", "5/8", "--notes", "5", "--meet", "3/4", "--meet", "1")
    words += ("--tempo", "84", "--old", "1/12", "--new", "1/8", "--json")
    answers = json.loads(told(capsys, *words))
    assert answers["value"] == "2"
    assert answers["fillings"] == [{"counts": {"3/4": 1, "5/8": 2}, "bars": 3, "orders": 3}]
    assert answers["tuplet"]["normal"] == 4
    assert answers["meeting"]["turns"] == [4, 3]
    assert answers["tempo"]["after"] == "126"
    assert set(json.loads(told(capsys, "1/4", "--json"))) == {
        "expression",
        "value",
        "name",
        "fills",
    }


@pytest.mark.parametrize(
    "words",
    [(), ("--in", "6/4"), ("--tempo", "84"), ("1/4", "--fill", "0/4"), ("--meet", "abc")],
)
def test_a_request_that_asks_nothing_is_one_line_and_exit_2(
    capsys: pytest.CaptureFixture[str], words: tuple[str, ...]
) -> None:
    code, said, error = ran(capsys, *words)
    assert (code, said, error.count("\n")) == (2, "", 1)


def test_a_length_of_too_many_bars_is_refused() -> None:
    with pytest.raises(RequestError, match="more than 10000 bars"):
        list(fillings(mpq(10**9), [Metre.parse("3/4")]))
