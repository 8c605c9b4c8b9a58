"""Any metre to any other, through the whole of restate: bars, beats, cycles, tables, own maps.

The tables are this project's choice (docs/restating.md); common practice, no source, except where
one is named.
"""

from __future__ import annotations

import pytest
from gmpy2 import mpq

from rhythm.check.ledger import check
from rhythm.exact.errors import RequestError
from rhythm.exact.time_map import TimeMap
from rhythm.formats.musicxml.read.score_reader import read
from rhythm.formats.musicxml.saving import proven
from rhythm.score.model import Score
from rhythm.verbs import restate
from tests.markup import attributes, note, parts, partwise
from tests.tiny import durations, melody, written

# source, target, lilt, a bar of the source, what it becomes
BARS = [
    ("4/4", "12/8", "trochee", "1/8 1/8 1/8 1/8 1/2", "1/4 1/8 1/4 1/8 3/4"),
    # the after-dance in triple time (saltarello, galliard, tripla)
    ("2/4", "3/4", "trochee", "1/4 1/4", "1/2 1/4"),
    ("4/4", "3/2", "trochee", "1/2 1/2", "1 1/2"),
    ("4/4", "3/4", "trochee", "1/4 1/4 1/4 1/4", "1/4 1/4 1/8 1/8"),
    ("3/4", "4/4", "trochee", "1/4 1/4 1/4", "1/4 1/4 1/2"),
    ("3/4", "4/4", "iamb", "1/4 1/4 1/4", "1/2 1/4 1/4"),
    ("4/4", "3+2/4", "trochee", "1/4 1/4 1/4 1/4", "1/2 1/4 1/4 1/4"),
    ("4/4", "2+3/4", "iamb", "1/4 1/4 1/4 1/4", "1/4 1/4 1/4 1/2"),
    ("4/4", "2+2+3/8", "trochee", "1/4 1/4 1/4 1/4", "1/4 1/4 1/4 1/8"),
    ("4/4", "3+2+2/8", "trochee", "1/4 1/4 1/4 1/4", "1/4 1/8 1/4 1/4"),
    ("3/4", "2/4", "trochee", "1/2 1/4", "1/4 1/4"),
    ("12/8", "4/4", "trochee", "1/4 1/8 1/4 1/8 3/4", "1/8 1/8 1/8 1/8 1/2"),
    ("2/4", "3/4", "even", "1/4 1/4", "3/8 3/8"),
    ("4/4", "12/8", "iamb", "1/8 1/8 1/8 1/8 1/2", "1/8 1/4 1/8 1/4 3/4"),
]  # fmt: skip
IDS = [f"{source} to {target}, {lilt}: {bar}" for source, target, lilt, bar, _ in BARS]


@pytest.mark.parametrize(("source", "target", "lilt", "bar", "image"), BARS, ids=IDS)
def test_a_bar_becomes_a_bar(source: str, target: str, lilt: str, bar: str, image: str) -> None:
    result = restate(melody(source, bar, bar), target, lilt=lilt)
    assert durations(result) == f"{image} | {image}"
    assert {str(each.metre) for each in result.bars} == {target}


@pytest.mark.parametrize(("source", "target", "lilt", "bar", "image"), BARS, ids=IDS)
def test_the_way_back_under_the_same_lilt_gives_the_bar_back(
    source: str, target: str, lilt: str, bar: str, image: str
) -> None:
    there = restate(melody(source, bar), target, lilt=lilt)
    assert durations(restate(there, source, lilt=lilt)) == bar


@pytest.mark.parametrize(
    ("target", "bars", "metres"),
    [
        ("9/8", "3/8 3/8 3/8 | 3/8 3/8 1/4 1/8 | 3/8 3/8 3/8 | 3/8 3/8 3/8", ["9/8"] * 4),
        ("6/8", "3/8 3/8 | 3/8 3/8 | 3/8 1/4 1/8 | 3/8 3/8 | 3/8 3/8 | 3/8 3/8", ["6/8"] * 6),
        (
            "3/4 2/4",
            "1/4 1/4 1/4 | 1/4 1/4 | 1/8 1/8 1/4 1/4 | 1/4 1/4 | 1/4 1/4 r1/4",
            ["3/4", "2/4", "3/4", "2/4", "3/4"],
        ),
    ],
)
def test_beat_by_beat_the_bar_lines_are_redrawn(target: str, bars: str, metres: list[str]) -> None:
    four = "1/4 1/4 1/4 1/4"
    result = restate(melody("4/4", four, "1/4 1/8 1/8 1/4 1/4", four), target, by="beat")
    assert durations(result) == bars
    assert [str(bar.metre) for bar in result.bars] == metres


