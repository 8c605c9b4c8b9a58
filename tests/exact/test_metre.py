"""Metres: signatures as text, the trees they stand for, their partners and cycles."""

from __future__ import annotations

import pickle

import pytest
from gmpy2 import mpq
from hypothesis import given

from rhythm.exact.errors import RequestError
from rhythm.exact.metre import (
    SYMBOLS,
    Metre,
    Node,
    Term,
    compound_partner,
    simple_partner,
)
from rhythm.exact.pattern import MetrePattern
from rhythm.exact.tree import OFF
from tests.strategies import metres

# metre, first parts, beats (common practice, no source; 5, 7, 8, 10, 11 as the trade groups them)
TREES = [
    ("4/4", "1/2 1/2", "1/4 1/4 1/4 1/4"),
    ("C", "1/2 1/2", "1/4 1/4 1/4 1/4"),
    ("C|", "1/2 1/2", "1/2 1/2"),
    ("2/4", "1/4 1/4", "1/4 1/4"),
    ("3/4", "1/4 1/4 1/4", "1/4 1/4 1/4"),
    ("1/4", "1/4", "1/4"),
    ("5/4", "3/4 1/2", "1/4 1/4 1/4 1/4 1/4"),
    ("6/4", "3/4 3/4", "1/4 1/4 1/4 1/4 1/4 1/4"),
    ("6/4 compound", "3/4 3/4", "3/4 3/4"),
    ("2+2+2/4", "1/2 1/2 1/2", "1/4 1/4 1/4 1/4 1/4 1/4"),
    ("7/4", "1/2 1/2 3/4", "1/4 1/4 1/4 1/4 1/4 1/4 1/4"),
    ("8/4", "1 1", "1/4 1/4 1/4 1/4 1/4 1/4 1/4 1/4"),
    ("2/2", "1/2 1/2", "1/2 1/2"),
    ("3/2", "1/2 1/2 1/2", "1/2 1/2 1/2"),
    ("4/2", "1 1", "1/2 1/2 1/2 1/2"),
    ("3/8", "3/8", "3/8"),
    ("4/8", "1/4 1/4", "1/8 1/8 1/8 1/8"),
    ("5/8", "3/8 1/4", "3/8 1/4"),
    ("2+3/8", "1/4 3/8", "1/4 3/8"),
    ("6/8", "3/8 3/8", "3/8 3/8"),
    ("7/8", "1/4 1/4 3/8", "1/4 1/4 3/8"),
    ("3+2+2/8", "3/8 1/4 1/4", "3/8 1/4 1/4"),
    ("7/8 as 3+2+2", "3/8 1/4 1/4", "3/8 1/4 1/4"),
    ("8/8", "3/8 3/8 1/4", "3/8 3/8 1/4"),
    ("9/8", "3/8 3/8 3/8", "3/8 3/8 3/8"),
    ("10/8", "3/8 3/8 1/4 1/4", "3/8 3/8 1/4 1/4"),
    ("11/8", "3/8 3/8 3/8 1/4", "3/8 3/8 3/8 1/4"),
    ("12/8", "3/4 3/4", "3/8 3/8 3/8 3/8"),
    ("13/8", "3/8 3/8 3/8 1/4 1/4", "3/8 3/8 3/8 1/4 1/4"),
    ("15/8", "9/8 3/4", "3/8 3/8 3/8 3/8 3/8"),
    ("18/8", "9/8 9/8", "3/8 3/8 3/8 3/8 3/8 3/8"),
    ("6/16", "3/16 3/16", "3/16 3/16"),
    ("7/32", "1/16 1/16 3/32", "1/16 1/16 3/32"),
    ("2/64", "1/64 1/64", "1/64 1/64"),
    ("3/4+3/8", "3/4 3/8", "1/4 1/4 1/4 3/8"),
    ("3+2/8+3/4", "3/8 1/4 3/4", "3/8 1/4 1/4 1/4 1/4"),
    ("3/8+2/8+3/4", "3/8 1/4 3/4", "3/8 1/4 1/4 1/4 1/4"),
    ("4+3/8", "1/2 3/8", "1/4 1/4 3/8"),
    ("X", "", ""),
]

# Metres of real scores, from 1/4 to 36/4
SEEN = ["24/16", "31/8", "36/4", "15/4", "20/4", "16/8", "5/2+1/8", "5+3+1/4", "21/8", "17/16"]


@pytest.mark.parametrize(("text", "groups", "beats"), TREES, ids=[row[0] for row in TREES])
def test_a_metre_unfolds_into_its_usual_groups_and_beats(
    text: str, groups: str, beats: str
) -> None:
    metre = Metre.parse(text)
    assert " ".join(map(str, metre.groups)) == groups
    assert " ".join(map(str, metre.beats)) == beats


def check_node(node: Node) -> None:
    """The parts of a node fill it, in order."""
    if not node.children:
        assert node.kind == "division"
        return
    at = node.start
    for child in node.children:
        assert child.start == at
        at += child.length
        check_node(child)
    assert at == node.end


