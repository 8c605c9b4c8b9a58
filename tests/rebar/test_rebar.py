"""Rebarring: durations kept, bar lines redrawn, everything else on its music."""

from __future__ import annotations

from pathlib import Path

import pytest
from gmpy2 import mpq
from hypothesis import given, settings
from hypothesis import strategies as st

from rhythm.check.ledger import check
from rhythm.exact.errors import MusicError, RequestError
from rhythm.exact.metre import Metre
from rhythm.exact.pattern import MetrePattern
from rhythm.formats.musicxml.read.score_reader import read
from rhythm.formats.musicxml.saving import proven
from rhythm.formats.musicxml.write.score_writer import to_bytes, to_tree
from rhythm.rebar.bar_plan import BarPlan, plan_bars, plan_of
from rhythm.rebar.rebar import rebar
from rhythm.score.model import Bar, Barline, Mark, Score
from rhythm.verbs import vary
from tests import schema
from tests.census import census
from tests.corpus import pick
from tests.markup import note, partwise
from tests.strategies import plain_metres
from tests.tiny import durations, melody, written

THEME = melody("4/4", "1/4 1/4 1/2", "1/8 1/8 3/4~", "1/4 3/4", "1")


def onsets(score: Score) -> list[tuple[mpq, mpq, object]]:
    return [(e.onset, e.duration, e.pitches) for _, _, e in score.events() if not e.is_rest]


def bars(score: Score) -> list[tuple[str, str, str]]:
    return [(bar.number, str(bar.metre), str(bar.length)) for bar in score.bars]


def test_bar_lines_fall_in_a_cycle_and_ties_are_made_where_they_fall() -> None:
    result = rebar(THEME, "7/8 7/8 5/8")
    assert bars(result) == [
        ("1", "7/8", "7/8"),
        ("2", "7/8", "7/8"),
        ("3", "5/8", "5/8"),
        ("4", "7/8", "7/8"),
        ("5", "7/8", "7/8"),
    ]
    assert onsets(result) == onsets(THEME)
    assert [bar.shows_metre for bar in result.bars] == [True, False, True, True, False]
    assert written(result).startswith("quarter quarter quarter.~ | eighth")


def test_ties_that_no_bar_line_needs_any_more_are_merged() -> None:
    theme = melody("2/4", "1/4 1/4~", "1/4 1/4")
    assert written(rebar(theme, "4/4")) == "quarter half quarter"


def test_the_last_bar_is_filled_or_left_as_asked() -> None:
    filled = rebar.outcome(THEME, "3/4")
    assert filled.report.data["filled"] == mpq(1, 2)
    assert durations(filled.score).endswith("1 | r1/4 r1/4")
    short = rebar.outcome(THEME, "3/4", complete=False)
    assert short.report.data["filled"] == 0
    assert short.score.bars[-1].length == mpq(1, 4)


def test_the_first_whole_bar_behind_an_upbeat_is_the_first_of_the_cycle() -> None:
    theme = melody("4/4", "1/4", "1/2 1/2", "1/2 1/4", upbeat=True)
    assert bars(rebar(theme, "3/4 2/4")) == [
        ("0", "3/4", "1/4"), ("1", "3/4", "3/4"), ("2", "2/4", "1/2"), ("3", "3/4", "1/2"),
    ]  # fmt: skip


def test_an_upbeat_stays_an_upbeat_and_its_complement_is_left() -> None:
    theme = melody("3/4", "1/4", "1/4 1/4 1/4", "1/2", upbeat=True)
    two = rebar(theme, "2/4")
    assert bars(two) == [
        ("0", "2/4", "1/4"),
        ("1", "2/4", "1/2"),
        ("2", "2/4", "1/2"),
        ("3", "2/4", "1/4"),
    ]
    assert two.bars[0].implicit
    assert two.bars[0].shift == mpq(1, 4)
    four = rebar(theme, "4/4")
    assert written(four) == "quarter | quarter quarter quarter quarter~ | quarter r:quarter r:half"


@pytest.mark.parametrize("there", ["7/8 7/8 5/8", "3/4", "5/8", "2/4", "3+2+2/16", "6/4"])
def test_rebarring_back_gives_every_onset_back(there: str) -> None:
    back = rebar(rebar(THEME, there), "4/4")
    assert onsets(back) == onsets(THEME)
    exact = rebar(rebar(THEME, there, complete=False), "4/4", complete=False)
    assert written(exact) == written(THEME)
    assert bars(exact) == bars(THEME)