def test_beat_by_beat_an_upbeat_leads_to_the_first_bar_line() -> None:
    four = "1/4 1/4 1/4 1/4"
    score = melody("4/4", "1/4", four, four, "1/4 1/4 1/4", upbeat=True)
    result = restate(score, "9/8", by="beat")
    assert [bar.length for bar in result.bars] == [mpq(n, 8) for n in (3, 9, 9, 9, 6)]
    assert result.bars[0].implicit
    assert result.bars[0].shift == mpq(3, 4)


def test_beat_by_beat_a_bar_that_breaks_off_inside_a_beat_is_filled_and_said() -> None:
    score = melody("4/4", "1/4 1/4 1/4 1/4", "1/4 1/4 1/4 1/8", "1/4 1/4 1/4 1/4")
    done = restate.outcome(score, "9/8", by="beat")
    assert durations(read(proven(done.score))) == (
        "3/8 3/8 3/8 | 3/8 3/8 3/8 | 3/8 1/4 r1/8 3/8 | 3/8 3/8 3/8"
    )
    assert "bar 2 filled with a rest of 1/8: it broke off in a beat" in str(done.report)


@pytest.mark.parametrize("place", ["alone", "append"])
def test_beat_by_beat_a_passage_stands_apart(place: str) -> None:
    four = "1/4 1/4 1/4 1/4"
    result = restate(melody("4/4", *[four] * 5), "9/8", by="beat", bars="2-4", place=place)
    new = [str(bar.metre) for bar in result.bars if str(bar.metre) != "4/4"]
    assert new == ["9/8"] * 4
    assert len(result.bars) == (4 if place == "alone" else 9)


def test_beat_by_beat_a_passage_has_no_room_where_it_stands() -> None:
    with pytest.raises(RequestError, match="another number of bars than it had; place it alone"):
        restate(melody("4/4", "1", "1"), "9/8", by="beat", bars="1")


@pytest.mark.parametrize("to", ["compound", "4/4:12/8"])
def test_beat_by_beat_needs_a_metre(to: str) -> None:
    with pytest.raises(RequestError, match="beat by beat needs a metre"):
        restate(melody("4/4", "1"), to, by="beat")


def metres(score: Score) -> list[str]:
    return [str(bar.metre) for bar in score.bars]


def test_a_cycle_of_metres_turns_bar_by_bar() -> None:
    result = restate(melody("4/4", *["1/4 1/4 1/4 1/4"] * 4), "7/8 7/8 5/8")
    assert metres(result) == ["7/8", "7/8", "5/8", "7/8"]
    assert durations(result) == (
        "1/4 1/4 1/4 1/8 | 1/4 1/4 1/4 1/8 | 1/4 1/8 1/8 1/8 | 1/4 1/4 1/4 1/8"
    )


def test_a_cycle_begins_anew_in_a_passage() -> None:
    result = restate(melody("4/4", *["1"] * 5), "7/8 5/8", bars="2-4")
    assert metres(result) == ["4/4", "7/8", "5/8", "7/8", "4/4"]


def test_an_upbeat_belongs_to_the_first_metre_of_a_cycle() -> None:
    four = "1/4 1/4 1/4 1/4"
    result = restate(melody("4/4", "1/4", four, four, four, upbeat=True), "7/8 5/8")
    assert metres(result) == ["7/8", "7/8", "5/8", "7/8"]
    assert [bar.length for bar in result.bars] == [mpq(n, 8) for n in (1, 7, 5, 7)]


