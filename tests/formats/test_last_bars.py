"""Bars that only one voice fills, the last one too: what is written is as long as was meant."""

import pytest

import rhythm
from rhythm.writing import proven
from tests.markup import backup, note, partwise

QUARTERS = note("C4", 4, "quarter") * 2
ENDS = {
    "a rest beside a note that stops": note("rest", 8, "half")
    + backup(8)
    + note("C4", 4, "quarter", voice="2"),
    "a whole-bar rest beside a note that stops": note("bar", 8)
    + backup(8)
    + note("C4", 4, "quarter", voice="2"),
    "a hidden rest behind a note": note("C4", 4, "quarter")
    + note("rest", 4, "quarter", attributes='print-object="no"'),
    "hidden notes past the bar": note("C4", 8, "half")
    + backup(8)
    + note("rest", 12, "half", dots=1, voice="2", attributes='print-object="no"'),
    "half a bar": note("C4", 4, "quarter"),
}


@pytest.mark.parametrize("end", ENDS.values(), ids=ENDS)
def test_a_score_with_such_a_last_bar_goes_through_every_way(end: str) -> None:
    score = rhythm.read(
        partwise(QUARTERS, end, divisions=4).replace(b"<beats>4", b"<beats>2"), name="song"
    )
    for made in (
        rhythm.restate(score, to="compound"),
        rhythm.restate(score, to="5/4"),
        rhythm.faircopy(score),
        rhythm.rebar(score, to="3/4"),
        rhythm.group(score, "3", show="accents"),
    ):
        again = rhythm.read(proven(made))
        assert [bar.length for bar in again.bars] == [bar.length for bar in made.bars]
