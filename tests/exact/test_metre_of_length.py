"""The signature that a length makes, beside the one it stands under."""

import pytest
from gmpy2 import mpq
from hypothesis import given
from hypothesis import strategies as st

from rhythm.exact.metre import Metre
from rhythm.exact.metre_of_length import simplest_metre

# length, the signature it stands under, the simplest one (common practice, no source)
SIMPLEST = [
    ("1/2", "6/8", "2/4"),
    ("1", "6/8", "4/4"),
    ("3/8", "6/8", "3/8"),
    ("5/8", "6/8", "5/8"),
    ("3/2", "6/8", "12/8"),
    ("3/8", "7/16", "3/8"),
    ("3/8", "12/16", "6/16"),
    ("2", "4/4", "4/2"),
    ("3/2", "4/4", "6/4"),
    ("9/8", "4/4", "9/8"),
    ("1", "C|", "2/2"),
    ("1/2", "C|", "2/4"),
    ("3/4", "3+2/8", "6/8"),
    ("3/4", "", "3/4"),
    ("1/4", "", "1/4"),
    ("15/4", "4/4", "15/4"),
    ("19/16", "4/4", "19/16"),
]


@pytest.mark.parametrize("length, like, said", SIMPLEST)
def test_a_length_makes_the_simplest_usual_signature(length, like, said):
    assert str(simplest_metre(mpq(length), Metre.parse(like) if like else None)) == said


@pytest.mark.parametrize("length", ["2/3", "1/12", "1/128", "40", "0", "-1/4"])
def test_a_length_that_no_signature_holds_makes_none(length):
    assert simplest_metre(mpq(length)) is None


@given(st.integers(1, 64), st.sampled_from(["4/4", "6/8", "12/16", "3/2", "3+2/8"]))
def test_a_simplest_signature_holds_exactly_the_length(count, like):
    length = mpq(count, 16)
    found = simplest_metre(length, Metre.parse(like))
    assert found is not None and found.length == length