def test_each_bar_is_restated_from_its_own_metre() -> None:
    score = melody(["4/4", "3/4", "6/8"], "1/4 1/4 1/4 1/4", "1/4 1/4 1/4", "3/8 3/8")
    result = restate(score, "5/4")
    assert durations(result) == "1/2 1/4 1/4 1/4 | 1/2 1/4 1/2 | 3/4 1/2"
    assert [bar.shows_metre for bar in result.bars] == [True, False, False]


def test_a_table_sends_each_metre_its_own_way_and_leaves_the_rest() -> None:
    score = melody(["4/4", "6/4", "2/4"], "1/8 1/8 1/4 1/2", " ".join(["1/4"] * 6), "1/8 1/8 1/4")
    result = restate(score, "4/4:12/8, 6/4:18/8")
    assert metres(result) == ["12/8", "18/8", "2/4"]
    assert durations(result) == ("1/4 1/8 3/8 3/4 | 3/8 3/8 3/8 3/8 3/8 3/8 | 1/8 1/8 1/4")


@pytest.mark.parametrize(
    ("pairs", "by", "image"),
    [
        ("1/8=1/4, 1/4=3/8", "beat", "1/4 1/8 3/8 3/4"),
        ("1/8=1/8, 1/4=3/8", "beat", "1/8 1/4 3/8 3/4"),
        ("1/4=3/8", "beat", "3/16 3/16 3/8 3/4"),
        ("1/4=1/2, 1/2=3/4, 1=3/2", "bar", "1/4 1/4 1/4 3/4"),
    ],
)
def test_a_map_of_one_s_own_takes_the_place_of_the_lilt(pairs: str, by: str, image: str) -> None:
    score = melody("4/4", "1/8 1/8 1/4 1/2")
    assert durations(restate(score, "12/8", mapping=pairs, by=by)) == image


@pytest.mark.parametrize(
    ("pairs", "message"),
    [
        ("1/4=1/8, 1/8=3/8", "the map of time does not rise from 1/4=1/8 to 1/8=3/8"),
        ("1/8=1/4", "bar 1: the map ends at 1/8=1/4, the beat at 1/4=3/8"),
        ("1/8", "'1/8' is not a point of a map of time; write rising pairs"),
        ("x=1/4, 1/4=3/8", "'x' does not name a note value"),
    ],
)
def test_a_map_that_cannot_be_is_refused_in_a_line(pairs: str, message: str) -> None:
    with pytest.raises(RequestError, match=message):
        restate(melody("4/4", "1"), "12/8", mapping=pairs)


def test_a_map_may_be_given_as_a_warp() -> None:
    score = melody("4/4", "1/8 1/8 1/4 1/2")
    warp = TimeMap.parse("0->0, 1/8->1/4, 1/4->3/8")
    assert durations(restate(score, "12/8", mapping=warp)) == "1/4 1/8 3/8 3/4"
    short = TimeMap("1/8=1/4, 1/4=3/8")
    assert durations(restate(score, "12/8", mapping=short)) == "1/4 1/8 3/8 3/4"
    with pytest.raises(RequestError, match="the map begins at 0=1/8; it begins at 0=0"):
        restate(score, "12/8", mapping=TimeMap(((0, mpq(1, 8)), (mpq(1, 4), mpq(3, 8)))))


def test_a_map_of_the_beat_needs_as_many_beats() -> None:
    with pytest.raises(RequestError, match="bar 1: 4/4 has 4 beats and 6/8 2"):
        restate(melody("4/4", "1"), "6/8", mapping="1/8=1/4, 1/4=3/8")


def test_a_map_is_not_asked_about_bars_outside_the_passage() -> None:
    score = melody(["4/4", "6/8", "4/4"], "1/8 1/8 3/4", "3/4", "1")
    result = restate(score, "12/8", mapping="1/8=1/4, 1/4=3/8", bars="1")
    assert durations(result) == "1/4 1/8 9/8 | 3/4 | 1"


