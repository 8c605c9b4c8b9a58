"""Stretched music that ends inside a tuplet: the bracket is completed with a rest, all adds up."""

from __future__ import annotations

import pytest

from rhythm.check.ledger import check
from rhythm.formats.musicxml.read.score_reader import read
from rhythm.formats.musicxml.saving import proven
from rhythm.score.model import Score
from rhythm.verbs import vary
from tests.markup import note, partwise
from tests.sheet import sheet
from tests.tiny import written

CLOSE = (
    '<barline location="right"><bar-style>light-heavy</bar-style>'
    '<repeat direction="backward"/></barline>'
)
OPEN = (
    '<barline location="left"><bar-style>heavy-light</bar-style>'
    '<repeat direction="forward"/></barline>'
)


def quarter(pitch: str) -> str:
    return note(pitch, 4, "quarter")


def eighth(pitch: str) -> str:
    return note(pitch, 2, "eighth")


# An upbeat of an eighth, three bars and a complement under a repeat, then the same again, shorter.
TUNE = partwise(
    eighth("G4"),
    quarter("C4") + eighth("D4") + eighth("E4"),
    eighth("F4") + eighth("G4") + quarter("A4"),
    note("C4", 8, "half"),
    quarter("D4") + eighth("E4") + CLOSE,
    OPEN + eighth("F4"),
    eighth("D4") + note("C4", 6, "quarter", dots=1),
    quarter("E4") + eighth("F4") + CLOSE,
    time="2/4",
).replace(b'<measure number="1">', b'<measure number="0" implicit="yes">', 1)
# Two voices, of which one stops a quarter before the end without a rest.
UNEVEN = partwise(
    note("C5", 16, "whole")
    + "<backup><duration>16</duration></backup>"
    # The second voice ends after three quarters.
    + note("E4", 12, "half", dots=1, voice="2"),
)


def varied(data: bytes, by: str) -> Score:
    return read(proven(vary(read(data), by)))


@pytest.mark.parametrize(
    "by",
    [
        "augmentation:4/3", "augmentation:5/4", "augmentation:5/3", "diminution:3", "diminution:5",
        "diminution:3/2", "retrograde:rhythm", "retrograde", "palindrome", "rotation:1",
    ],
)  # fmt: skip
@pytest.mark.parametrize("theme", [TUNE, UNEVEN], ids=["two repeats", "an uneven end"])
def test_every_bar_adds_up_however_the_music_is_stretched(theme: bytes, by: str) -> None:
    assert check(read(theme)).faults == ()
    assert [str(fault) for fault in check(varied(theme, by)).faults] == []


def test_the_last_bracket_is_completed_with_a_rest() -> None:
    assert written(varied(UNEVEN, "augmentation:2/3"), voice=1) == "half"
    assert written(varied(UNEVEN, "augmentation:5/9"), voice=1) == "quarter~ 3:2(quarter r:eighth)"
    third = varied(partwise(note("C4", 8, "half"), time="2/4"), "augmentation:4/3")
    assert written(third) == "half~ | 3:2(quarter r:eighth) r:quarter"


def test_an_upbeat_that_no_plain_value_holds_begins_with_a_rest() -> None:
    bars = written(varied(TUNE, "augmentation:4/3")).split(" | ")
    assert bars[0] == "3:2(r:eighth quarter)"
    assert bars[-1] == "3:2(quarter quarter r:quarter)"


def test_time_is_let_in_before_a_repeat_that_would_fall_into_a_tuplet() -> None:
    four = note("C4", 4, "quarter") * 4
    theme = partwise(four + CLOSE, four, time="4/4")
    done = vary.outcome(read(theme), "augmentation:4/3")
    told = "rest added to complete tuplets before repeats and double bars: triplet quarter"
    assert told in str(done.report)
    result = read(proven(done.score))
    first = written(result).split(" | ")[1]
    assert first == "3:2(half r:quarter)"
    assert result.bars[1].right is not None and result.bars[1].right.repeat == "backward"
    assert check(result).faults == ()


@pytest.mark.parametrize("time", ["", "senza"], ids=["no signature", "free"])
def test_where_there_is_no_metre_every_bar_ends_with_its_bracket(time: str) -> None:
    """A quarter counts as the beat; each bar, being one of its own, is let out to its end."""
    free = sheet(["q q q q", "h h"], time=time)
    made = read(proven(vary(free, "diminution:3")))
    assert written(made) == (
        "3:2(eighth eighth eighth) 3:2(eighth r:eighth r:eighth) | 3:2(quarter quarter r:quarter)"
    )
    assert written(read(proven(vary(sheet(["w"], time=time), "diminution:7/5")))) == (
        "half~ 7:4(quarter. r:16th)"
    )
