"""Tuplets from bare durations.

Sources: LearnMusicTheory.net (values of simple tuplets); the duplet and quadruplet of compound
beats from trade practice, recomputed; counts in docs/editors.md.
"""

import pytest
from gmpy2 import mpq

from rhythm.exact.metre import Metre
from rhythm.notate.bar_items import Hint
from rhythm.notate.bar_notation import Item, spell_bar
from tests.spelled import items_of, shown, spelled


@pytest.mark.parametrize(
    ("rhythm", "written"),
    [
        ("1/12*3 3/4", "3:2[(8 8 8)] 2."),
        ("1/20*5 3/4", "5:4[(16 16 16 16 16)] 2."),
        ("1/28*7 3/4", "7:4[(16 16 16 16 16 16 16)] 2."),
        ("1/36*9 3/4", "9:8[(32 32 32 32 32 32 32 32 32)] 2."),
        ("1/6*3 1/2", "3:2[4 4 4] 2"),
        ("1/3*3", "3:2[2 2 2]"),
        ("1/5*5", "5:4[4 4 4 4 4]"),
        ("1/4 1/6*3 1/4", "4 3:2[4 4 4] 4"),
        ("1/8 1/12*3 1/8 1/2", "8 3:2[(8 8 8)] 8 2"),
    ],
)
def test_n_notes_stand_in_the_time_of_the_power_of_two_below(rhythm, written):
    assert spelled("4/4", rhythm) == written


@pytest.mark.parametrize(
    ("rhythm", "written"),
    [
        ("3/16*2 3/8", "2:3[(8 8)] 4."),
        ("3/32*4 3/8", "4:3[(8 8 8 8)] 4."),
        ("3/16 3/32*2 3/8", "4:3[4 (8 8)] 4."),
        ("3/40*5 3/8", "5:6[(16 16 16 16 16)] 4."),
        ("3/56*7 3/8", "7:6[(16 16 16 16 16 16 16)] 4."),
        ("3/64*8 3/8", "8:6[(16 16 16 16 16 16 16 16)] 4."),
        ("1/24*3 1/8*2 3/8", "3:2[(16 16 16)] (8 8) 4."),
        ("3/16 1/16 1/8 3/8", "(8. 16 8) 4."),
        ("3/16 r3/16 3/8", "8. r16 r8 4."),
    ],
)
def test_compound_beats_take_three_times_a_power_of_two(rhythm, written):
    assert spelled("6/8", rhythm) == written


@pytest.mark.parametrize(
    ("metre", "rhythm", "written"),
    [
        ("3/4", "3/16*4", "(8. 16~) (8 8~) (16 8.)"),
        ("3/4", "r3/16 3/16*3", "r8. 16~ (8 8~) (16 8.)"),
        ("3/8", "3/32*4", "4:3[(8 8 8 8)]"),
    ],
)
def test_four_in_the_time_of_three_are_for_compound_beats_alone(metre, rhythm, written):
    # In simple metre every onset has a plain value to stand on, and the beats are seen.
    assert spelled(metre, rhythm) == written


def test_a_quadruplet_that_was_written_over_three_beats_is_kept():
    assert hinted("3/4", [("3/16 3/16 3/16 3/16", (4, 3))]) == "4:3[4 4 4 4]"


@pytest.mark.parametrize(
    ("metre", "rhythm", "written"),
    [
        ("4/4", "1/6 1/12 1/12 1/6 1/2", "3:2[4 8] 3:2[8 4] 2"),
        ("4/4", "1/3 1/12*2 1/2", "4~ 3:2[(8 8 8)] 2"),
        ("3/4", "1/2 1/12*3", "2 3:2[(8 8 8)]"),
        ("3/4", "7/12 1/12*2", "2~ 3:2[(8 8 8)]"),
        ("3/4", "1/4 1/6*3", "4 3:2[4 4 4]"),
    ],
)
def test_the_smallest_span_that_shows_the_beats_is_chosen(metre, rhythm, written):
    assert spelled(metre, rhythm) == written


def test_six_even_notes_are_two_triplets_and_a_cut_triplet_is_one():
    # By count: editors beam six triplet sixteenths in threes.
    assert spelled("2/4", "1/24*6 1/4") == "3:2[(16 16 16)] 3:2[(16 16 16)] 4"
    assert spelled("2/4", "1/12 1/24*2 1/12 1/4") == "3:2[(8 16 16 8)] 4"


