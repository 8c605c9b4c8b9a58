"""A fair copy sounds the same and is written as a copyist would."""

from pathlib import Path

import pytest

from rhythm import Metre, check, faircopy, read
from rhythm.formats.musicxml.saving import proven
from tests.tiny import melody, written

EXAMPLES = sorted((Path(__file__).parent.parent / "examples").glob("*.musicxml"))


@pytest.mark.parametrize("keep", [False, True], ids=["afresh", "keeping"])
@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_a_fair_copy_of_a_theme_changes_no_written_value(path, keep):
    score = read(path)
    copy = faircopy(score, keep=keep)
    assert check(copy).is_right
    again = read(proven(copy))
    for part, other in zip(score.parts, again.parts, strict=True):
        for index in range(len(part.voices)):
            assert written(score, index) == written(again, index)
        assert len(part.marks) == len(other.marks)


def test_a_note_that_hides_the_middle_of_the_bar_is_split_there():
    # Gould, Behind Bars; Read, Music Notation (from memory): the middle of 4/4 is shown.
    copy = faircopy(melody("4/4", "1/4 5/8 1/8"))
    assert written(copy) == "quarter quarter~ quarter. eighth"


def test_a_file_whose_metre_has_no_note_value_for_unit_is_still_read_and_copied():
    notes = "".join(
        f"<note><pitch><step>G</step><octave>4</octave></pitch><duration>{ticks}</duration>"
        f"<voice>1</voice><type>{kind}</type></note>"
        for ticks, kind in ((4, "quarter"), (2, "eighth"), (2, "eighth"), (4, "quarter"))
    )
    time = "<time><beats>9</beats><beat-type>12</beat-type></time>"
    score = read(
        (
            '<score-partwise version="4.0"><part-list><score-part id="P1"><part-name>V</part-name>'
            '</score-part></part-list><part id="P1"><measure number="1"><attributes>'
            f"<divisions>4</divisions>{time}</attributes>{notes}</measure></part></score-partwise>"
        ).encode()
    )
    assert check(score).is_right
    copy = faircopy(score)
    assert written(copy) == "quarter eighth eighth quarter"
    assert time.encode() in proven(copy)


def test_a_fault_under_such_a_metre_is_told_in_note_values():
    from rhythm.check.words import simplest_metre

    odd = Metre.from_signature([("3", "9")])
    assert str(simplest_metre(odd.length * 9 / 4, odd)) == "3/4"
