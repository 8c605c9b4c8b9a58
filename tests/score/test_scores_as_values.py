"""A score is a value: equal where all in it is, copied and pickled whole, said in few lines."""

import copy
import pickle
from collections.abc import Callable
from pathlib import Path

import pytest

import rhythm
from rhythm.score.model import Score
from tests.formats.test_edits import CHANGES
from tests.formats.test_edits import THREE as PLAIN
from tests.formats.test_proof import PIECE

EXAMPLES = sorted((Path(__file__).parents[2] / "examples").glob("*.musicxml"))


def test_two_readings_of_one_file_are_equal_and_hash_alike() -> None:
    for data in (PIECE, *EXAMPLES):
        one, other = rhythm.read(data), rhythm.read(data)
        assert one is not other and one == other and hash(one) == hash(other)


@pytest.mark.parametrize("edit", [edit for edit, _ in CHANGES.values()], ids=CHANGES)
def test_a_score_that_was_edited_is_not_equal_any_more(edit: Callable[[Score], Score]) -> None:
    assert edit(rhythm.read(PLAIN)) != rhythm.read(PLAIN)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        (b">la<", b">li<"),
        (b"<accent/>", b"<tenuto/>"),
        (b'<slur type="start" number="1"', b'<slur type="start" number="2"'),
        (b"<f/>", b"<ff/>"),
        (b">dolce<", b">forte<"),
        (b'<grace slash="yes"/>', b"<grace/>"),
        (b"<fifths>2", b"<fifths>1"),
        (b"<accidental>sharp</accidental>", b""),
        (b"light-heavy", b"light-light"),
        (b"<root-step>C", b"<root-step>D"),
        (b"<part-name>P1", b"<part-name>P2"),
    ],
)
def test_what_notes_and_marks_carry_counts_for_equality(old: bytes, new: bytes) -> None:
    assert old in PIECE
    assert rhythm.read(PIECE) != rhythm.read(PIECE.replace(old, new, 1))


def test_layout_of_the_file_does_not_count() -> None:
    spread = PIECE.replace(b"><", b">\n  <").replace(b"<note>", b'<note default-x="7">')
    assert rhythm.read(PIECE) == rhythm.read(spread)


def test_a_value_is_its_own_copy() -> None:
    score = rhythm.read(PIECE)
    assert copy.copy(score) is copy.deepcopy(score) is score
    assert copy.deepcopy([score.parts[0].voices[0].events[0]])[0].notes


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_a_pickled_score_comes_back_equal_and_is_written_with_the_same_bytes(
    path: Path, tmp_path: Path
) -> None:
    for score in (rhythm.read(path), rhythm.restate(path, to="compound", bars="2-3")):
        again = pickle.loads(pickle.dumps(score))
        assert again == score and again is not score
        for each, name in ((score, "one.musicxml"), (again, "two.musicxml")):
            rhythm.write(each, tmp_path / name, force=True)
        one, two = (tmp_path / name for name in ("one.musicxml", "two.musicxml"))
        assert one.read_bytes() == two.read_bytes()


def test_a_score_says_what_it_is_in_at_most_three_lines() -> None:
    said = repr(rhythm.read(EXAMPLES[0]))
    assert said.count("\n") < 3 and max(map(len, said.splitlines())) <= 100
    assert said.startswith("<Score 'Ferry Steps': 17 bars in 2/4")


def test_the_title_is_read_and_a_new_one_written(tmp_path: Path) -> None:
    score = rhythm.read(EXAMPLES[0])
    assert score.title == "Ferry Steps"
    for title in ("Over & Back", ""):
        out = tmp_path / "out.musicxml"
        rhythm.write(score.replace(title=title), out, force=True)
        assert rhythm.read(out).title == title
