"""Tasks for the ear: near misses that are proven, dictation, and which did you hear."""

from __future__ import annotations

import pytest
from gmpy2 import mpq
from hypothesis import given
from hypothesis import strategies as st

import rhythm
from rhythm.check.ledger import check
from rhythm.exact.errors import MusicError, RequestError
from rhythm.practice.exercises import exercises
from rhythm.practice.near_misses import NEARNESS, Miss, near_misses
from rhythm.practice.sheet_layout import alone
from rhythm.practice.sheet_plan import parse_plan
from rhythm.practice.tasks import EARS, set_task
from rhythm.score.model import Score
from rhythm.writing import proven
from tests.corpus import music21_folder
from tests.schema import errors
from tests.tiny import durations, melody

TUNE = melody("4/4", "1/4 1/8 1/8 1/2", "3/8 1/8 1/4 1/4", "1/4 1/4 1/4 1/4", "1/8 1/8 1/4 1/2")
LILT = melody("6/8", "1/8", "1/4 1/8 1/4 1/8", "3/8 1/8 1/8 1/8", "3/8 1/4", upbeat=True)


def written(score: Score) -> Score:
    return rhythm.read(proven(alone("A task", score)))


def bars_of(score: Score) -> list[str]:
    return durations(score).split(" | ")


@pytest.mark.parametrize("theme", [TUNE, LILT], ids=["4/4", "6/8"])
@pytest.mark.parametrize("near", ["", *NEARNESS])
def test_a_near_miss_differs_in_one_bar_and_adds_up(theme: Score, near: str) -> None:
    before = bars_of(theme)
    found = near_misses(theme, 3, seed=5, near=near)
    for miss in found:
        after = bars_of(written(miss.score))
        other = [i for i, (a, b) in enumerate(zip(before, after, strict=True)) if a != b]
        assert other == [miss.bar]
        assert check(written(miss.score)).is_right
    assert len({tuple(bars_of(miss.score)) for miss in found} | {tuple(before)}) == 4


@given(st.integers(0, 10**6))
def test_near_misses_are_the_same_for_the_same_seed_and_from_clear_to_close(seed: int) -> None:
    found = near_misses(TUNE, 3, seed=seed)
    assert found == near_misses(TUNE, 3, seed=seed)
    assert [miss.near for miss in found] == list(NEARNESS)
    distances = [miss.distance for miss in found]
    assert distances == sorted(distances, reverse=True)


# Edits and how far they are from the music. common practice, no source.
def test_how_near_a_miss_is_follows_from_what_moved() -> None:
    pair = melody("2/4", "1/4 1/4")
    found = {miss.instead: (miss.distance, miss.near) for miss in every_miss(pair)}
    assert found == {
        "a dotted quarter and an eighth for two quarters": (mpq(1, 4), "middle"),
        "an eighth and a dotted quarter for two quarters": (mpq(1, 4), "middle"),
        "a half note for two quarters": (mpq(1, 4), "middle"),
        "two eighths for a quarter": (mpq(1, 8), "close"),
        "a quarter rest for a quarter": (mpq(1, 4), "middle"),
    }


def every_miss(score: Score) -> list[Miss]:
    """All there are, by asking for more and more."""
    found: tuple[Miss, ...] = ()
    for count in range(1, 30):
        try:
            found = near_misses(score, count)
        except MusicError:
            break
    return list(found)


@pytest.mark.parametrize("seed", range(4))
def test_a_dictation_shows_bar_lines_and_the_first_note(seed: int) -> None:
    task = set_task("dictation", TUNE, seed=seed)
    pupil, key = written(task.pupil), written(task.key)
    seen = [(e.onset, e.duration) for _, _, e in pupil.events() if e.visible]
    assert seen == [(mpq(0), mpq(1, 4))]
    assert [bar.length for bar in pupil.bars] == [bar.length for bar in key.bars]
    assert bars_of(key) == bars_of(TUNE)
    assert [name for name, _ in task.sounds] == ["play", "miss 1", "miss 2", "miss 3"]
    assert bars_of(task.sounds[0][1]) == bars_of(TUNE)
    assert errors(proven(alone("", task.pupil))) == []


