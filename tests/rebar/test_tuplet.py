"""Tuplets: notes squeezed into brackets, spans divided, brackets released."""

from __future__ import annotations

import pytest
from gmpy2 import mpq
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from rhythm.check.ledger import check
from rhythm.exact.errors import MusicError, RequestError
from rhythm.formats.musicxml.read.score_reader import read
from rhythm.formats.musicxml.saving import proven
from rhythm.rebar.rebar import rebar
from rhythm.rebar.tuplet import NORMALS, parse_ratio
from rhythm.score.model import Score
from rhythm.verbs import tuplet, vary
from tests.corpus import pick
from tests.markup import note, partwise
from tests.tiny import durations, melody, written

SIXTEENTHS = " ".join(["1/16"] * 8)
STUDY = melody("2/4", SIXTEENTHS, SIXTEENTHS, SIXTEENTHS)
FIVE = "5:4(16th 16th 16th 16th 16th)"


def metres(score: Score) -> list[str]:
    return [str(bar.metre) for bar in score.bars]


def together(metre: str, one: str, other: str) -> Score:
    """Two parts over the same bar."""
    first, second = melody(metre, one), melody(metre, other)
    return first.replace(parts=(*first.parts, second.parts[0].replace(id="P2")))


def test_five_consecutive_sixteenths_go_in_the_time_of_four() -> None:
    done = tuplet.outcome(STUDY, "5:4", unit="1/16")
    assert written(done.score) == (
        f"{FIVE} {FIVE} | {FIVE} {FIVE} | 5:4(16th 16th 16th 16th r:16th) r:quarter"
    )
    assert done.report.data["padded"] == mpq(1, 20)  # one of the five was missing
    assert done.report.data["filled"] == mpq(1, 4)


def test_an_upbeat_is_padded_in_front() -> None:
    theme = melody("2/4", "1/8", "1/8 1/8 1/8 1/8", "1/8 1/8 1/8", upbeat=True)
    result = tuplet(theme, "3:2", unit="1/8")
    assert written(result).startswith("3:2(r:quarter eighth) | 3:2(eighth eighth eighth)")
    assert result.bars[0].shift == mpq(1, 4)


@pytest.mark.parametrize("actual", range(2, 14))
def test_any_ratio_up_to_thirteen_is_written_exactly(actual: int) -> None:
    normal = max(n for n in (1, 2, 4, 8) if n < actual)
    theme = melody("4/4", *[" ".join(["1/16"] * 16)] * actual)
    result = tuplet(theme, f"{actual}:{normal}", unit="1/16")
    again = read(proven(result))
    assert check(again).faults == ()
    assert {e.duration for _, _, e in again.events()} == {mpq(normal, 16 * actual)}


@settings(max_examples=20, deadline=None)
@given(st.integers(3, 13), st.sampled_from([2, 4, 8]))
def test_squeezing_scales_every_duration(actual: int, normal: int) -> None:
    if actual == normal:
        return
    theme = melody("4/4", *[" ".join(["1/8"] * 8)] * actual)
    result = tuplet(theme, f"{actual}:{normal}", unit="1/8")
    scaled = [e.onset * normal / actual for _, _, e in theme.events()]
    assert [e.onset for _, _, e in result.events() if not e.is_rest] == scaled


EIGHTHS = " ".join(["1/8"] * 8)
MIXED = melody("4/4", EIGHTHS, "1/4 1/8 1/8 1/2", f"{SIXTEENTHS} 1/2", "1")


def test_a_note_held_across_brackets_is_tied_from_one_into_the_next() -> None:
    assert written(tuplet(MIXED, "9:8", unit="1/16")) == (
        "9:8(eighth eighth eighth eighth 16th~) 9:8(16th eighth eighth eighth eighth~) | "
        "9:8(eighth eighth eighth eighth.~) 9:8(eighth.~ eighth 16th 16th 16th 16th) | "
        "9:8(16th 16th 16th 16th eighth~ eighth.~) 9:8(eighth. quarter.~) | "
        "half~ 9:8(16th r:16th r:16th r:eighth r:16th r:eighth r:16th)"
    )


def outer_brackets(score: Score) -> set[tuple[int, int, mpq]]:
    """Ratio and length of every outermost bracket; (1, 1, 0) for a note in none."""
    return {
        (p.tuplets[0].actual, p.tuplets[0].normal, p.tuplets[0].length)
        if p.tuplets
        else (*p.ratio, mpq(0))
        for _, _, e in score.events()
        for p in e.pieces
        if not e.is_rest
    }


