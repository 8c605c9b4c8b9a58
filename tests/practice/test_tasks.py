"""Tasks: what the pupil sees lacks just what is asked for, and the key has it."""

from __future__ import annotations

import pytest
from gmpy2 import mpq

from rhythm.check.ledger import check
from rhythm.exact.errors import MusicError, RequestError
from rhythm.formats import read
from rhythm.formats.musicxml.saving import proven
from rhythm.practice.sheet_layout import alone
from rhythm.practice.tasks import TASKS, set_task
from rhythm.score.model import Score
from tests.tiny import melody

TUNE = melody("4/4", "1/4 1/8 1/8 1/2", "3/8 1/8 1/4 1/4", "1/4 1/4 1/4 1/4", "1/8 1/8 1/4 1/2")
LILT = melody("6/8", "1/4 1/8 1/4 1/8", "3/8 1/8 1/8 1/8")


def written(score: Score) -> Score:
    return read(proven(alone("A task", score)))


def lengths(score: Score) -> list[mpq]:
    return [bar.length for bar in score.bars]


def visible(score: Score) -> list[tuple[mpq, mpq]]:
    return [(e.onset, e.duration) for _, _, e in score.events() if e.visible]


def test_bar_lines_are_taken_away_and_the_notes_stay() -> None:
    task = set_task("barlines", TUNE)
    pupil, key = written(task.pupil), written(task.key)
    assert [bar.right.style for bar in pupil.bars[:-1] if bar.right] == ["none"] * 3
    assert visible(pupil) == visible(key) == visible(TUNE)
    assert task.answer == "Every bar lasts a whole."


def test_the_signature_is_not_shown_and_others_that_would_do_are_named() -> None:
    task = set_task("signature", LILT)
    assert all(not bar.metre or not bar.metre.length for bar in written(task.pupil).bars)
    assert str(written(task.key).bars[0].metre) == "6/8"
    assert task.answer.startswith("6/8. 3/4 last as long; the beams and values show beats of")


@pytest.mark.parametrize("seed", range(4))
def test_a_gap_takes_one_value_and_no_other_fits(seed: int) -> None:
    task = set_task("fill", TUNE, seed=seed)
    pupil, key = written(task.pupil), written(task.key)
    missing = sorted(set(visible(key)) - set(visible(pupil)))
    assert len(missing) == 4
    assert lengths(pupil) == lengths(key)
    for bar in key.bars:
        left = bar.length - sum(d for o, d in visible(pupil) if bar.start <= o < bar.end)
        (gone,) = [d for o, d in missing if bar.start <= o < bar.end]
        assert left == gone


@pytest.mark.parametrize("seed", range(4))
def test_one_bar_in_four_is_wrong_and_the_key_says_which(seed: int) -> None:
    task = set_task("mistakes", TUNE, seed=seed)
    wrong = [bar for bar in written(task.pupil).bars if bar.length != 1]
    assert len(wrong) == 1
    assert task.answer.startswith(f"bar {wrong[0].number} is ")
    assert not check(written(task.pupil)).is_right
    assert check(written(task.key)).is_right


def test_lines_to_write_on_stand_under_what_is_counted() -> None:
    task = set_task("syllables", TUNE, system="takadimi")
    said = [e.additions for _, _, e in task.key.events() if e.additions]
    lines = [e.additions for _, _, e in task.pupil.events() if e.additions]
    assert len(said) == len(lines) == 16
    assert b"<text>ta</text>" not in proven(alone("", task.pupil))
    assert b"<text>ta</text>" in proven(alone("", task.key))


def test_beams_are_taken_away() -> None:
    task = set_task("beams", TUNE)
    assert b"<beam" not in proven(alone("", task.pupil))
    assert b"<beam" in proven(alone("", task.key))


def test_a_rhythm_is_written_in_another_metre_in_empty_bars() -> None:
    task = set_task("rewrite", LILT)
    pupil, key = written(task.pupil), written(task.key)
    assert [str(bar.metre) for bar in key.bars] == ["6/8", "6/8", "3/4", "3/4"]
    assert lengths(pupil) == lengths(key)
    assert visible(pupil) == visible(LILT)
    again = [(o - LILT.length, d) for o, d in visible(key) if o >= LILT.length]
    assert again == visible(LILT)


def test_the_same_seed_gives_the_same_task() -> None:
    for kind in TASKS:
        if kind != "rewrite":
            one, two = (set_task(kind, TUNE, seed=7) for _ in range(2))
            assert proven(alone("", one.pupil)) == proven(alone("", two.pupil))


def test_what_makes_no_task_is_refused() -> None:
    with pytest.raises(RequestError, match="no task 'sing'"):
        set_task("sing", TUNE)
    with pytest.raises(MusicError, match="one bar"):
        set_task("barlines", melody("4/4", "1/1"))
    with pytest.raises(MusicError, match="no bar has a value"):
        set_task("fill", melody("4/4", "1/1"))
    with pytest.raises(MusicError, match="beamed"):
        set_task("beams", melody("4/4", "1/2 1/2"))
