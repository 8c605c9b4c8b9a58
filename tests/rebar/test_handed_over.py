"""A line that one voice hands to another at a bar line, when the bar lines move."""

from __future__ import annotations

import pytest

from rhythm.check.ledger import check
from rhythm.formats.musicxml.read.score_reader import read
from rhythm.rebar.rebar import rebar
from rhythm.score.model import Score
from rhythm.verbs import vary
from rhythm.writing import proven
from tests.sheet import sheet
from tests.tiny import written

# Voice 2 has the second and the third bar to itself.
HANDED = sheet(["q q q q", "v2 h h", "v2 w", "q h q", "h h", *["q q q q"] * 4])
# Every other bar is another voice's.
TRADED = sheet(["q q q q", "v2 h h"] * 4)
# Voice 2 comes in late in its bar, with nothing before it: it was not written to fill bars.
PARTIAL = sheet(["w <960 v2 h", "v2 h h <1920 v w", "w", "w"])


def written_file(score: Score) -> Score:
    again = read(proven(score))
    assert check(again).is_right
    return again


def test_a_voice_rests_where_it_stops_within_a_bar_and_where_it_comes_in() -> None:
    """Common practice, no source: a voice that is there for a part of a bar fills it with rests."""
    made = written_file(rebar(HANDED, "7/8"))
    assert written(made, 0).startswith(
        "quarter quarter quarter eighth~ | eighth r:eighth r:quarter r:quarter. | "
        "r:quarter r:eighth eighth~ eighth quarter~ |"
    )
    assert written(made, 1).startswith("r:eighth eighth~ quarter~ eighth quarter~ |")


@pytest.mark.parametrize("score", [HANDED, TRADED], ids=["handed over", "handed to and fro"])
@pytest.mark.parametrize("to", ["7/8", "3/4", "5/4"])
def test_the_rests_go_again_where_the_bar_lines_fall_back(to: str, score: Score) -> None:
    made = written_file(rebar(score, to))
    back = written_file(rebar(made, "4/4"))
    assert [written(back, v) for v in (0, 1)] == [written(score, v) for v in (0, 1)]


def test_a_voice_gets_no_rests_in_the_bar_that_it_did_not_fill() -> None:
    assert (
        written(written_file(rebar(PARTIAL, "3/4")), 1)
        == "quarter~ | quarter half | half r:quarter"
    )


def test_a_voice_that_is_moved_within_its_bars_rests_before_and_behind() -> None:
    assert written(written_file(vary(HANDED, "displacement:1/8")), 1) == (
        "r:eighth quarter.~ eighth quarter.~ | eighth quarter.~ half~ | "
        "eighth r:eighth r:quarter r:half"
    )


# Voice 2 has a bar to itself that rotation, voice by voice, puts another one over.
LONE = sheet([*["w"] * 3, "v2 w", *["w"] * 4])


def test_no_time_is_left_in_which_a_part_does_nothing() -> None:
    made = written_file(vary(LONE, ["augmentation:3/2", "rotation"]))
    stands = [(e.onset, e.end) for _, _, e in made.events()]
    assert all(any(a <= at < b for a, b in stands) for at in range(12))


def test_a_bar_that_held_nothing_gets_rests_where_it_is_part_of_a_bar() -> None:
    made = written_file(vary(sheet(["w", "q q q q", "", "q q q q", "w"]), "diminution:2"))
    assert (
        written(made)
        == "half eighth eighth eighth eighth | r:half eighth eighth eighth eighth | half r:half"
    )


def test_a_note_in_the_hole_of_another_voice_is_no_more_at_fault_in_more_bars() -> None:
    """Four bars tell no habit of a voice that eight bars tell: the hole was the source's."""
    score = sheet(["q q q q", "q q q q", "q v9 q v1 q q", "q q q q"])
    assert check(score).is_right
    assert len(read(proven(rebar(score, "2/4"))).bars) == 8
