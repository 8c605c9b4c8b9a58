"""Steps to the hard spot: the hardest bar is found, and one named thing is new in each."""

from __future__ import annotations

from itertools import pairwise

import pytest
from gmpy2 import mpq

import rhythm
from rhythm.check.ledger import check
from rhythm.exact.errors import MusicError, RequestError
from rhythm.practice.difficulty import difficulty
from rhythm.practice.exercises import exercises
from rhythm.practice.sheet_layout import alone
from rhythm.practice.sheet_plan import parse_plan
from rhythm.practice.steps import hardest_bar, steps
from rhythm.score.model import Score
from rhythm.writing import proven
from tests.tiny import durations, melody

# Theme and what is new step by step. common practice, no source.
WORKED = {
    "a tie over the beat": (
        melody("4/4", "1/4 1/4 1/2", "1/4 1/8 3/8 1/4", "1/4 1/4 1/2"), 1,
        ["two eighths", "a tie over beat 3", "the bar before it", "the bar after it"],
    ),
    "a syncopation": (
        melody("4/4", "1/4 1/4 1/2", "1/8 1/4 1/8 1/4 1/4", "1/4 1/4 1/2"), 1,
        ["two eighths", "two eighths on beat 2 too", "a quarter held over beat 2",
         "the bar before it", "the bar after it"],
    ),
    "sixteenths by way of eighths": (
        melody("2/4", "1/4 1/4", "1/4 1/16 1/16 1/16 1/16", "1/2"), 1,
        ["two eighths", "four sixteenths", "the bar before it", "the bar after it"],
    ),
    "a triplet": (
        melody("2/4", "1/4 1/4", "1/12 1/12 1/12 1/4", "1/2"), 1,
        ["the beats of the bar", "a triplet", "the bar before it", "the bar after it"],
    ),
    "a rest on the beat": (
        melody("4/4", "1/4 1/4 1/4 1/4", "r1/8 1/8 3/8 1/8 1/4", "1/1"), 1,
        ["two eighths", "a rest on beat 1", "a dotted quarter", "the bar before it",
         "the bar after it"],
    ),
}  # fmt: skip


def new_things(theme: Score, most: int = 6) -> list[str]:
    return [step.new for step in steps(theme, most)[1]]


@pytest.mark.parametrize("name", WORKED)
def test_each_step_adds_one_thing_that_is_named(name: str) -> None:
    theme, index, expected = WORKED[name]
    assert hardest_bar(theme) == index
    assert new_things(theme) == expected


@pytest.mark.parametrize("name", WORKED)
def test_a_step_has_what_is_known_and_then_the_new_thing_and_leads_to_the_bar(name: str) -> None:
    theme, index, _ = WORKED[name]
    _, found = steps(theme)
    written = [rhythm.read(proven(alone("", step.score))) for step in found]
    assert all(len(score.bars) == 2 and check(score).is_right for score in written)
    made = [durations(score).split(" | ") for score in written]
    built = [
        bars for step, bars in zip(found, made, strict=True) if not step.new.startswith("the bar ")
    ]
    for step, (known, new) in zip(found, built, strict=False):
        assert (known == new) == step.new.startswith("the beats ")
    for before, after in pairwise(built):
        if before[0] != before[1]:
            assert after[0] == before[1]
    assert built[-1][1] == durations(theme).split(" | ")[index]


@pytest.mark.parametrize("name", WORKED)
def test_steps_grow_harder_bar_by_bar(name: str) -> None:
    theme, _, _ = WORKED[name]
    _, found = steps(theme)
    built = [step.score for step in found if not step.new.startswith("the bar ")]
    levels = [difficulty(score).exact for score in built]
    assert levels == sorted(levels)


def test_of_many_things_the_last_six_are_kept() -> None:
    theme = melody("4/4", "1/4 1/4 1/2", "3/16 1/16 1/16 1/8 1/16 1/12 1/12 1/12 r1/8 1/8", "1/1")
    found = new_things(theme)
    assert 4 <= len(found) <= 6
    assert found[-1] == "the bar before it"
    assert len(new_things(theme, 4)) == 4


def test_beats_alone_are_no_hard_spot() -> None:
    with pytest.raises(MusicError, match="nothing but beats"):
        steps(melody("4/4", "1/4 1/4 1/4 1/4"))
    with pytest.raises(MusicError, match="no bar has a hard spot"):
        steps(melody("4/4", "1/1"))


def test_a_sheet_of_steps_shows_the_bars_around_the_spot_and_keeps_its_order() -> None:
    theme = melody("4/4", *["1/4 1/4 1/2"] * 6, "1/4 1/8 3/8 1/4", "1/1")
    sheet = exercises(theme, steps=6, count="numbers", proof=proven)
    assert len(sheet.theme.score.bars) == 4
    assert [each.heading for each in sheet.exercises] == [
        "To bar 3, step 1. New: two eighths",
        "To bar 3, step 2. New: a tie over beat 3",
        "To bar 3, step 3. New: the bar before it",
        "To bar 3, step 4. New: the bar after it",
    ]
    assert "bar 3 of the theme, printed 7, is the hardest" in sheet.exercises[0].arithmetic
    assert sheet.left_out == ()


def test_steps_are_asked_for_in_a_plan_or_by_a_number() -> None:
    theme = WORKED["a syncopation"][0]
    plan = parse_plan("[[exercise]]\nsteps = 4\n[[exercise]]\nvary = 'reduction'")
    found = [each.recipe.verb for each in exercises(theme, plan).exercises]
    assert found == ["vary", "steps", "steps", "steps", "steps"]
    with pytest.raises(RequestError, match="a whole number from 4 to 6"):
        parse_plan("[[exercise]]\nsteps = 9")
    with pytest.raises(RequestError, match="7 steps to the hard spot; 4 to 6"):
        exercises(theme, steps=7)
    with pytest.raises(RequestError, match="a plan and steps at once"):
        exercises(theme, plan, steps=4)


def test_the_notes_of_a_step_are_those_of_the_bar() -> None:
    theme = WORKED["a syncopation"][0]
    _, found = steps(theme)
    pitches = {pitch for _, _, event in found[2].score.events() for pitch in event.pitches}
    bar = {
        pitch for _, _, event in theme.events() for pitch in event.pitches
        if mpq(1) <= event.onset < 2
    }  # fmt: skip
    assert pitches == bar