@pytest.mark.parametrize(
    ("options", "message"),
    [
        ({"by": "moon"}, "by 'moon' is not known; legal are bar, beat"),
        ({"fit": "loose"}, "fit 'loose' is not known; legal are idiomatic, exact"),
        ({"tempo": "rubato"}, "tempo 'rubato' is not known; legal are beat, value"),
        ({"place": "there"}, "place 'there' is not known; legal are here, alone, append"),
        ({"lilt": "waltz"}, "'waltz' is not a lilt; there are trochee, iamb, even, and ratios"),
        ({"bars": "9"}, "there is no bar '9'; bars run from 1 to 3"),
        ({"bars": "1,3", "place": "alone"}, "the bars named have gaps between them"),
        ({"bars": 2}, "bars cannot be 2; bars as printed, in quotes"),
    ],
)
def test_what_is_not_known_is_refused_with_what_is(
    options: dict[str, object], message: str
) -> None:
    with pytest.raises(RequestError, match=message):
        restate(melody("4/4", "1", "1", "1"), "12/8", **options)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("to", "message"),
    [
        ("banana", "'banana' is not a target; there are compound, simple, triplets, duplets"),
        ("4/4:12/8, x", "'x' is not a pair of metres; write a table as"),
        ("0/4", "0/4 is not a time signature"),
        ("7/8 x", "'x' says nothing here"),
    ],
)
def test_a_target_that_is_none_is_refused(to: str, message: str) -> None:
    with pytest.raises(RequestError, match=message):
        restate(melody("4/4", "1"), to)


@pytest.mark.parametrize(
    ("metre", "bar", "simple", "image"),
    [
        ("9/16", "1/8 1/16 1/8 1/16 3/16", "3/8", "1/16 1/16 1/16 1/16 1/8"),
        (
            "18/16", "1/8 1/16 3/16 3/8 1/8 1/16 3/16", "3/4",
            "1/16 1/16 1/8 1/4 1/16 1/16 1/8",
        ),
        ("24/16", "1/8 1/16 3/16 3/8 3/4", "4/4", "1/16 1/16 1/8 1/4 1/2"),
        ("18/8", "1/4 1/8 3/8 3/2", "6/4", "1/8 1/8 1/4 1"),
    ],
)  # fmt: skip
def test_long_compound_metres_become_simple_beat_for_beat(
    metre: str, bar: str, simple: str, image: str
) -> None:
    result = read(proven(restate(melody(metre, bar), "simple")))
    assert str(result.bars[0].metre) == simple
    assert durations(result) == image


@pytest.mark.parametrize("metre", ["9/16", "18/16", "24/16"])
def test_long_compound_metres_take_duplets_beat_for_beat(metre: str) -> None:
    beats = {"9/16": 3, "18/16": 6, "24/16": 8}[metre]
    result = restate(melody(metre, " ".join(["1/8 1/16"] * beats)), "duplets")
    assert durations(result) == " ".join(["3/32"] * 2 * beats)


def test_a_dotted_ratio_in_compound_time_is_written_in_sixteenths() -> None:
    score = melody("2/4", "1/8 1/8 1/8 1/8")
    sharp = read(proven(restate(score, "6/8", lilt="3:1")))
    assert durations(sharp) == "5/16 1/16 5/16 1/16"
    assert durations(restate(score, "6/8", lilt="1:3")) == "1/16 5/16 1/16 5/16"
    assert durations(restate(sharp, "2/4", lilt="3:1")) == "1/8 1/8 1/8 1/8"


def test_one_to_one_takes_groups_of_beats_as_a_trochee_does() -> None:
    """1:1 is about the pair in a beat; of two uneven groups the longer comes first."""
    score = melody("4/4", "1/4 1/4 1/4 1/4")
    assert durations(read(proven(restate(score, "3/4", lilt="1:1")))) == "1/4 1/4 1/8 1/8"
    assert durations(restate(score, "3/4", lilt="1:2")) == "1/8 1/8 1/4 1/4"


