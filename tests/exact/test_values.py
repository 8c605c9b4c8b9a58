"""Note values: text and names are read and written as inverses, and nothing inexact enters."""

from __future__ import annotations

import pytest
from gmpy2 import mpq, mpz
from hypothesis import given
from hypothesis import strategies as st

from rhythm.exact.errors import RequestError
from rhythm.exact.values import (
    NOTE_TYPES,
    NOTE_VALUES,
    format_value,
    is_power_of_two,
    name_value,
    symbol,
    symbol_value,
    value,
)
from tests.strategies import fractions, plain_values, values

NAMED = [
    ("3/8", mpq(3, 8)),
    (" 3 / 8 ", mpq(3, 8)),
    ("6/16", mpq(3, 8)),
    ("2", mpq(2)),
    ("-1/4", mpq(-1, 4)),
    ("quarter", mpq(1, 4)),
    ("dotted quarter", mpq(3, 8)),
    ("Dotted Quarter", mpq(3, 8)),
    ("double dotted half", mpq(7, 8)),
    ("quarter triplet", mpq(1, 6)),
    ("eighth triplet", mpq(1, 12)),
    ("sixteenth quintuplet", mpq(1, 20)),
    ("eighths", mpq(1, 8)),
    ("halves", mpq(1, 2)),
    ("quarter note", mpq(1, 4)),
    ("dotted quarter note", mpq(3, 8)),
    ("dotted-quarter", mpq(3, 8)),
    ("double-dotted quarter", mpq(7, 16)),
    ("triplet eighth", mpq(1, 12)),
    ("dotted half note triplet", mpq(1, 2)),
    ("thirty second", mpq(1, 32)),
    ("32nd", mpq(1, 32)),
    ("thirty-second", mpq(1, 32)),
    # British names; from memory
    ("breve", mpq(2)),
    ("semibreve", mpq(1)),
    ("minim", mpq(1, 2)),
    ("crotchet", mpq(1, 4)),
    ("dotted quaver", mpq(3, 16)),
    ("semiquavers", mpq(1, 16)),
    ("half + eighth", mpq(5, 8)),
]


@pytest.mark.parametrize(("text", "expected"), NAMED, ids=[text for text, _ in NAMED])
def test_a_value_is_read_from_its_text(text: str, expected: mpq) -> None:
    assert value(text) == expected


@pytest.mark.parametrize(
    ("length", "name"),
    [
        ("3/8", "dotted quarter"),
        ("1/12", "triplet eighth"),
        ("5/8", "half + eighth"),
        ("7/16", "double dotted quarter"),
        ("1/20", "quintuplet sixteenth"),
        ("1/14", "septuplet eighth"),
        ("1/16", "sixteenth"),
        ("9/8", "whole + eighth"),
        ("1/13", "1/13"),
        ("0", "0"),
    ],
)
def test_a_value_is_named_in_words(length: str, name: str) -> None:
    assert name_value(value(length)) == name


@given(st.one_of(values(), fractions(-4, 4)))
def test_the_printed_fraction_and_the_name_are_read_back(v: mpq) -> None:
    assert value(format_value(v)) == v
    assert value(name_value(v)) == v


@given(plain_values())
def test_a_symbol_and_its_length_are_inverse(v: mpq) -> None:
    found = symbol(v, 2)
    assert found is not None
    assert symbol_value(*found) == v


def test_every_row_of_the_table_is_read_by_all_its_names() -> None:
    assert len(NOTE_VALUES) == 14
    for row in NOTE_VALUES:
        for name in (row.type, row.name, *row.others):
            assert value(name) == row.length
        assert symbol(row.length) == (row.type, 0)
        assert name_value(row.length) == row.name


def test_types_run_from_the_longest_to_the_shortest_in_halves() -> None:
    lengths = list(NOTE_TYPES.values())
    assert lengths[0] == 8
    assert lengths == [mpq(8, 2**i) for i in range(14)]


@pytest.mark.parametrize("inexact", [0.5, 1.0, True, None, 1j], ids=repr)
def test_what_is_not_exact_is_a_type_error(inexact: object) -> None:
    with pytest.raises(TypeError, match="not an exact value"):
        value(inexact)  # type: ignore[arg-type]


def test_integers_of_both_kinds_are_whole_notes() -> None:
    assert value(3) == value(mpz(3)) == mpq(3)


@pytest.mark.parametrize("text", ["", "sausage", "1/0", "3/8/4", "0.5", "dotted", "1e5", "+", "½"])
def test_text_that_names_no_value_is_refused_with_a_hint(text: str) -> None:
    with pytest.raises(RequestError, match="such as 3/8"):
        value(text)


@pytest.mark.parametrize("text", ["0", "-1/4"])
def test_a_duration_is_above_zero_where_one_is_asked_for(text: str) -> None:
    assert value(text) <= 0
    with pytest.raises(RequestError, match="must be above 0"):
        value(text, positive=True)


def test_five_eighths_is_no_single_symbol() -> None:
    assert symbol(mpq(5, 8)) is None
    assert symbol(mpq(7, 16)) is None
    assert symbol(mpq(7, 16), 2) == ("quarter", 2)
    assert symbol(mpq(1, 12)) is None


def test_an_unknown_symbol_is_refused() -> None:
    with pytest.raises(RequestError, match="not a note type"):
        symbol_value("quaver", 0)
    with pytest.raises(RequestError, match="5 dots"):
        symbol_value("half", 5)


def test_powers_of_two_are_told_from_others() -> None:
    assert [n for n in range(-2, 20) if is_power_of_two(n)] == [1, 2, 4, 8, 16]
