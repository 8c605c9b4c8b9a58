"""Beams show the beats.

Sources: OpenLearn music notation 4.2; Open Music Theory; counts in docs/editors.md.
"""

import pytest

from tests.spelled import spelled


@pytest.mark.parametrize(
    ("metre", "rhythm", "written"),
    [
        ("4/4", "1/8*8", "(8 8 8 8) (8 8 8 8)"),
        ("4/4", "1/8*2 1/4 1/4 1/8*2", "(8 8) 4 4 (8 8)"),
        ("4/4", "1/4 1/8*4 1/4", "4 (8 8) (8 8) 4"),
        ("4/4", "1/8*2 1/16*4 1/2", "(8 8) (16 16 16 16) 2"),
        ("4/4", "1/16*8 1/2", "(16 16 16 16) (16 16 16 16) 2"),
        ("2/4", "1/8*4", "(8 8) (8 8)"),
        ("2/4", "1/8*3 r1/8", "(8 8 8) r8"),
        ("3/4", "1/8*6", "(8 8 8 8 8 8)"),
        ("3/4", "1/8*2 1/16*4 1/8*2", "(8 8) (16 16 16 16) (8 8)"),
        ("3/4", "1/4 1/8*4", "4 (8 8) (8 8)"),
        ("4/8", "1/8*4", "(8 8) (8 8)"),
        ("4/8", "1/16*4 1/8*2", "(16 16 16 16) (8 8)"),
        ("2/1", "1/8*8 1", "(8 8 8 8) (8 8 8 8) 1"),
        ("3/8", "1/8*3", "(8 8 8)"),
        ("3/8", "1/8 1/16*4", "(8 16 16 16 16)"),
        ("2/2", "1/8*8", "(8 8 8 8) (8 8 8 8)"),
        ("2/2", "1/8*2 1/16*4 1/2", "(8 8) (16 16 16 16) 2"),
        ("3/2", "1/8*12", "(8 8 8 8) (8 8 8 8) (8 8 8 8)"),
        ("6/8", "1/8*6", "(8 8 8) (8 8 8)"),
        ("9/8", "1/8*9", "(8 8 8) (8 8 8) (8 8 8)"),
        ("12/8", "1/8*12", "(8 8 8) (8 8 8) (8 8 8) (8 8 8)"),
        ("3+2/8", "1/8*5", "(8 8 8) (8 8)"),
        ("2+3/8", "1/8*5", "(8 8) (8 8 8)"),
        ("2+2+3/8", "1/8*7", "(8 8) (8 8) (8 8 8)"),
        ("8/8", "1/8*8", "(8 8 8) (8 8 8) (8 8)"),
    ],
)
def test_notes_are_joined_by_the_beat_and_eighths_by_the_half_bar(metre, rhythm, written):
    assert spelled(metre, rhythm) == written


@pytest.mark.parametrize(
    ("metre", "rhythm", "written"),
    [
        ("4/4", "1/8 r1/8 1/8*2 1/2", "8 r8 (8 8) 2"),
        ("6/8", "1/8*2 r1/8 3/8", "(8 8) r8 4."),
        ("4/4", "1/16 r1/16 1/8 3/4", "16 r16 8 2."),
        ("4/4", "1/8 r1/16 1/16 3/4", "(8 r16 16) 2."),
        ("6/8", "1/8 r1/8 1/8 3/8", "(8 r8 8) 4."),
    ],
)
def test_a_rest_ends_a_beam_but_in_two_figures(metre, rhythm, written):
    assert spelled(metre, rhythm) == written


@pytest.mark.parametrize(
    ("metre", "rhythm", "written"),
    [
        ("2/4", "1/8 -1/16 1/16 1/4", "8 16 4"),
        ("6/8", "1/8 -1/8 1/8 3/8", "8 8 4."),
        ("3/4", "1/16*2 -1/16 1/16 1/2", "(16 16) 16 2"),
    ],
)
def test_no_beam_leads_over_a_place_where_nothing_is_written(metre, rhythm, written):
    assert spelled(metre, rhythm) == written


@pytest.mark.parametrize(
    ("metre", "rhythm", "written"),
    [
        ("4/4", "3/16 1/16 3/4", r"8.< 16>\ 2."),
        ("4/4", "1/16 3/16 3/4", "16</ 8.> 2."),
        ("4/4", "1/16 1/8 1/16 3/4", "16</ 8= 16>\\ 2."),
        ("4/4", "1/8 1/16*2 3/4", "8< 16=< 16>> 2."),
        ("6/8", "3/16 1/16 1/8 3/8", "8.< 16=\\ 8> 4."),
        ("4/4", "1/8 1/32*4 3/4", "8< 32=<< 32=== 32=== 32>>> 2."),
    ],
)
def test_a_lone_short_note_takes_a_hook_towards_its_beat(metre, rhythm, written):
    assert spelled(metre, rhythm, hooks=True) == written


def test_each_of_two_tuplets_has_its_own_beam():
    assert spelled("4/4", "1/8*2 1/12*3 1/2") == "(8 8) 3:2[(8 8 8)] 2"
    assert spelled("2/2", "1/12*6 1/2") == "3:2[(8 8 8)] 3:2[(8 8 8)] 2"


def test_a_lone_note_has_no_beam():
    assert spelled("4/4", "1/8 1/4 1/8 1/2") == "8 4 8 2"
    assert spelled("6/8", "1/4 1/8 3/8") == "4 8 4."