def brackets_of(score: Score) -> dict[object, list[object]]:
    """The symbols under every outermost bracket."""
    found: dict[object, list[object]] = {}
    for _, voice, e in score.events():
        for p in e.pieces:
            if p.tuplets:
                found.setdefault((voice.name, p.bar, p.tuplets[0].offset), []).append(p)
    return found


values_up_to_a_half = st.lists(st.integers(1, 8), min_size=8, max_size=24)


@settings(max_examples=30, deadline=None)
@given(
    values_up_to_a_half,
    st.integers(2, 13),
    st.sampled_from(NORMALS),
    st.sampled_from(["1/4", "1/8", "1/16"]),
)
def test_every_bracket_is_whole_and_of_the_ratio_asked_for_and_augmentation_undoes_it(
    sixteenths: list[int], actual: int, normal: int, unit: str
) -> None:
    if actual == normal:
        return
    full = [*sixteenths, 16 - sum(sixteenths) % 16]
    theme = rebar(melody("1/1", " ".join(f"{n}/16" for n in full)), "3/4")
    assume(not any(p.tuplets for _, _, e in theme.events() for p in e.pieces))
    result = tuplet(theme, f"{actual}:{normal}", unit=unit)
    bracket = normal * mpq(unit)
    assert outer_brackets(result) <= {(actual, normal, bracket), (1, 1, 0)}
    assert all(len(members) > 1 for members in brackets_of(result).values())
    again = read(proven(result))
    assert check(again).faults == ()
    undone = read(proven(vary(again, f"augmentation:{actual}/{normal}")))
    assert [(e.onset, e.duration) for _, _, e in undone.events() if not e.is_rest] == [
        (e.onset, e.duration) for _, _, e in theme.events() if not e.is_rest
    ]


def test_a_voice_that_holds_while_another_moves_is_written_plain() -> None:
    score = together("3/4", "1/8 1/8 1/8 1/8 1/8 1/8", "3/4")
    result = tuplet(score, "3:2", unit="1/8")
    assert written(result, part=0).startswith("3:2(eighth eighth eighth) 3:2(")
    assert written(result, part=1).startswith("half r:quarter")


def test_a_bracket_that_one_note_would_fill_is_not_written() -> None:
    """Three eighths in the time of two, all held: a quarter. No bracket stands over one note."""
    score = melody("4/4", "1/2 1/8 3/8")
    again = read(proven(tuplet(score, "3:2", unit="1/8")))
    assert written(again) == "quarter~ 3:2(eighth eighth eighth~) 3:2(quarter r:eighth) r:quarter"


def test_a_triplet_that_a_bracket_cuts_in_half_is_nested_in_both() -> None:
    theme = melody("2/4", *[" ".join(["1/12"] * 6)] * 3)
    first = written(tuplet(theme, "3:2", unit="1/8")).split(" | ")[0]
    assert first == (
        "3:2(3:2(eighth eighth eighth) 3:2(eighth 16th~)) "
        "3:2(3:2(16th eighth) 3:2(eighth eighth eighth))"
    )


@pytest.mark.parametrize(
    ("metre", "ratio", "to"),
    [
        ("3/8", "5:4", "2/4"),
        ("4/4", "4:3", "9/8"),
        ("3/4", "5:4", "4/4"),
        ("4/4", "7:12", "3/2"),
        ("5/4", "3:8", "4/4"),
    ],
)
def test_a_metre_that_would_cut_brackets_gives_way_to_one_that_holds_them(
    metre: str, ratio: str, to: str
) -> None:
    count = int(8 * mpq(metre))
    theme = melody(metre, *[" ".join(["1/8"] * count)] * 8)
    done = tuplet.outcome(theme, ratio, unit="1/8")
    assert set(metres(done.score)) == {to}
    assert [(str(old), str(new)) for old, new in done.report.data["redrawn_metres"]] == [
        (metre, to)
    ]
    assert check(read(proven(done.score))).faults == ()


def test_brackets_that_no_metre_could_hold_are_refused() -> None:
    theme = melody("2/4", *[" ".join(["1/12"] * 6)] * 3)
    with pytest.raises(MusicError, match="a bracket lasts triplet half, and a bar line of 2/4"):
        tuplet(theme, "5:4", unit="1/12")


def test_notes_of_one_value_are_divided_and_the_others_left() -> None:
    theme = melody("4/4", "1/4 1/8 1/8 1/2")
    assert durations(tuplet(theme, split=5, span="1/4")) == f"{' '.join(['1/20'] * 5)} 1/8 1/8 1/2"
    with pytest.raises(MusicError, match="no note lasts 1/16; there are notes of 1/8, 1/4, 1/2"):
        tuplet(theme, split=3, span="1/16")