@given(metres())
def test_a_tree_fills_its_bar_down_to_the_divisions(metre: Metre) -> None:
    assert sum(metre.beats, mpq(0)) == metre.length
    if metre.length:
        check_node(metre.tree)


@pytest.mark.parametrize("text", SEEN)
def test_metres_of_real_scores_have_a_tree(text: str) -> None:
    metre = Metre.parse(text)
    check_node(metre.tree)
    assert metre.rank(mpq(0)) == 0
    assert all(len(beat.children) in (2, 3) for beat in metre.beat_nodes)


@given(metres())
def test_text_and_signature_are_read_back(metre: Metre) -> None:
    assert Metre.parse(str(metre)) == metre
    again = Metre.from_signature(
        metre.signature,
        symbol=metre.symbol,
        senza=metre.senza,
        interchangeable=metre.interchangeable,
        relation=metre.relation,
    )
    assert again.with_compound(metre.compound).with_groups(metre.grouping) == metre
    assert pickle.loads(pickle.dumps(metre)) == metre


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("3 + 2 / 8", "3+2/8"),
        (" C ", "C"),
        ("4/4 common", "C"),
        ("2/2 cut", "C|"),
        ("4/4 cut", "4/4 cut"),
        ("3/4 (6/8) parentheses", "3/4 (6/8)"),
        ("senza misura", "senza misura"),
        ("12/8 compound dotted-note", "12/8 compound dotted-note"),
    ],
)
def test_a_metre_is_printed_in_one_form(text: str, shown: str) -> None:
    assert str(Metre.parse(text)) == shown
    assert repr(Metre.parse(text)) == f"Metre({shown!r})"


def test_the_pairs_of_a_file_may_hold_spaces() -> None:
    metre = Metre.from_signature([(" 3 + 2 ", "8"), ("3", " 4 ")])
    assert metre == Metre((Term((3, 2), 8), Term((3,), 4)))
    assert metre.signature == (("3+2", "8"), ("3", "4"))


def test_symbols_are_those_of_the_schema() -> None:
    """MusicXML 4.0, time-symbol."""
    assert set(SYMBOLS) == {"common", "cut", "single-number", "note", "dotted-note", "normal"}


@pytest.mark.parametrize(
    "text", ["", "4", "4/", "/4", "4/0", "0/4", "4/4+", "4/4 4/4", "-3/4", "3.5/4", "D", "9999/4"]
)
def test_what_is_no_metre_is_refused_with_a_hint(text: str) -> None:
    with pytest.raises(RequestError, match=r"write a metre such as 4/4"):
        Metre.parse(text)


@pytest.mark.parametrize(
    ("text", "near"), [("7/9", ": did you mean 7/8"), ("4/4 (3/6)", ""), ("3/4+1/3", ".*3/4")]
)
def test_a_unit_that_is_no_note_value_is_refused(text: str, near: str) -> None:
    with pytest.raises(RequestError, match=rf"its unit is no note value{near}.*; write 1, 2, 4"):
        Metre.parse(text)
    assert Metre.from_signature([("7", "9")]).length == mpq(7, 9)  # a file may say so


def test_a_signature_has_bounds() -> None:
    with pytest.raises(RequestError, match="not a time signature"):
        Metre.parse("4000+4000/4")
    with pytest.raises(RequestError, match="not a time signature"):
        Metre.parse("9" * 5000 + "/4")
    with pytest.raises(RequestError, match="at most 32"):
        Metre.parse("+".join(["1/4"] * 33))
    with pytest.raises(RequestError, match="are not groups"):
        Metre.parse("7/8 as " + "9" * 5000)


def test_groups_must_fill_the_bar() -> None:
    assert Metre.parse("7/8").with_groups((2, 3, 2)).beats == (mpq(1, 4), mpq(3, 8), mpq(1, 4))
    with pytest.raises(RequestError, match="must add up to 7 over 8"):
        Metre.parse("7/8 as 3+3")


def test_levels_fall_from_the_bar_line_to_the_halves_of_divisions() -> None:
    common = Metre.parse("4/4")
    assert [common.rank(mpq(i, 16)) for i in range(9)] == [0, 4, 3, 4, 2, 4, 3, 4, 1]
    compound = Metre.parse("6/8")
    assert [compound.rank(mpq(i, 16)) for i in range(8)] == [0, 4, 3, 4, 3, 4, 2, 4]
    assert common.rank(mpq(1, 32)) == 5
    assert common.rank(mpq(1, 12)) == OFF
    assert common.rank(mpq(5, 4)) == 2
    assert common.rank(mpq(-1, 8)) == 3


