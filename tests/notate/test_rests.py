"""Rests fill the metric tree from the top.

Sources: Read, Music Notation (from memory); Open Music Theory; docs/editors.md for the counts.
"""

import pytest

from tests.spelled import spelled


@pytest.mark.parametrize(
    ("metre", "rhythm", "written"),
    [
        ("4/4", "r1/4 1/4 r1/2", "r4 4 r2"),
        ("4/4", "1/4 r3/4", "4 r4 r2"),
        ("4/4", "r3/4 1/4", "r2 r4 4"),
        ("4/4", "1/4 r1/2 1/4", "4 r4 r4 4"),
        ("4/4", "1/8 r7/8", "8 r8 r4 r2"),
        ("4/4", "r1/16 3/16 1/16 r1/8 1/16 1/2", "r16 8. 16 r16 r16 16 2"),
        ("2/4", "1/8 r3/8", "8 r8 r4"),
        ("3/4", "1/4 r1/2", "4 r4 r4"),
        ("3/4", "r1/2 1/4", "r4 r4 4"),
        ("2/2", "1/4 r3/4", "4 r4 r2"),
        ("3/2", "1/2 r1", "2 r2 r2"),
        ("5/4", "r3/4 1/2", "r4 r4 r4 2"),
    ],
)
def test_rests_of_simple_metres_show_every_beat(metre, rhythm, written):
    assert spelled(metre, rhythm) == written


@pytest.mark.parametrize(
    ("metre", "rhythm", "written"),
    [
        ("6/8", "r1/4 1/8 3/8", "r4 8 4."),
        ("6/8", "1/8 r1/4 3/8", "8 r8 r8 4."),
        ("6/8", "3/8 r3/8", "4. r4."),
        ("6/8", "1/8 r5/8", "8 r8 r8 r4."),
        ("6/8", "r5/8 1/8", "r4. r4 8"),
        ("9/8", "3/8 r3/4", "4. r4. r4."),
        ("12/8", "r3/4 3/4", "r2. 2."),
        ("12/8", "3/8 r3/4 3/8", "4. r4. r4. 4."),
        ("3/8", "1/8 r1/4", "8 r8 r8"),
        ("3+2/8", "3/8 r1/4", "4. r4"),
        ("7/8", "1/4 r5/8", "4 r4 r4."),
    ],
)
def test_compound_beats_take_a_dotted_rest_or_a_quarter_at_their_start(metre, rhythm, written):
    assert spelled(metre, rhythm) == written


def test_a_dotted_rest_in_simple_metre_stays_inside_a_quarter():
    assert spelled("4/4", "r3/16 1/16 3/4") == "r8. 16 2."
    assert spelled("4/4", "r3/8 1/8 1/2") == "r4 r8 8 2"
    assert spelled("2/2", "r3/8 1/8 1/2") == "r4 r8 8 2"


@pytest.mark.parametrize("metre", ["4/4", "3/4", "6/8", "7/8", "3/2", "2/4"])
def test_a_silent_bar_is_one_whole_bar_rest(metre):
    from rhythm.exact.metre import Metre

    assert spelled(metre, f"r{Metre.parse(metre).length}") == "rbar"


def test_a_silent_upbeat_shows_its_value():
    assert spelled("4/4", "r1/4", length="1/4", shift="3/4") == "r4"


def test_a_gap_is_not_filled():
    assert spelled("4/4", "-1/2 1/4 1/4") == "4 4"
    assert spelled("4/4", "1/8 -1/8 1/8 r1/8 1/2") == "8 8 r8 2"
