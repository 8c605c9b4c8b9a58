"""Errors are one line: where, what, and what would be legal."""

import pytest

from rhythm.exact.errors import FileError, MusicError, Place, RemetreError, RequestError


def test_an_error_says_where_what_and_what_would_be_legal():
    error = MusicError("a half short", place=Place("a.xml", "P1", "8", "2"), legal="mend it first")
    assert str(error) == "a.xml, part P1, bar 8, voice 2: a half short; mend it first"


def test_an_error_keeps_the_place_it_knew_and_learns_the_rest():
    error = MusicError("a half short", place=Place(bar="8")).at(Place("a.xml", bar="1"))
    assert str(error) == "a.xml, bar 8: a half short"
    assert isinstance(error, MusicError)


def test_an_error_is_one_line_whatever_it_was_made_of():
    assert "\n" not in str(RequestError("no\nmetre", legal="write\n4/4"))


@pytest.mark.parametrize("kind", [RequestError, FileError, MusicError])
def test_every_error_is_also_a_value_error(kind):
    with pytest.raises(ValueError, match="no"):
        raise kind("no")
    assert issubclass(kind, RemetreError)