@settings(max_examples=40, deadline=None)
@given(
    st.lists(st.sampled_from(["1/4", "1/8", "3/8", "1/2", "r1/4", "1/16"]), min_size=4),
    st.lists(plain_metres(), min_size=1, max_size=3),
)
def test_rebarring_keeps_every_note_and_fills_every_bar(
    tokens: list[str], metres: list[Metre]
) -> None:
    total = sum((mpq(token.strip("r")) for token in tokens), mpq(0))
    theme = melody("1/1", *_filled(tokens, total))
    result = rebar(theme, MetrePattern(tuple(metres)))
    assert onsets(result) == onsets(theme)
    for i, bar in enumerate(result.bars):
        assert bar.length == metres[i % len(metres)].length
    assert sum((e.duration for _, _, e in result.events()), mpq(0)) == result.length


def _filled(tokens: list[str], total: mpq) -> list[str]:
    """The tokens cut into bars of one whole note."""
    texts: list[str] = []
    line: list[str] = []
    room = mpq(1)
    for token in [*tokens, f"r{-total % 1}"]:
        length = mpq(token.strip("r"))
        rest = "r" if token.startswith("r") else ""
        while length > 0:
            part = min(length, room)
            length -= part
            room -= part
            line.append(f"{rest}{part}" + ("~" if length and not rest else ""))
            if not room:
                texts.append(" ".join(line))
                line, room = [], mpq(1)
    return texts


def with_repeat(score: Score, index: int) -> Score:
    part = score.parts[0]
    changed = tuple(
        bar.replace(right=Barline("light-heavy", "backward")) if bar.index == index else bar
        for bar in part.bars
    )
    return score.replace(parts=(part.replace(bars=changed),))


def test_a_repeat_that_falls_into_a_bar_splits_it_or_is_refused() -> None:
    theme = with_repeat(THEME, 1)
    done = rebar.outcome(theme, "3/4")
    assert bars(done.score)[:5] == [
        ("1", "3/4", "3/4"),
        ("2", "3/4", "3/4"),
        ("3", "3/4", "1/2"),
        ("X3", "3/4", "1/4"),
        ("4", "3/4", "3/4"),
    ]
    assert done.report.data["split"] == ("X3",)
    second = done.score.bars[3]
    assert second.implicit
    assert second.shift == mpq(1, 2)
    assert done.score.bars[2].right == Barline("light-heavy", "backward")
    with pytest.raises(MusicError, match="bar 3: a repeat or double bar falls 1/2 into a bar"):
        rebar(theme, "3/4", strict=True)
    assert bars(rebar(theme, "2/4", strict=True))[3][2] == "1/2"


def test_a_passage_is_rebarred_in_place_and_the_metre_restored() -> None:
    result = rebar(THEME, "2/4", bars="2-3")
    assert bars(result) == [
        ("1", "4/4", "1"),
        ("2", "2/4", "1/2"),
        ("3", "2/4", "1/2"),
        ("3a", "2/4", "1/2"),
        ("3b", "2/4", "1/2"),
        ("4", "4/4", "1"),
    ]
    assert [bar.shows_metre for bar in result.bars] == [True, True, False, False, False, True]
    assert onsets(result) == onsets(THEME)


def test_a_note_held_into_a_passage_stays_one_note() -> None:
    result = rebar(THEME, "2/4", bars="3")
    assert onsets(result) == onsets(THEME)
    assert written(result) == (
        "quarter quarter half | eighth eighth half.~ | quarter quarter~ | half | whole"
    )
    assert onsets(read(proven(result))) == onsets(THEME)


def test_the_graces_around_a_rest_are_written_once_where_a_bar_line_cuts_it() -> None:
    before, behind = (note(pitch, type="eighth", before="<grace/>") for pitch in ("F5", "G5"))
    silence = before + note("rest", 4, "whole") + behind
    theme = read(partwise(silence, note("C4", 4, "whole"), divisions=1))
    found = read(proven(rebar(theme, "2/4"))).parts[0].voices[0].events
    assert [(str(e.onset), len(e.graces), len(e.after)) for e in found] == [
        ("0", 1, 0), ("1/2", 0, 1), ("1", 0, 0),
    ]  # fmt: skip


def test_a_last_bar_that_would_be_short_and_silent_is_left_out() -> None:
    filled = rebar(THEME, "7/8 7/8 5/8")
    assert filled.length == mpq(33, 8)
    assert written(rebar(filled, "4/4")) == written(THEME)


UPBEAT = melody("3/4", "1/4", "1/4 1/4 1/4", "1/2", upbeat=True)
CLOSING_REST = melody("4/4", "1/4 1/4 1/2", "1/4 r3/4")