@pytest.mark.parametrize(
    ("text", "ranks"),
    [
        ("5/4", "0 3 2 3 2 3 1 3 2 3"),
        ("6/4", "0 3 2 3 2 3 1 3 2 3 2 3"),  # two groups of three quarters: 3+3 (Read, from memory)
        ("2+2+2/4", "0 3 2 3 1 3 2 3 1 3 2 3"),
        ("18/8", "0 3 3 2 3 3 2 3 3 1 3 3 2 3 3 2 3 3"),  # dotted quarters, three and three
        ("12/4", "0 3 2 3 2 3 1 3 2 3 2 3 1 3 2 3 2 3 1 3 2 3 2 3"),  # two bars of 6/4 in one
    ],
)
def test_every_eighth_of_a_bar_has_the_rank_of_what_begins_there(text: str, ranks: str) -> None:
    metre = Metre.parse(text)
    eighths = range(int(metre.length * 8))
    assert " ".join(str(metre.rank(mpq(i, 8))) for i in eighths) == ranks


def test_the_beat_at_an_offset_is_found_also_past_the_bar() -> None:
    metre = Metre.parse("7/8")
    assert metre.beat_at(mpq(5, 8)) == (mpq(1, 2), mpq(3, 8))
    assert metre.beat_at(mpq(1, 4)) == (mpq(1, 4), mpq(1, 4))
    assert metre.beat_at(mpq(1)) == (mpq(7, 8), mpq(1, 4))
    with pytest.raises(RequestError, match="no beats"):
        Metre.parse("X").beat_at(mpq(0))


@pytest.mark.parametrize(
    ("simple", "compound"),
    [
        ("2/4", "6/8"),
        ("3/4", "9/8"),
        ("4/4", "12/8"),
        ("2/2", "6/4 compound"),
        ("6/4", "18/8"),
        ("3/8", "9/16"),
        ("4/8", "12/16"),
        ("5/4", "15/8"),
        ("2+2+2/4", "6+6+6/8"),
    ],
)
def test_partners_exchange_simple_and_dotted_beats(simple: str, compound: str) -> None:
    assert str(compound_partner(Metre.parse(simple))) == compound
    assert str(simple_partner(Metre.parse(compound))) in (simple, "2+2+2/4")


@pytest.mark.parametrize(
    ("text", "compound", "simple"),
    [
        ("7/8", "9/8", "3/4"),
        ("5/8", "6/8", "2/4"),
        ("7/8 as 3+2+2", "9/8", "3/4"),
        ("3/4+3/8", "9+3/8", "3+1/4"),
    ],
)
def test_mixed_metres_change_only_the_beats_of_the_other_kind(
    text: str, compound: str, simple: str
) -> None:
    assert str(compound_partner(Metre.parse(text))) == compound
    assert str(simple_partner(Metre.parse(text))) == simple


def test_signs_lead_to_the_partner_of_what_they_stand_for() -> None:
    assert str(compound_partner(Metre.parse("C"))) == "12/8"
    assert str(compound_partner(Metre.parse("C|"))) == "6/4 compound"
    assert str(simple_partner(Metre.parse("6/4"))) == "2/2"
    assert str(simple_partner(Metre.parse("24/16"))) == "4/4"
    assert str(simple_partner(Metre.parse("18/16"))) == "3/4"


def test_a_metre_without_a_partner_says_which_have_one() -> None:
    with pytest.raises(RequestError, match="it must have simple beats, as 2/4"):
        compound_partner(Metre.parse("6/8"))
    with pytest.raises(RequestError, match="it must have dotted beats, as 6/8"):
        simple_partner(Metre.parse("3/4"))
    with pytest.raises(RequestError, match="no compound partner"):
        compound_partner(Metre.parse("X"))


@pytest.mark.parametrize(
    ("text", "shown", "bars"),
    [
        ("7/8 7/8 5/8", "7/8 7/8 5/8", 3),
        ("4/4*3 6/4", "4/4*3 6/4", 4),
        ("4/4 *3, 6/4 compound, 7/8 as 3+2+2", "4/4*3 6/4 compound 7/8 as 3+2+2", 5),
        ("C C| 3/4 (6/8)", "C C| 3/4 (6/8)", 3),
        ("3 + 2/8", "3+2/8", 1),
    ],
)
def test_a_pattern_of_metres_is_read_and_printed(text: str, shown: str, bars: int) -> None:
    pattern = MetrePattern.parse(text)
    assert str(pattern) == shown
    assert len(pattern) == bars
    assert MetrePattern.parse(shown) == pattern


def test_a_pattern_goes_round() -> None:
    pattern = MetrePattern.parse("7/8 7/8 5/8")
    assert pattern.length == mpq(19, 8)
    assert [str(pattern.metre_of(i)) for i in range(5)] == ["7/8", "7/8", "5/8", "7/8", "7/8"]


@pytest.mark.parametrize("text", ["", "4/4*0", "4/4*99999", "4/4 loud"])
def test_what_is_no_pattern_is_refused(text: str) -> None:
    with pytest.raises(RequestError):
        MetrePattern.parse(text)