def test_dividing_inside_a_bracket_nests() -> None:
    theme = melody("2/4", "1/6 1/6 1/6")
    nested = tuplet(theme, split=5, span="1/6")
    assert written(nested).startswith("3:2(5:4(16th 16th 16th 16th 16th) 5:4(")
    again = read(proven(nested))
    assert {e.duration for _, _, e in again.events()} == {mpq(1, 30)}
    inner = {t.number for _, _, e in again.events() for p in e.pieces for t in p.tuplets}
    assert inner == {1, 2}


@pytest.mark.parametrize(
    ("metre", "bar", "to", "expected"),
    [
        ("2/4", "1/12 1/12 1/12 1/4", "3+2/8", "1/8 1/8 1/8 1/4"),
        ("2/4", "1/6 1/12 1/6 1/12", "6/8", "1/4 1/8 1/4 1/8"),
        ("2/4", "1/20 1/20 1/20 1/20 1/20 1/4", "5+4/16", "1/16 1/16 1/16 1/16 1/16 1/4"),
        ("6/8", "3/16 3/16 3/16 3/16", "2/4", "1/8 1/8 1/8 1/8"),
        ("3/8", "3/16 3/16", "2/8", "1/8 1/8"),
        ("3/8", "3/32 3/32 3/32 3/32", "2/4", "1/8 1/8 1/8 1/8"),
        ("2/4", "1/12 1/12 1/12 1/12 1/12 1/12", "6/8", "1/8 1/8 1/8 1/8 1/8 1/8"),
        ("6/8", "3/32 3/32 3/32 3/32 1/8 1/8 1/8", "4+3/8", "1/8 1/8 1/8 1/8 1/8 1/8 1/8"),
        ("3/4", "1/6 1/6 1/6 1/4", "4/4", "1/4 1/4 1/4 1/4"),
        ("4/4", "1/4 1/4 1/6 1/6 1/6", "1+1+3/4", "1/4 1/4 1/4 1/4 1/4"),
        ("4/4", "1/6 1/6 1/6 1/4 1/4", "5/4", "1/4 1/4 1/4 1/4 1/4"),
        ("4/4", "1/10 1/10 1/10 1/10 1/10 1/2", "5+2+2/8", "1/8 1/8 1/8 1/8 1/8 1/2"),
        ("4/4", "1/7 1/7 1/7 1/7 1/7 1/7 1/7", "7/4", "1/4 1/4 1/4 1/4 1/4 1/4 1/4"),
        ("4/4", "1/8 1/6 1/6 1/6 1/8 1/4", "4+1/4", "1/8 1/4 1/4 1/4 1/8 1/4"),
        ("2/4", "1/12 1/12 1/36 1/36 1/36 1/4", "7+4/16", "1/8 1/8 1/16 1/16 1/16 1/4"),
    ],
)
def test_brackets_are_released_into_bars_that_hold_them(
    metre: str, bar: str, to: str, expected: str
) -> None:
    result = tuplet(melody(metre, bar), dissolve="written")
    assert durations(result) == expected
    assert metres(result) == [to]


def test_a_written_quadruplet_of_quarters_in_3_4_becomes_4_4() -> None:
    quadruplet = note("C4", 12, "quarter", ratio="4:3") * 4
    result = tuplet(read(partwise(quadruplet, divisions=16, time="3/4")), dissolve="written")
    assert durations(result) == "1/4 1/4 1/4 1/4"
    assert metres(result) == ["4/4"]
    assert not any(p.tuplets for _, _, e in result.events() for p in e.pieces)


def test_a_bracket_that_only_holds_another_is_released_with_it() -> None:
    quadruplet = read(
        partwise(note("C4", 12, "quarter", ratio="4:3") * 4, divisions=16, time="3/4")
    )
    squeezed = tuplet(quadruplet, "3:12", unit="1/4")
    assert written(squeezed) == "3:12(4:3(quarter quarter quarter quarter))"
    released = tuplet(squeezed, dissolve="written")
    assert metres(released) == ["4/4"]
    assert written(released) == "quarter quarter quarter quarter"


