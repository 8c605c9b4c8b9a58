"""Tasks: what the pupil sees lacks just what is asked for, and the key has it."""

from __future__ import annotations

from pathlib import Path

import pytest
from gmpy2 import mpq

from rhythm.check.ledger import check
from rhythm.exact.errors import MusicError, RequestError
from rhythm.formats import read
from rhythm.formats.musicxml.saving import proven
from rhythm.practice.sheet_layout import alone, lone_part
from rhythm.practice.task import hand_of
from rhythm.practice.tasks import TASKS, set_task
from rhythm.score.concatenation import extract
from rhythm.score.model import Score
from tests.tiny import melody

ROOT = Path(__file__).parents[2]
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
    assert task.answer == (
        "6/8. 3/4 lasts as long, but the beams and values show 2 dotted quarter beats."
    )
    assert not [mark for mark in alone("", task.pupil).parts[0].marks if mark.metronome]
    assert set_task("signature", melody("C", "1/2 1/2", "1")).answer.startswith("C, which is 4/4.")


def test_an_upbeat_and_the_bar_that_completes_it_lack_nothing() -> None:
    tune = melody("4/4", "1/8 1/8", "1/4 1/4 1/4 1/4", "1/4 1/4 1/4", upbeat=True)
    assert all(set_task("fill", tune, seed=n).answer == "Bar 1: quarter." for n in range(4))


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
    assert task.answer.startswith(f"Bar {wrong[0].number} is ")
    assert not check(written(task.pupil)).is_right
    assert check(written(task.key)).is_right


def test_lines_to_write_on_stand_under_what_is_counted() -> None:
    task = set_task("syllables", TUNE, system="takadimi")
    lines = [e.additions for _, _, e in task.pupil.events() if e.additions]
    assert len(lines) == 16
    assert b"<text>ta</text>" not in proven(alone("", task.pupil))
    assert visible(task.key) == visible(task.pupil) == visible(TUNE)


@pytest.mark.parametrize("kind", ["fill", "mistakes"])
@pytest.mark.parametrize("seed", range(3))
def test_of_two_hands_the_one_with_the_rhythm_is_asked_about(kind: str, seed: int) -> None:
    piano = read(ROOT / "examples/ferry-steps.musicxml")
    theme = extract(lone_part(piano, 0), 0, 3)
    task = set_task(kind, theme, seed=seed)
    (voice, where) = hand_of(theme)
    assert where in task.asks
    pupil, key = written(task.pupil), written(task.key)
    assert check(key).is_right
    others = {v.name for v in theme.parts[0].voices} - {voice.name}
    assert others
    for name in others:
        assert strokes(pupil, name) == strokes(key, name)
    assert strokes(pupil, voice.name) != strokes(key, voice.name)


def strokes(score: Score, voice: str) -> list[tuple[int, mpq, mpq]]:
    """What a voice has: the bar, how long after its start, how long."""
    return [
        (e.bar, e.onset - score.bars[e.bar].start, e.duration)
        for _, v, e in score.events() if v.name == voice and e.visible and not e.is_rest
    ]  # fmt: skip


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
