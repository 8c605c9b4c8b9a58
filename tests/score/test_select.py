"""Which bars, part and voice a request means, and what is said where there are none such."""

import json
import pickle
import re
from pathlib import Path
from typing import Any

import pytest

import rhythm
from rhythm.exact.errors import RequestError
from rhythm.formats.musicxml.write.score_writer import to_bytes
from rhythm.score.select import Bars, select

EXAMPLES = Path(__file__).parents[2] / "examples"
SONG = rhythm.read(EXAMPLES / "lantern-song.musicxml")
STEPS = rhythm.read(EXAMPLES / "ferry-steps.musicxml")


@pytest.mark.parametrize(
    ("text", "numbers"),
    [
        ("5", "5"),
        ("3-5", "3 4 5"),
        ("-2", "1 2"),
        ("12-", "12 13 14"),
        (" 2 , 4-5 ", "2 4 5"),
    ],
)
def test_bars_go_by_the_number_that_is_printed(text: str, numbers: str) -> None:
    chosen = select(SONG, bars=text).bars
    assert chosen is not None
    assert [SONG.bars[place].number for place in chosen] == numbers.split()


def test_every_verb_takes_the_bars_that_a_step_before_gave() -> None:
    value = select(SONG, bars="3-4").bars
    assert value == Bars.run(2, 3)
    for verb in (
        lambda bars: rhythm.restate(SONG, "compound", bars=bars),
        lambda bars: rhythm.rebar(SONG, "3/4", bars=bars),
        lambda bars: rhythm.group(SONG, "5", bars=bars),
        lambda bars: rhythm.tuplet(SONG, "3:2", bars=bars),
        lambda bars: rhythm.vary(SONG, "swing", bars=bars),
    ):
        assert verb(value) == verb("3-4")
    assert rhythm.check(SONG, bars=value).rows == rhythm.check(SONG, bars="3-4").rows


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        ({"bars": "99"}, "there is no bar '99'; bars run from 1 to 14"),
        ({"bars": "8-5"}, "the range of bars ends at 5, before it begins"),
        ({"bars": 5}, "cannot be 5; bars as printed, in quotes: '5', '5-8' or '5-8,12'"),
        ({"bars": [4, 5]}, "cannot be [4, 5]; bars as printed, in quotes"),
        ({"bars": Bars.run(12, 20)}, "the bars lie outside the score; it has 14 bars"),
        ({"part": "voise"}, "there is no part 'voise'; did you mean Voice? there is only Voice"),
        ({"part": 1}, "part of check cannot be 1; a part's name or id, in quotes"),
        ({"voice": "9"}, "there is no voice '9'; there is only 1"),
    ],
)
def test_one_wording_says_what_there_is_whatever_the_verb(
    asked: dict[str, object], said: str
) -> None:
    verbs = [rhythm.check]
    if "bars" in asked:
        verbs += [
            lambda song, **narrowed: rhythm.vary(song, "swing", **narrowed),
            lambda song, **narrowed: rhythm.restate(song, "compound", **narrowed),
            lambda song, **narrowed: rhythm.rebar(song, "3/4", **narrowed),
            lambda song, **narrowed: rhythm.tuplet(song, "3:2", **narrowed),
        ]
    for verb in verbs:
        with pytest.raises(RequestError, match=re.escape(said)):
            verb(SONG, **asked)


def test_parts_of_one_name_are_told_apart_by_their_ids() -> None:
    first = STEPS.parts[0]
    twins = STEPS.replace(parts=(first, first.replace(id="P2")))
    with pytest.raises(RequestError, match=re.escape(f"{first.name} (P1), {first.name} (P2)")):
        rhythm.check(twins, part="Tuba")
    assert select(twins, part="P2").parts == (1,)
    assert select(twins, part=first.name).parts == (0, 1)


def test_a_verb_gives_the_score_alone_or_all_that_came_of_it() -> None:
    done = rhythm.rebar.outcome(SONG, "3/4", bars="7-9")
    assert done.score == rhythm.rebar(SONG, "3/4", bars="7-9")
    assert done.passage == Bars.run(6, 9)
    assert str(done.report).startswith("3 bars of 4/4 became 4 of 3/4")
    told = done.report.to_dict()
    assert told["line"] == str(done.report)
    assert json.loads(json.dumps(told))["redrawn"] == [3, "4/4", 4, "3/4"]


@pytest.mark.parametrize(
    ("verb", "arguments", "why"),
    [
        (rhythm.rebar, ("4/4",), "the bars are of 4/4 already"),
        (rhythm.vary, ("straightening",), "straightening finds nothing here to work on"),
    ],
)
def test_where_there_is_nothing_to_do_the_score_comes_back_as_it_was(
    verb: Any, arguments: tuple[str, ...], why: str
) -> None:
    song = rhythm.read(EXAMPLES / "lantern-song.musicxml")
    done = verb.outcome(song, *arguments)
    assert str(done.report).startswith(f"nothing to change: {why}")
    assert done.report.to_dict()["changed"] is False
    assert to_bytes(done.score) == (EXAMPLES / "lantern-song.musicxml").read_bytes()


def test_verbs_can_be_handed_to_other_processes() -> None:
    for verb in (rhythm.vary, rhythm.tuplet, rhythm.rebar):
        handed = pickle.loads(pickle.dumps(verb))
        assert handed.__name__.endswith(("vary", "tuplet", "rebar"))


def test_bars_with_a_gap_between_them_are_no_passage():
    from tests.tiny import melody

    score = melody("4/4", "1", "1", "1")
    with pytest.raises(RequestError, match="have gaps between them"):
        _ = select(score, bars="1,3").run
    assert select(score, bars="1-2").run == (0, 1)