@pytest.mark.parametrize("there", ["8/4", "12/4", "7/8 7/8 5/8", "5/4", "2/4", "3/8"])
@pytest.mark.parametrize("theme", [THEME, UPBEAT, CLOSING_REST], ids=["whole", "upbeat", "rest"])
def test_rebarring_back_gives_the_bars_back_however_much_was_filled(
    theme: Score, there: str
) -> None:
    poured = read(to_bytes(rebar(theme, there)))
    back = rebar(poured, theme.bars[0].metre or Metre.parse("4/4"))
    assert bars(back) == bars(theme)
    assert onsets(back) == onsets(theme)


def test_the_closing_bar_line_closes_the_bar_that_was_filled() -> None:
    theme = with_repeat(melody("4/4", "1", "1/2 1/2"), 1)
    poured = rebar(theme, "7/8")
    assert [bar.right is not None for bar in poured.bars] == [False, False, True]
    assert bars(rebar(poured, "4/4")) == bars(theme)
    broad = vary(theme, "augmentation:9/8")
    assert [bar.right is not None for bar in broad.bars] == [False, False, True]


def test_a_bar_that_is_left_short_within_a_score_is_not_counted() -> None:
    made = read(proven(rebar(THEME, "3/8", bars="1", complete=False)))
    assert [(bar.number, bar.implicit, str(bar.length)) for bar in made.bars[:4]] == [
        ("1", False, "3/8"),
        ("1a", False, "3/8"),
        ("1b", True, "1/4"),
        ("2", False, "1"),
    ]
    assert check(made).is_right


def test_triplets_whose_numbers_are_left_out_may_be_parted_by_new_beats() -> None:
    """Six sixteenths without a mark are one group at a beat's start, and two over a beat's line."""
    bar = note("C4", 24, "eighth") * 2 + note("D4", 8, "16th", ratio="3:2") * 6
    made = read(proven(rebar(read(partwise(bar * 2, divisions=48)), "11/16")))
    assert all(
        piece.ratio == (3, 2)
        for _, _, event in made.events()
        for piece in event.pieces
        if event.pitches and str(event.pitches[0]) == "D4"
    )


def test_a_signature_is_not_in_doubt_for_bars_that_endings_cut() -> None:
    line = '<barline location="{}">{}</barline>'
    opened = line.format("left", '<ending number="1" type="start"/>')
    left = line.format("right", '<ending number="1" type="discontinue"/>')
    closed = line.format("right", "<bar-style>light-heavy</bar-style>")
    lines = ["", opened, "", "", "", left, "", "", "", opened, closed, ""]
    made = rebar(read(partwise(*(each + note("bar", 16) for each in lines))), "5/8")
    assert check(read(proven(made))).is_right


def test_silence_in_the_last_note_s_bar_gets_no_bar_of_its_own() -> None:
    assert durations(rebar(CLOSING_REST, "2/4")) == "1/4 1/4 | 1/2 | 1/4 r1/4"
    assert durations(rebar(CLOSING_REST, "2/4", complete=False)).endswith("1/4 r1/4 | r1/2")


def test_a_silent_bar_at_the_end_is_no_filling() -> None:
    theme = melody("4/4", "1/4 1/4 1/2", "r1")
    two = rebar(theme, "2/4")
    assert durations(two) == "1/4 1/4 | 1/2 | r1/2 | r1/2"
    assert bars(rebar(two, "4/4")) == bars(theme)


def test_a_bar_of_filling_that_a_sign_stands_in_stays() -> None:
    sign = Mark(mpq(3, 2), 1, "words", text="attacca", order=10)
    part = CLOSING_REST.parts[0]
    theme = CLOSING_REST.replace(parts=(part.replace(marks=(sign,)),))
    assert durations(rebar(theme, "2/4")).endswith("1/4 r1/4 | r1/2")


def test_a_rest_under_a_fermata_is_no_filling() -> None:
    fermata = "<fermata/>"
    source = read(
        partwise(
            note("C4", 4, "quarter") + note("rest", 4, "quarter")
            + note("rest", 4, "quarter") + note("rest", 4, "quarter", inside=fermata)
        )
    )  # fmt: skip
    varied = [
        vary(source, by) for by in ("augmentation:3/2", "displacement:-1/4", "displacement:3/4")
    ]
    for result in (rebar(source, "1/4"), *varied):
        assert len(list(to_tree(result).iter("fermata"))) == 1


def test_without_filling_nothing_is_added_and_nothing_left_out() -> None:
    for theme in (THEME, UPBEAT, CLOSING_REST, melody("4/4", "1", "r1")):
        metre = theme.bars[0].metre or Metre.parse("4/4")
        back = rebar(rebar(theme, "5/8", complete=False), metre, complete=False)
        assert bars(back) == bars(theme)