def test_a_dictation_begins_with_its_upbeat() -> None:
    pupil = written(set_task("dictation", LILT).pupil)
    seen = [(e.onset, e.duration) for _, _, e in pupil.events() if e.visible]
    assert seen == [(mpq(0), mpq(1, 8))]


@pytest.mark.parametrize("seed", range(6))
def test_one_of_the_versions_is_played_and_the_key_says_which(seed: int) -> None:
    task = set_task("heard", TUNE, seed=seed)
    versions = dict(task.sounds)
    assert list(versions) == ["play", "a", "b", "c", "d"]
    letter = task.answer[0]
    assert task.answer.startswith(f"{letter} is played. ")
    assert bars_of(versions["play"]) == bars_of(versions[letter])
    true = task.answer[task.answer.index(". ") + 2]
    assert bars_of(versions[true]) == bars_of(TUNE)[:2]
    page = bars_of(written(task.pupil))
    assert page == [bar for name in "abcd" for bar in bars_of(versions[name])]
    words = [mark.source for mark in written(task.key).parts[0].marks if mark.kind == "direction"]
    assert sum(b"played" in proven(alone("", task.key)) for _ in words[:1]) == 1
    assert b"played" not in proven(alone("", task.pupil))


def test_not_always_the_music_itself_is_played() -> None:
    answers = [set_task("heard", TUNE, seed=seed).answer for seed in range(12)]
    assert len({text[0] for text in answers}) == 4
    assert len({text[0] == text[text.index(". ") + 2] for text in answers}) == 2


def test_music_that_makes_no_near_misses_is_refused() -> None:
    with pytest.raises(MusicError, match="near misses"):
        set_task("heard", melody("4/4", "1/1"))


def test_a_sheet_for_the_ear_goes_from_clear_to_close_and_does_not_show_the_theme() -> None:
    sheet = exercises(TUNE, listen=6, proof=proven)
    assert [each.recipe.task for each in sheet.exercises] == ["heard"] * 4 + ["dictation"] * 2
    assert [each.recipe.near for each in sheet.exercises[:4]] == [
        "clear", "clear", "middle", "close",
    ]  # fmt: skip
    assert [heading.split(".")[0] for heading, _ in sheet.sections] == list("123456")
    assert all(words for words in sheet.key_words)
    assert sheet.left_out == ()
    assert errors(proven(sheet.score)) == []
    with pytest.raises(RequestError, match="13 tasks for the ear; 1 to 12"):
        exercises(TUNE, listen=13)


def test_the_same_seed_gives_the_same_task_for_the_ear() -> None:
    for kind in EARS:
        one, two, other = (set_task(kind, TUNE, seed=seed) for seed in (3, 3, 4))
        assert proven(alone("", one.pupil)) == proven(alone("", two.pupil))
        assert one.answer == two.answer != other.answer


def test_how_near_is_said_in_a_plan() -> None:
    plan = parse_plan('[[exercise]]\ntask = "heard"\nnear = "close"')
    (made,) = exercises(TUNE, plan).exercises
    assert made.task is not None
    assert made.task.answer.count("(close)") == 3
    with pytest.raises(RequestError, match="did you mean close"):
        parse_plan('[[exercise]]\ntask = "heard"\nnear = "closer"')


@pytest.mark.parametrize("name", ["bach/bwv66.6.mxl", "ryansMammoth/AndrewCareysSlipjig.abc"])
def test_real_themes_make_tasks_for_the_ear(name: str) -> None:
    theme = rhythm.read(music21_folder() / "corpus" / name)
    sheet = exercises(theme, listen=3, proof=proven)
    assert len(sheet.exercises) == 3
    assert errors(proven(sheet.key)) == []


def test_of_two_hands_the_one_with_the_rhythm_is_played() -> None:
    sheet = rhythm.exercises("examples/ferry-steps.musicxml", listen=1)
    (heard,) = sheet.exercises
    assert sheet.notes == ("what is played is in the upper staff",)
    assert heard.task is not None
    for _, music in heard.task.sounds:
        assert len([voice for voice in music.parts[0].voices if voice.events]) == 1
