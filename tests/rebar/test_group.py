"""Grouping: the same notes under other beams, accents or bars, and where pattern and metre meet."""

from __future__ import annotations

import pytest
from gmpy2 import mpq

from rhythm.exact.errors import RequestError
from rhythm.formats.musicxml.read.score_reader import read
from rhythm.formats.musicxml.saving import proven
from rhythm.rebar.group import group, heads, parse_groups
from rhythm.score.model import Addition, Event, Score
from tests.corpus import pick
from tests.sheet import sheet
from tests.tiny import durations, melody

EIGHTHS = " ".join(["1/8"] * 8)
STUDY = melody("4/4", EIGHTHS, EIGHTHS)


def beamed(score: Score) -> str:
    """How many notes stand under each beam, bars apart by ``|``."""
    found: list[str] = []
    bar = 0
    for _, _, event in score.events():
        for piece in event.pieces:
            word = piece.beams[0] if piece.beams else ""
            if piece.bar != bar:
                found.append("|")
            bar = piece.bar
            if word in ("continue", "end"):
                found[-1] = str(int(found[-1]) + 1)
            else:
                found.append("1")
    return " ".join(found)


def accented(score: Score) -> list[int]:
    accent = Addition("accent")
    return [i for i, (_, _, e) in enumerate(score.events()) if accent in e.additions]


@pytest.mark.parametrize(
    ("by", "expected"),
    [
        ("3+3+2", "3 3 2 | 3 3 2"),
        ("5", "5 3 | 2 5 1"),
        ("3", "3 3 2 | 1 3 3 1"),
        ("2+3", "2 3 2 1 | 2 2 3 1"),
    ],
)
def test_beams_follow_the_groups_across_beats_but_not_bar_lines(by: str, expected: str) -> None:
    result = group(STUDY, by)
    assert beamed(result) == expected
    assert durations(result) == durations(STUDY)


def test_accents_mark_the_notes_that_begin_a_group() -> None:
    assert accented(group(STUDY, "5", show="accents")) == [0, 5, 10, 15]
    assert accented(group(STUDY, "3+3+2", show="accents")) == [0, 3, 6, 8, 11, 14]
    assert beamed(group(STUDY, "5", show="accents")) == beamed(STUDY)


def test_a_head_that_no_note_begins_on_bears_no_accent() -> None:
    assert accented(group(melody("4/4", "1/4 1/4 1/2"), "3", show="accents")) == [0]


def test_each_turn_of_the_pattern_becomes_a_bar() -> None:
    result = group(STUDY, "3+2", show="metre")
    assert [str(bar.metre) for bar in result.bars] == ["3+2/8"] * 4
    assert beamed(result).startswith("3 2 | 3 2 | 3 2 | 1")


@pytest.mark.parametrize(
    ("by", "unit", "units", "turns", "bars"),
    [
        ("5", "1/8", 40, 8, 5),  # 5/8 against 4/4: recomputed
        ("3", "1/16", 48, 16, 3),  # groups over sixteenths: recomputed
        ("5", "1/16", 80, 16, 5),
        ("7", "1/16", 112, 16, 7),
        ("3+3+2", "1/8", 8, 1, 1),
    ],
)
def test_pattern_and_metre_meet_after_their_least_common_multiple(
    by: str, unit: str, units: int, turns: int, bars: int
) -> None:
    meeting = group.outcome(STUDY, by, unit=unit, show="accents").report.data["meeting"]
    assert meeting == (units, turns, bars)


def test_a_pattern_begins_on_the_first_downbeat() -> None:
    theme = melody("2/4", "1/8", "1/8 1/8 1/8 1/8", "1/8 1/8 1/8", upbeat=True)
    assert accented(group(theme, "3", show="accents")) == [1, 4, 7]


def test_a_passage_is_grouped_alone() -> None:
    result = group(STUDY, "3+3+2", bars="2")
    assert beamed(result) == "4 4 | 3 3 2"


@pytest.mark.parametrize("show", ["beams", "accents"])
def test_one_voice_of_one_part_is_grouped_alone(show: str) -> None:
    """Three voices with the same eighths: only the second of the second part shows the groups."""
    bar = sheet(["e " * 8], ["e " * 8 + "<1920 v2 " + "G4e " * 8])
    done = read(proven(group(bar, "3", show=show, part="Part 2", voice="2")))
    before = [voice.events for part in bar.parts for voice in part.voices]
    after = [voice.events for part in done.parts for voice in part.voices]

    def seen(events: tuple[Event, ...]) -> list[object]:
        return [(event.pieces, [note.laden for note in event.notes]) for event in events]

    assert [seen(a) == seen(b) for a, b in zip(before, after, strict=True)] == [True, True, False]


def test_bars_are_not_redrawn_in_one_part_alone() -> None:
    with pytest.raises(RequestError, match="leave out part and voice"):
        group(melody("4/4", "1/8 " * 8), show="metre", part="Theme")


def test_the_heads_of_groups_are_counted_from_anywhere() -> None:
    eighth = mpq(1, 8)
    found = heads((3, 2), eighth, mpq(0), mpq(1), origin=mpq(1, 4))
    assert [int(at / eighth) for at in found] == [0, 2, 5, 7]


@pytest.mark.parametrize(
    ("request_", "message"),
    [
        ({"groups": "3+x"}, "'3.x' are not groups; numbers of units"),
        ({"groups": "0"}, "'0' are not groups"),
        ({"unit": "0"}, "0"),
        ({"show": "colours"}, "groups cannot be shown as 'colours'; one of beams, accents, metre"),
        ({"unit": "1/12", "show": "metre"}, "no metre counts in 1/12"),
    ],
)
def test_a_request_for_no_groups_is_one_clear_line(request_: dict[str, str], message: str) -> None:
    with pytest.raises(RequestError, match=message):
        group(STUDY, **request_)  # type: ignore[arg-type]


def test_groups_are_read_as_they_are_written() -> None:
    assert parse_groups("3+3+2") == (3, 3, 2)
    assert parse_groups("5") == (5,)


@pytest.mark.parametrize("show", ["beams", "accents", "metre"])
def test_real_scores_are_grouped_and_proven(show: str) -> None:
    paths = pick(3, most_bytes=16_000)
    assert paths
    for path in paths:
        source = read(path)
        again = read(proven(group(source, "3+3+2", show=show)))
        assert notes(again) == notes(source)


def notes(score: Score) -> list[tuple[mpq, object]]:
    return [(e.onset, e.pitches) for _, _, e in score.events() if not e.is_rest]