def test_the_first_whole_bar_keeps_its_number_where_an_upbeat_comes_or_goes() -> None:
    assert bars(rebar(UPBEAT, "1/4"))[:2] == [("1", "1/4", "1/4"), ("2", "1/4", "1/4")]
    assert [bar.number for bar in rebar(UPBEAT, "2/4").bars] == ["0", "1", "2", "3"]


@pytest.mark.parametrize(
    ("to", "message"),
    [
        ("senza misura", "has a bar without a length"),
        ("7/0", "7/0"),
        ("waltz", "waltz"),
    ],
)
def test_a_pattern_that_is_none_is_refused(to: str, message: str) -> None:
    with pytest.raises(RequestError, match=message):
        rebar(THEME, to)


def test_bars_that_are_no_single_passage_are_refused() -> None:
    with pytest.raises(RequestError, match="the bars named have gaps"):
        rebar(THEME, "2/4", bars="1,3")


# Plans of bars


def test_a_plan_follows_the_metres_in_turn_and_splits_at_breaks() -> None:
    four = Metre.parse("4/4")
    plan = plan_bars(mpq(3), iter([four] * 9), breaks=[mpq(3, 2)])
    assert [(str(b.length), str(b.shift), b.tail) for b in plan] == [
        ("1", "0", False),
        ("1/2", "0", False),
        ("1/2", "1/2", True),
        ("1", "0", False),
    ]
    short = plan_bars(mpq(9, 4), iter([four] * 9), last="metre")
    assert (short[-1].length, str(short[-1].metre)) == (mpq(1, 4), "1/4")


def test_a_plan_is_read_off_bars() -> None:
    four = Metre.parse("4/4")
    made = (
        Bar(0, "1", mpq(0), mpq(3, 4), four),
        Bar(1, "X1", mpq(3, 4), mpq(1, 4), four, shift=mpq(3, 4)),
    )
    assert plan_of(made) == (
        BarPlan(mpq(3, 4), four),
        BarPlan(mpq(1, 4), four, mpq(3, 4), True),
    )


# Real scores

SCORES = pick(10, most_bytes=24_000)


def test_a_signature_that_heads_no_bar_any_more_leaves_no_trace() -> None:
    source = read(to_bytes(THEME))
    there = read(to_bytes(rebar(source, "7/8 7/8 5/8", complete=False)))
    back = rebar(there, "4/4", complete=False)
    assert {"backup", "forward"}.isdisjoint(element.tag for element in to_tree(back).iter())
    assert to_bytes(back) == to_bytes(source)


def test_a_signature_that_heads_no_bar_any_more_asks_for_no_divisions() -> None:
    there = rebar(read(to_bytes(melody("4/4", "1", "1"))), "5/16 11/16")
    (divisions,) = to_tree(rebar(read(to_bytes(there)), "4/4")).iter("divisions")
    assert divisions.text == "1"


@pytest.mark.parametrize("path", SCORES, ids=[path.stem for path in SCORES])
def test_a_real_score_is_poured_into_mixed_bars_and_back(path: Path) -> None:
    source = read(path)
    before = census(source)
    valid = not schema.errors(to_bytes(source))
    result = rebar(source, "7/8 7/8 5/8")
    data = proven(result)
    again = read(data)
    assert not valid or schema.errors(data) == []
    assert sounding(again) == sounding(source)
    assert len(check(again).faults) <= len(check(source).faults)
    after = census(again)
    assert {tag: count for tag, count in before.items() if after[tag] < count} == {}
    metre = next(bar.metre for bar in source.bars if bar.metre is not None)
    back = read(proven(rebar(again, MetrePattern((metre,)))))
    assert sounding(back) == sounding(source)


def sounding(score: Score) -> list[tuple[str, str, mpq, mpq, object]]:
    return sorted(
        (part.id, voice.name, e.onset, e.duration, repr(e.pitches))
        for part, voice, e in score.events()
        if not e.is_rest and e.visible
    )


def test_own_bars_of_a_real_score_come_out_as_they_were() -> None:
    (path,) = pick(1, most_bytes=24_000, accept=_one_metre)
    source = read(path)
    result = rebar(source, MetrePattern((source.bars[0].metre or Metre.parse("4/4"),)))
    assert to_bytes(result) == to_bytes(source)


def _one_metre(score: Score) -> bool:
    metres = {bar.metre for part in score.parts for bar in part.bars}
    return len(metres) == 1 and all(
        bar.metre is not None and bar.length == bar.metre.length for bar in score.bars
    )
