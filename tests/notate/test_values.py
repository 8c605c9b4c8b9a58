"""Values, dots and ties: what stands whole and where the rest is split.

Sources: Gould, Behind Bars; Read, Music Notation (both from memory); the counts in
docs/editors.md where handbooks leave a choice.
"""

import pytest

from tests.spelled import spelled


@pytest.mark.parametrize(
    ("metre", "rhythm", "written"),
    [
        ("4/4", "1/4 1/2 1/4", "4 2 4"),
        ("4/4", "1/8 1/4 1/8 1/2", "8 4 8 2"),
        ("4/4", "1/16 1/8 1/16 3/16 1/16 1/2", "(16 8 16) (8. 16) 2"),
        ("2/4", "1/8 1/4 1/8", "8 4 8"),
        ("3/4", "1/8 1/4 1/4 1/8", "8 4 4 8"),
        ("2/2", "1/8 1/4*3 1/8", "8 4 4 4 8"),
        ("2/2", "1/4 1/2 1/4", "4 2 4"),
        ("3/2", "3/8 1/4 1/8 3/4", "4. 4 8 2."),
        ("4/2", "1/2 1 1/2", "2 1 2"),
    ],
)
def test_a_plain_value_evenly_about_a_boundary_stays_whole(metre, rhythm, written):
    assert spelled(metre, rhythm) == written


@pytest.mark.parametrize(
    ("metre", "rhythm", "written"),
    [
        ("4/4", "1/4 3/8 1/8 1/4", "4 4. 8 4"),
        ("4/4", "1/8 3/8 1/2", "8 4. 2"),
        ("4/4", "1/4 3/4", "4 2."),
        ("4/4", "1/16 3/16 1/4 1/2", "(16 8.) 4 2"),
        ("2/4", "1/8 3/8", "8 4."),
        ("3/4", "3/8 3/8", "4. 4."),
        ("3/4", "1/4 3/8 1/8", "4 4. 8"),
        ("2/2", "1/4 3/8 1/8 1/4", "4 4. 8 4"),
    ],
)
def test_a_dotted_value_stands_on_a_beat_or_where_it_ends_on_a_strong_boundary(
    metre, rhythm, written
):
    assert spelled(metre, rhythm) == written


@pytest.mark.parametrize(
    ("metre", "rhythm", "written"),
    [
        ("4/4", "1/8 1/4 1/4 1/4 1/8", "8 4 8~ 8 4 8"),
        ("4/4", "3/8 5/8", "4. 8~ 2"),
        ("4/4", "1/8 5/8 1/4", "8 4.~ 4 4"),
        ("4/4", "1/8 7/8", "8 4.~ 2"),
        ("4/4", "7/8 1/8", "2~ 4. 8"),
        ("4/4", "3/16 1/8 3/16 1/2", "(8. 16~) (16 8.) 2"),
        ("3/4", "1/8 5/8", "(8 8~) 2"),
        ("4/4", "1/4 11/16 1/16", "4 2~ (8. 16)"),
        ("3/4", "1/8 1/2 1/8", "(8 8~) 4. 8"),
        ("2/2", "1/8 1/2 3/8", "8 4.~ 8 4."),
        ("3/2", "1/4 1 1/4", "4 4~ 2. 4"),
    ],
)
def test_what_would_hide_a_beat_is_split_at_the_strongest_boundary_it_crosses(
    metre, rhythm, written
):
    assert spelled(metre, rhythm) == written


@pytest.mark.parametrize(
    ("metre", "rhythm", "written"),
    [
        ("6/8", "3/4", "2."),
        ("6/8", "1/8 1/4 1/4 1/8", "8 4 4 8"),
        ("6/8", "1/2 1/4", "4.~ 8 4"),
        ("6/8", "1/8 5/8", "8 4~ 4."),
        ("9/8", "9/8", "2.~ 4."),
        ("12/8", "3/8 3/4 3/8", "4. 2. 4."),
        ("3+2/8", "1/2 1/8", "4.~ (8 8)"),
        ("2+3/8", "3/8 1/4", "4~ 8 4"),
        ("7/8", "7/8", "2~ 4."),
        ("7/8", "1/2 3/8", "2 4."),
        ("7/8", "1/8 3/8 3/8", "(8 8~) 4 4."),
        ("5/4", "1/2 1/2 1/4", "2 4~ 4 4"),
        ("8/8", "1/4 1/4 1/2", "4 8~ 8 4~ 4"),
    ],
)
def test_compound_beats_and_additive_groups_are_not_crossed_from_inside(metre, rhythm, written):
    assert spelled(metre, rhythm) == written


def test_double_dots_are_written_only_where_they_are_allowed():
    assert spelled("4/4", "7/16 1/16 1/2") == "4~ (8. 16) 2"
    assert spelled("4/4", "7/16 1/16 1/2", dots=2) == "4.. 16 2"


def test_a_breve_fills_four_two():
    # A breve fills 4/2: from memory.
    assert spelled("4/2", "2") == "B"


@pytest.mark.parametrize(
    ("metre", "rhythm", "length", "shift", "written"),
    [
        ("4/4", "1/4", "1/4", "3/4", "4"),
        ("4/4", "1/8*3", "3/8", "5/8", "(8 8 8)"),
        ("6/8", "1/4 1/8", "3/8", "3/8", "4 8"),
        ("6/8", "1/8*4", "1/2", "1/4", "8 (8 8 8)"),
        ("3/4", "1/2", "1/2", "1/4", "2"),
    ],
)
def test_an_upbeat_is_counted_from_the_end_of_its_bar(metre, rhythm, length, shift, written):
    assert spelled(metre, rhythm, length=length, shift=shift) == written


def test_a_cadenza_counts_its_metre_on():
    assert spelled("4/4", "1 3/8 1/8", length="3/2") == "1 4. 8"
    assert spelled("4/4", "7/8 1/4 3/8", length="3/2") == "2~ 4. 8~ 8 4."


def test_music_without_a_metre_is_written_in_quarters():
    assert spelled("senza misura", "1/4 1/2 1 1/8*4", length="9/4") == "4 2 1 (8 8) (8 8)"


def test_what_is_longer_than_any_symbol_is_tied():
    assert spelled("4/4", "15/4", length="15/4") == "B.~ 2."
    assert spelled("4/4", "20", length="20") == "X.~ X"
