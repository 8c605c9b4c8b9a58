"""Hidden rests that fill up short bars, as many exports of folk tunes have them, are no music."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from lxml import etree

from rhythm.check.ledger import check
from rhythm.formats.musicxml.read.score_reader import read
from rhythm.formats.musicxml.saving import proven
from rhythm.rebar.rebar import rebar
from rhythm.score.model import Score
from rhythm.verbs import tuplet, vary
from tests.markup import backup, note, partwise
from tests.tiny import written


def quarters(*pitches: str) -> str:
    return "".join(note(f"{pitch}4", 4, "quarter") for pitch in pitches)


def unseen(duration: int, type: str, dots: int = 0) -> str:
    return note("rest", duration, type, dots=dots, attributes='print-object="no"')


PHRASES = (
    quarters(*"CDEF"), quarters(*"GAB") + unseen(4, "quarter"), quarters(*"CDEF"),
    quarters(*"GAB") + unseen(4, "quarter"),
)  # fmt: skip
TUNES = {
    "filled after the upbeat": partwise(quarters("G") + unseen(12, "half", 1), *PHRASES),
    "filled before the upbeat": partwise(unseen(12, "half", 1) + quarters("G"), *PHRASES),
    "filled in a second voice": partwise(
        *PHRASES[:2],
        quarters(*"CDEF")
        + backup(16)
        + unseen(12, "half", 1)
        + note("A4", 4, "quarter", voice="2"),
    ),
}
VERBS: dict[str, Callable[[Score], Score]] = {
    "rebar": lambda score: rebar(score, "3/4"),
    "tuplet": lambda score: tuplet(score, "3:2", unit="1/4"),
    "late": lambda score: vary(score, "displacement:1/8"),
    "early": lambda score: vary(score, "displacement:-1/8"),
    "retrograde": lambda score: vary(score, "retrograde"),
    "augmentation": lambda score: vary(score, "augmentation:4/3"),
}


@pytest.mark.parametrize("tune", TUNES)
@pytest.mark.parametrize("verb", VERBS)
def test_every_bar_adds_up_and_no_rest_is_hidden(tune: str, verb: str) -> None:
    score = read(TUNES[tune])
    result = read(proven(VERBS[verb](score)))
    assert [str(fault) for fault in check(result).faults] == []
    sounding = [event.pitches for _, _, event in score.events() if event.pitches]
    kept = [event.pitches for _, _, event in result.events() if event.pitches]
    assert sorted(map(str, kept)) == sorted(map(str, sounding))
    assert not any(event.hidden for _, _, event in result.events())


def test_a_bar_that_a_hidden_rest_fills_is_shown_with_a_rest_where_it_is_redrawn() -> None:
    result = read(proven(rebar(read(TUNES["filled after the upbeat"]), "3/4")))
    assert written(result).split(" | ")[:4] == [
        "quarter",
        *["quarter quarter quarter"] * 2,
        "quarter r:quarter quarter",
    ]


def test_hidden_rests_of_bars_outside_the_passage_stay_as_they_are() -> None:
    tune = TUNES["filled after the upbeat"]
    score = read(tune)
    before = [etree.tostring(bar, method="c14n") for bar in etree.fromstring(tune).iter("measure")]
    for changed in (rebar(score, "2/4", bars="4"), vary(score, "swing:2:1 1/4", bars="4")):
        after = [
            etree.tostring(bar, method="c14n")
            for bar in etree.fromstring(proven(changed)).iter("measure")
        ]
        assert after[:3] == before[:3]


@pytest.mark.parametrize("tune", TUNES.values(), ids=TUNES)
def test_a_device_that_finds_nothing_leaves_hidden_rests_where_they_are(tune: bytes) -> None:
    assert proven(vary(read(tune), "straightening")) == proven(read(tune))
