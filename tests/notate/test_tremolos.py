"""A double tremolo is written as the one note it looks like, whatever is done to it.

Source: MusicXML (W3C community report on 4.0): each of the two notes has half its written
duration, with a 2:1 time-modification multiplied into any tuplet.
"""

from __future__ import annotations

import pytest
from lxml import etree

from rhythm import faircopy, read, rebar, tuplet, vary
from rhythm.formats.musicxml.saving import proven
from rhythm.score.model import Score
from tests.markup import note, partwise
from tests.tiny import durations, written


def pair(ticks: int, type: str, *, ratio: str = "2:1", dots: int = 0, beams: str = "") -> str:
    """C and E in turn, each sounding for ``ticks`` sixteenths."""
    ornament = '<ornaments><tremolo type="{}">3</tremolo></ornaments>'
    return "".join(
        note(
            pitch,
            ticks,
            type,
            ratio=ratio,
            dots=dots,
            beams=beams and word,
            inside=ornament.format(end),
        )
        for pitch, end, word in (("C4", "start", "begin"), ("E4", "stop", "end"))
    )


HALF = note("F4", 8, "half")
QUARTER = note("F4", 4, "quarter")
EIGHTH = note("F4", 2, "eighth")


def ends(score: Score) -> list[tuple[str, str, str]]:
    """Step, tremolo and ratio of every note that has a tremolo sign, as the file has them."""
    return [
        (found.findtext("pitch/step") or "", mark.get("type") or "", _ratio(found))
        for found in etree.fromstring(proven(score)).iter("note")
        for mark in found.iter("tremolo")
    ]


def _ratio(found: etree._Element) -> str:
    return ":".join(number.text or "" for number in found.iterfind("time-modification/*"))


VERBS = {
    "faircopy": faircopy,
    "faircopy --keep": lambda score: faircopy(score, keep=True),
    "rebar": lambda score: rebar(score, "3/4"),
    "vary by displacement": lambda score: vary(score, "displacement:1/8"),
}


@pytest.mark.parametrize("verb", VERBS.values(), ids=VERBS)
def test_a_double_tremolo_stays_double(verb):
    score = verb(read(partwise(pair(4, "half") + HALF)))
    assert "half half" in written(score)
    assert ends(score) == [("C", "start", "2:1"), ("E", "stop", "2:1")]


def test_a_tremolo_grows_with_its_notes():
    score = vary(read(partwise(pair(4, "half") + HALF)), "augmentation:2")
    assert written(score) == "whole whole | whole"
    score = vary(read(partwise(pair(4, "half") + HALF)), "diminution:2")
    assert written(score).startswith("quarter quarter quarter")


@pytest.mark.parametrize("what", ["retrograde", "retrograde:pitch"])
def test_a_tremolo_turned_round_starts_with_what_was_its_end(what):
    score = read(partwise(pair(4, "half") * 2))
    turned = vary(score, what)
    assert ends(turned) == [("E", "start", "2:1"), ("C", "stop", "2:1")] * 2
    assert ends(vary(turned, what)) == ends(score)


@pytest.mark.parametrize(
    ("music", "symbols"),
    [
        (pair(2, "quarter") * 4, " ".join(["quarter"] * 8)),
        (EIGHTH + pair(2, "quarter") + EIGHTH + HALF, "eighth quarter quarter eighth half"),
        (QUARTER + EIGHTH + pair(2, "quarter") + EIGHTH + QUARTER, "eighth quarter quarter eighth"),
        (pair(6, "half", dots=1) + QUARTER, "half. half. quarter"),
        (pair(1, "eighth") + EIGHTH + QUARTER + HALF, "eighth eighth eighth quarter half"),
    ],
    ids=[
        "beside others, whose beams it does not share",
        "about a beat",
        "about the middle of the bar, where a note would be tied",
        "dotted",
        "in eighths",
    ],
)
def test_a_pair_is_written_like_the_note_it_fills_the_time_of(music, symbols):
    copy = faircopy(read(partwise(music)))
    assert symbols in written(copy)
    assert {ratio for _, _, ratio in ends(copy)} == {"2:1"}


def test_tremolos_with_flags_have_a_beam_of_their_own():
    copy = faircopy(read(partwise(pair(1, "eighth") + EIGHTH + QUARTER + HALF)))
    beams = [event.pieces[0].beams for event in copy.parts[0].voices[0].events]
    assert beams == [("begin",), ("end",), (), (), ()]


def test_the_ratio_of_a_tremolo_is_multiplied_into_its_tuplet():
    score = tuplet(read(partwise(pair(4, "half") + HALF)), "3:2", unit="1/4")
    for copy in (score, faircopy(score)):  # either may say besides that the triplet is in quarters
        found = [(*end, ratio[:3]) for *end, ratio in ends(copy)]
        assert found == [("C", "start", "6:2"), ("E", "stop", "6:2")]


def test_two_notes_that_have_come_apart_are_single_notes():
    # 1/4 and 1/8 in turn are no tremolo: there is no one note that they fill the time of.
    score = vary(read(partwise(EIGHTH + EIGHTH + pair(4, "half") + QUARTER)), "rotation:1")
    assert durations(score) == "1/8 1/4 1/4 1/4 1/8"
    assert ends(score) == [("C", "start", "2:1"), ("E", "stop", "2:1")]
    score = vary(score, "rotation:1")
    assert durations(score) == "1/4 1/4 1/4 1/8 1/8"
    assert [ratio for _, _, ratio in ends(score)] == ["", ""]