def test_a_map_leaves_bars_of_other_metres_alone_and_says_so() -> None:
    score = melody(["4/4", "6/8", "4/4"], "1/8 1/8 3/4", "3/4", "1/8 1/8 3/4")
    done = restate.outcome(score, "12/8", mapping="1/8=1/4, 1/4=3/8")
    assert durations(read(proven(done.score))) == "1/4 1/8 9/8 | 3/4 | 1/4 1/8 9/8"
    assert [str(bar.metre) for bar in done.score.bars] == ["12/8", "6/8", "12/8"]
    assert str(done.report).endswith("; 1 bar of 6/8 is left as written: the map does not fit")


def two_metres(one: str, other: str) -> Score:
    return read(
        parts(
            (attributes(one) + note("C4", 12, "half", dots=1),),
            (attributes(other) + note("C4", 6, "quarter", dots=1) * 2,),
            time="",
            divisions="",
        )
    )


def test_parts_in_metres_of_two_kinds_are_left_by_a_word_and_read_in_one_by_a_metre() -> None:
    score = two_metres("3/4", "6/8")
    left = restate.outcome(score, "compound")
    assert [[str(b.metre) for b in part.bars] for part in left.score.parts] == [["3/4"], ["6/8"]]
    assert "1 bar is left as written: the parts stand in 3/4 and 6/8" in str(left.report)
    read_in_one = restate.outcome(score, "5/4")
    result = read(proven(read_in_one.score))
    assert [[str(b.metre) for b in part.bars] for part in result.parts] == [["5/4"], ["5/4"]]
    assert str(read_in_one.report).endswith("1 bar with parts in 3/4 and 6/8 read in 3/4")


# Swing: 2:1 as triplets, 3:1 as dotted eighth and sixteenth, and straight again.
# Unequal pairs that the source writes stay.
def test_straight_eighths_are_swung_as_triplets() -> None:
    result = restate(melody("2/4", "1/8 1/8 3/16 1/16", "1/4 1/8 1/8"), "triplets", lilt="2:1")
    assert written(result) == ("3:2(quarter eighth) eighth. 16th | quarter 3:2(quarter eighth)")


def test_straight_eighths_are_dotted_in_their_own_metre() -> None:
    result = restate(melody("2/4", "1/8 1/8 1/4", "r1/8 1/8 1/6 1/12"), "2/4", lilt="3:1")
    assert written(result) == ("eighth. 16th quarter | r:eighth. 16th 3:2(quarter eighth)")


@pytest.mark.parametrize(("to", "lilt"), [("triplets", "2:1"), ("2/4", "3:1")])
def test_a_steady_lilt_is_straightened_again(to: str, lilt: str) -> None:
    score = melody("2/4", "1/8 1/8 1/8 1/8", "1/4 1/8 1/8", "1/16 1/16 1/8 1/4")
    swung = restate(score, to, lilt=lilt)
    assert durations(swung) != durations(score)
    assert durations(restate(swung, "2/4", lilt="1:1")) == durations(score)


def test_straightening_leaves_a_pair_that_is_not_the_steady_one() -> None:
    score = melody("2/4", "1/6 1/12 1/6 1/12", "1/6 1/12 3/16 1/16")
    assert durations(restate(score, "2/4", lilt="1:1")) == "1/8 1/8 1/8 1/8 | 1/8 1/8 3/16 1/16"


@pytest.mark.parametrize(
    ("to", "lilt", "image"),
    [
        ("6/8", "3:2", "9/40 3/20 1/8 1/8 1/8"),
        ("triplets", "3:2", "3/20 1/10 1/12 1/12 1/12"),
        ("6/8", "7:5", "7/32 5/32 1/8 1/8 1/8"),
        ("6/8", "2:1", "1/4 1/8 1/8 1/8 1/8"),
    ],
)
def test_a_ratio_is_kept_even_where_no_grid_has_it(to: str, lilt: str, image: str) -> None:
    """A triplet in the source still maps straight."""
    assert durations(restate(melody("2/4", "1/8 1/8 1/12 1/12 1/12"), to, lilt=lilt)) == image


def test_asked_for_an_idiomatic_fit_a_ratio_goes_to_the_nearest_place() -> None:
    score = melody("2/4", "1/8 1/8 1/4")
    assert durations(restate(score, "6/8", lilt="3:2", fit="idiomatic")) == "1/4 1/8 3/8"


