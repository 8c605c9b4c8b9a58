"""A fair copy sounds the same and is written as a copyist would."""

from pathlib import Path

import pytest

from rhythm import check, faircopy, read
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
