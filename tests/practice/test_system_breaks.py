"""Systems of a practice sheet hold what can be read, words included."""

from __future__ import annotations

from itertools import pairwise

import pytest

from rhythm.practice.exercises import exercises
from rhythm.practice.sheet_plan import parse_plan
from rhythm.practice.system_breaks import with_systems
from rhythm.score.model import Addition, Score
from tests.tiny import melody


def bars_of_systems(score: Score, starts: tuple[int, ...] = (0,)) -> list[int]:
    """How many bars stand on each system."""
    (part,) = with_systems(score, starts).parts
    breaks = [mark.bar for mark in part.marks if mark.kind == "print"]
    return [b - a for a, b in pairwise([0, *breaks, len(part.bars)])]


def with_words(score: Score, text: str) -> Score:
    (part,) = score.parts
    (voice,) = part.voices
    lyric = Addition("lyric", text, "1")
    events = tuple(event.replace(additions=(lyric,)) for event in voice.events)
    return score.replace(parts=(part.replace(voices=(type(voice)(voice.name, events),)),))


QUARTERS = "1/4 1/4 1/4 1/4"
EIGHTHS = " ".join(["1/8"] * 8)
DENSE = " ".join(["1/32"] * 32)


@pytest.mark.parametrize(
    ("bars", "expected"),
    [
        ([QUARTERS] * 8, [4, 4]),
        ([QUARTERS] * 5, [3, 2]),
        ([EIGHTHS] * 6, [3, 3]),
        ([QUARTERS] * 4 + [DENSE] + [QUARTERS] * 4, [4, 1, 4]),
        ([DENSE] * 3, [1, 1, 1]),
        ([QUARTERS], [1]),
    ],
    ids=["quarters", "five bars", "eighths", "one dense bar", "dense bars", "one bar"],
)
def test_a_system_holds_as_many_bars_as_have_room(bars: list[str], expected: list[int]) -> None:
    assert bars_of_systems(melody("4/4", *bars)) == expected


def test_words_take_room_by_their_length() -> None:
    tune = melody("4/4", *[QUARTERS] * 8)
    assert bars_of_systems(with_words(tune, "ta")) == [4, 4]
    assert bars_of_systems(with_words(tune, "through")) == [2, 2, 2, 2]


def test_an_upbeat_stands_on_the_system_of_the_bar_it_leads_to() -> None:
    tune = melody("4/4", "1/4", *[QUARTERS] * 8, upbeat=True)
    assert bars_of_systems(tune) == [5, 4]


def test_syllables_written_for_counting_are_given_room() -> None:
    sixteenths = " ".join(["1/16"] * 8) + " 1/2"
    tune = melody("4/4", *[sixteenths] * 4)
    plan = parse_plan('[[exercise]]\nvary = "reduction"')

    def first_break(count: str | None) -> int:
        marks = exercises(tune, plan, count=count).score.parts[0].marks
        return next(mark.bar for mark in marks if mark.kind == "print")

    assert first_break("kodaly") <= first_break(None)
    words = exercises(with_words(tune, "strength"), plan).score.parts[0].marks
    assert next(mark.bar for mark in words if mark.kind == "print") == 1