REPEAT = '<barline location="right"><repeat direction="backward"/></barline>'


def numbered(number: str, beats: int, repeat: bool = False) -> str:
    """A bar of so many quarters; X1 and 0 are implicit."""
    implicit = ' implicit="yes"' if number in ("0", "X1", "X2") else ""
    held = note("C5", 4, "quarter") * beats
    return f'<measure number="{number}"{implicit}>{held}{REPEAT if repeat else ""}</measure>'


SECTIONS = {
    "half-bar upbeats and their complements": [
        numbered("0", 2), numbered("1", 4), numbered("2", 4), numbered("3", 2, True),
        numbered("X1", 2), numbered("4", 4), numbered("5", 2, True),
    ],
    "quarter upbeats and their complements": [
        numbered("0", 1), numbered("1", 4), numbered("2", 3, True),
        numbered("X1", 1), numbered("3", 4), numbered("4", 4), numbered("5", 3, True),
    ],
    "bars split by repeats": [
        numbered("1", 4), numbered("2", 3, True), numbered("X1", 1), numbered("3", 4),
        numbered("4", 3, True), numbered("X2", 1), numbered("5", 4),
    ],
}  # fmt: skip


@pytest.mark.parametrize(
    "target", ["7/8 7/8 5/8", "7/8 5/8", "3/4 4/4", "5/4", "2+2+3/8", "triplets", "compound"]
)
@pytest.mark.parametrize("bars", SECTIONS.values(), ids=SECTIONS)
def test_upbeats_and_split_bars_still_add_up(bars: list[str], target: str) -> None:
    source = read(partwise(*bars))
    assert not check(source).faults
    result = read(proven(restate(source, target)))
    assert not check(result).faults
    assert [bar.number for bar in result.bars] == [bar.number for bar in source.bars]


def test_rests_that_alone_hold_a_bar_open_show_its_length() -> None:
    """Monteverdi, madrigal 5.3, the last bar: a half note against two rests of a half."""
    upper = note("C5", 8, "half")
    lower = note("rest", 8) * 2
    source = read(parts((upper,), (lower,)))
    for target, length in (("triplets", 1), ("compound", mpq(3, 2)), ("5/4", mpq(5, 4))):
        assert [bar.length for bar in read(proven(restate(source, target))).bars] == [length]


@pytest.mark.parametrize("lilt", ["trochee", "3:1"])
def test_an_upbeat_of_half_a_beat_stays_plain_where_the_metre_stays(lilt: str) -> None:
    """No bracket stands over a lone note, and a swung pair has both its notes in one bar."""
    upbeat = '<measure number="0" implicit="yes">' + note("C4", 2, "eighth") + "</measure>"
    eighths = note("D4", 2, "eighth") * 4
    closing = note("E4", 4, "quarter") + note("C4", 2, "eighth")
    source = read(partwise(upbeat, eighths, closing, time="2/4"))
    result = read(proven(restate(source, "triplets", lilt=lilt)))
    pair = "3/16 1/16" if lilt == "3:1" else "1/6 1/12"
    assert durations(result) == f"1/8 | {pair} {pair} | 1/4 1/8"
    assert written(result).startswith("eighth | ")
    assert [bar.length for bar in result.bars] == [mpq(1, 8), mpq(1, 2), mpq(3, 8)]


def test_a_silent_voice_in_an_upbeat_under_triplets_takes_a_rest_of_its_value() -> None:
    """Joplin, Maple Leaf Rag: other readers give a whole-bar rest the length of a full bar."""
    upbeat = '<measure number="0" implicit="yes">{}</measure>'
    full = note("C5", 8, "half")
    source = read(
        parts(
            (upbeat.format(note("rest", 2, "eighth")), full),
            (upbeat.format(note("C3", 2, "eighth")), full),
            time="2/4",
        )
    )
    assert written(restate(source, "triplets")) == "r:eighth | half"


def time(signature: str) -> str:
    beats, unit = signature.split("/")
    return (
        f"<attributes><time><beats>{beats}</beats><beat-type>{unit}</beat-type></time></attributes>"
    )