def test_seven_in_the_time_of_eight_become_seven_eighths() -> None:
    notes = " ".join(["1/16"] * 7)
    seven = tuplet(melody("4/4", f"{notes} {notes} 1/8"), "7:8", unit="1/16")
    assert written(seven).startswith("7:8(16th 16th 16th 16th 16th 16th 16th) 7:8(")
    released = tuplet(seven, dissolve="written")
    assert metres(released)[0] == "7+7/16"
    assert durations(released).startswith(f"{notes} {notes} | 1/8")


def test_a_voice_beside_a_triplet_lasts_longer_in_plain_values() -> None:
    result = tuplet(together("2/4", "1/12 1/12 1/12 1/4", "1/8 1/8 1/4"), dissolve="written")
    assert metres(result) == ["3+2/8"]
    assert written(result, part=0) == "eighth eighth eighth quarter"
    assert written(result, part=1) == "eighth. eighth. quarter"


def test_duplets_beside_three_eighths_become_dotted_notes_in_place() -> None:
    # Duplet eighths sound as dotted eighths do (trade practice, recomputed).
    result = tuplet(together("6/8", "3/16 3/16 3/8", "1/8 1/8 1/8 3/8"), dissolve="written")
    assert metres(result) == ["6/8"]
    assert written(result, part=0) == "eighth. eighth. quarter."
    assert written(result, part=1) == "eighth eighth eighth quarter."


def test_brackets_that_no_plain_values_hold_together_are_refused() -> None:
    one, other = " ".join(["1/176"] * 11), " ".join(["1/208"] * 13)
    with pytest.raises(MusicError, match="bar 1: no plain values hold brackets of 11:8 and 13:8"):
        tuplet(together("1/16", one, other), dissolve="written")


def test_an_upbeat_takes_the_metre_that_its_triplets_lead_to() -> None:
    theme = melody("2/4", "1/12 1/12 1/12", "1/12 1/12 1/12 1/12 1/12 1/12", upbeat=True)
    result = tuplet(theme, dissolve="written")
    assert metres(result) == ["6/8", "6/8"]
    assert result.bars[0].shift == mpq(3, 8)


def test_releasing_undoes_squeezing() -> None:
    theme = melody("4/4", *[" ".join(["1/16"] * 16)] * 5)
    squeezed = tuplet(theme, "5:4", unit="1/16")
    released = tuplet(squeezed, dissolve="written")
    assert [e.onset for _, _, e in released.events()] == [e.onset for _, _, e in theme.events()]
    assert metres(released) == ["5+5+5+5/16"] * 4


def test_music_without_brackets_is_left_as_it_is() -> None:
    assert tuplet(STUDY, dissolve="written") == STUDY


@pytest.mark.parametrize(
    ("ratio", "message"),
    [
        ("5", "'5' is not a ratio; 2 to 13 notes in the time of"),
        ("14:8", "no bracket of 14:8"),
        ("7:5", "no bracket of 7:5"),
        ("4:4", "4:4 changes nothing"),
        ("1:2", "no bracket of 1:2"),
    ],
)
def test_a_ratio_that_is_none_is_one_clear_line(ratio: str, message: str) -> None:
    with pytest.raises(RequestError, match=message):
        tuplet(STUDY, ratio)


def test_a_unit_that_no_bracket_counts_in_is_refused() -> None:
    with pytest.raises(RequestError, match="no bracket counts in 3/8; a plain value"):
        tuplet(STUDY, "3:2", unit="3/8")


def test_ratios_are_read_as_they_are_written() -> None:
    assert parse_ratio("5:4") == (5, 4)
    assert parse_ratio(" 13 : 8 ") == (13, 8)
    assert all(n & (n - 1) == 0 or n % 3 == 0 for n in NORMALS)


def test_real_scores_are_squeezed_released_and_proven() -> None:
    paths = pick(4, most_bytes=16_000)
    assert paths
    for path in paths:
        source = read(path)
        squeezed = tuplet(source, "3:2", unit="1/8")
        again = read(proven(squeezed))
        assert len(check(again).faults) <= len(check(source).faults)
        proven(tuplet(again, dissolve="written"))


def test_one_function_squeezes_divides_and_releases() -> None:
    score = melody("2/4", "1/4 1/4")
    assert durations(tuplet(score, split=3, span="1/4")) == "1/12 1/12 1/12 1/12 1/12 1/12"
    assert durations(tuplet(tuplet(score, split=3, span="1/4"), dissolve="written")) == (
        "1/8 1/8 1/8 1/8 1/8 1/8"
    )
    for asked in ({}, {"ratio": "3:2", "dissolve": "written"}, {"split": 3}, {"span": "1/4"}):
        with pytest.raises(RequestError, match=r"not said|lacks its span"):
            tuplet(score, **asked)