@pytest.mark.parametrize(
    ("rhythm", "written"),
    [
        ("1/24 1/12 1/24 1/12 1/4", "6:4[(16 8 16 8)] 4"),
        ("1/12 1/24 1/12 1/24 1/4", "6:4[(8 16 8 16)] 4"),
        ("1/24*3 1/12 1/24 1/4", "6:4[(16 16 16 8 16)] 4"),
        ("1/24*3 1/8 1/4", "3:2[(16 16 16] 8) 4"),
    ],
)
def test_uneven_notes_in_both_halves_of_a_beat_are_one_sextuplet(rhythm, written):
    # Not two brackets over two notes each; common practice, no source.
    assert spelled("2/4", rhythm) == written


@pytest.mark.parametrize(
    ("rhythm", "written"),
    [
        ("1/12 r1/12 1/12 3/4", "3:2[8 r8 8] 2."),
        ("r1/6 1/12 3/4", "3:2[r4 8] 2."),
        ("1/12 r1/6 3/4", "3:2[8 r8 r8] 2."),
        ("1/6 1/12 r3/4", "3:2[4 8] r4 r2"),
    ],
)
def test_tuplets_hold_rests_and_mixed_values(rhythm, written):
    assert spelled("4/4", rhythm) == written


def test_a_tuplet_inside_a_tuplet_is_nested():
    written = spelled("4/4", "1/12*2 1/36*3 3/4")
    assert written == "3:2[(8 8 3:2[16 16 16)]] 2."
    item = items_of("1/12*2 1/36*3 3/4")
    piece = spell_bar(Metre.parse("4/4"), mpq(1), mpq(0), item)[2][0]
    assert piece.ratio == (9, 4)
    assert [(t.number, t.offset, t.length) for t in piece.tuplets] == [
        (1, mpq(0), mpq(1, 4)),
        (2, mpq(1, 6), mpq(1, 12)),
    ]


def hinted(metre, groups):
    """Spell groups of (durations, ratio or None), the ratio as the source had it."""
    items = []
    at = mpq(0)
    for key, (text, ratio) in enumerate(groups):
        for word in text.split():
            hints = (Hint(*ratio, key),) if ratio else ()
            items.append(Item(at, mpq(word), hints=hints))
            at += mpq(word)
    m = Metre.parse(metre)
    return shown(items, spell_bar(m, m.length, mpq(0), items))


SIXTHS = "1/24 1/24 1/24 1/24 1/24 1/24"


@pytest.mark.parametrize(
    ("metre", "groups", "written"),
    [
        ("2/4", [(SIXTHS, (6, 4)), ("1/4", None)], "6:4[(16 16 16 16 16 16)] 4"),
        ("6/8", [("3/32 3/32 3/32 3/32", (4, 6)), ("3/8", None)], "4:6[(16 16 16 16)] 4."),
        ("3/4", [("3/8 3/8", (2, 3))], "2:3[4 4]"),
    ],
)
def test_a_ratio_of_the_source_is_kept_where_it_holds(metre, groups, written):
    assert hinted(metre, groups) == written


@pytest.mark.parametrize(
    ("metre", "groups", "written"),
    [
        ("6/8", [("1/8 1/8 1/8", (3, 2)), ("3/8", None)], "(8 8 8) 4."),
        ("2/4", [("1/8 1/16 1/16", (3, 2)), ("1/4", None)], "(8 16 16) 4"),
    ],
)
def test_a_ratio_of_the_source_is_dropped_where_plain_values_serve(metre, groups, written):
    assert hinted(metre, groups) == written


def test_what_no_tuplet_can_hold_is_still_exact():
    items = items_of("1/9 1/7 1/3 26/63")
    for item, pieces in zip(
        items, spell_bar(Metre.parse("4/4"), mpq(1), mpq(0), items), strict=True
    ):
        assert sum(piece.duration for piece in pieces) == item.duration


def test_a_bracket_stands_where_no_beam_covers_the_tuplet():
    def brackets(rhythm):
        rows = spell_bar(Metre.parse("4/4"), mpq(1), mpq(0), items_of(rhythm))
        return [t.bracket for row in rows for piece in row for t in piece.tuplets]

    assert brackets("1/12*3 3/4") == [False] * 3
    assert brackets("1/6 1/12 3/4") == [True] * 2
    assert brackets("r1/12 1/12*2 3/4") == [True] * 3