def test_a_new_section_s_upbeat_still_shows_a_signature() -> None:
    """Beethoven, op. 18 no. 5: an upbeat opens a movement, and would look short."""
    quarter = note("C5", 4, "quarter")
    bars = (quarter * 2, quarter * 2, time("3/4") + quarter, quarter * 3, quarter * 3)
    source = read(partwise(*bars, time="2/4"))
    result = restate(source, "5/4")
    assert [bar.shows_metre for bar in result.bars] == [True, False, True, False, False]
    assert not check(read(proven(result))).faults


def test_in_a_cycle_a_complement_takes_the_metre_of_its_upbeat() -> None:
    """Three eighths of 4/4 make 5/16 of 7/8, and the other five 7/16 of 5/8, which is no bar."""
    eighth = note("C5", 2, "eighth")
    upbeat = f'<measure number="0" implicit="yes">{eighth * 3}</measure>'
    complement = f'<measure number="2">{eighth * 5}{REPEAT}</measure>'
    four = f'<measure number="1">{eighth * 8}</measure>'
    after = f'<measure number="3">{eighth * 8}</measure>'
    result = restate(read(partwise(upbeat, four, complement, after)), "7/8 5/8")
    assert metres(result) == ["7/8", "7/8", "7/8", "7/8"]
    assert result.bars[0].length + result.bars[2].length == mpq(7, 8)
    assert not check(read(proven(result))).faults


def test_a_first_ending_completes_its_section_s_upbeat() -> None:
    quarter = note("C5", 4, "quarter")
    forward = '<barline location="left"><repeat direction="forward"/></barline>'
    ending = '<barline location="left"><ending number="{}" type="start"/></barline>'
    stop = (
        '<barline location="right"><ending number="1" type="stop"/>'
        '<repeat direction="backward"/></barline>'
    )
    movement = (
        forward + time("2/4") + quarter,
        quarter * 2,
        ending.format(1) + quarter + stop,
        ending.format(2) + quarter * 2,
    )
    source = read(partwise(*movement, quarter * 2, *movement, time=""))
    assert [str(bar.shift) for bar in source.bars] == ["1/4", "0", "0", "0", "0"] + ["1/4"] + [
        "0"
    ] * 3
    assert not check(read(proven(restate(source, "5/4")))).faults


@pytest.mark.parametrize(
    ("metre", "bar", "word", "expected"),
    [
        ("3+2/8", "3/8 1/4", "triplets", "3/8 1/4"),
        ("3+2/8", "1/8 1/8 1/8 1/8 1/8", "triplets", "1/8 1/8 1/8 1/6 1/12"),
        ("2+2+3/8", "1/8 1/8 1/4 1/8 1/8 1/8", "triplets", "1/6 1/12 1/4 1/8 1/8 1/8"),
        ("3+3+2/8", "3/8 3/8 1/8 1/8", "triplets", "3/8 3/8 1/6 1/12"),
        ("3+2/8", "1/4 1/8 1/8 1/8", "duplets", "3/16 3/16 1/8 1/8"),
    ],
)
def test_in_an_irregular_bar_only_the_beats_the_word_speaks_of_change(
    metre: str, bar: str, word: str, expected: str
) -> None:
    """Binary beats take triplets and ternary ones duplets; the others keep place and notes."""
    result = restate(melody(metre, bar), word)
    assert durations(result) == expected
    assert metres(result) == [metre]


def test_a_bar_without_a_metre_that_no_signature_holds_is_left_and_the_rest_restated() -> None:
    score = _unmeasured()
    done = restate.outcome(score, "3/4")
    assert str(done.report).endswith(
        "bar 1 left as written: there is no metre here, and no signature holds 1/24 of a whole note"
    )
    assert durations(read(proven(done.score))) == "1/24 | 1/4 1/4 1/8 1/8"


def _unmeasured() -> Score:
    triplet = note("C4", 1, "16th", ratio="3:2")
    metre = "<attributes><time><beats>4</beats><beat-type>4</beat-type></time></attributes>"
    return read(partwise(triplet, metre + note("D4", 6, "quarter") * 4, divisions=6, time=""))
