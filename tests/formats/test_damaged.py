"""Damaged exports are read as the page reads: types, ratios and a signature that add up.

Each damage is a small score close to the file (see tests/sheet.py), 480 divisions a quarter unless
said. What stands on the page beside it is common practice, no source.
"""

from __future__ import annotations

import re

import pytest
from gmpy2 import mpq

import rhythm
from rhythm.formats.files import load
from rhythm.formats.musicxml.read.score_reader import read
from rhythm.formats.musicxml.saving import proven
from rhythm.formats.musicxml.write.score_writer import to_bytes
from rhythm.score.model import Score
from tests.corpus import corpus_files, pick
from tests.sheet import bar, sheet
from tests.tiny import durations, written


@pytest.mark.parametrize(
    ("text", "length"),
    [("d30 n=29 n=30 n=30 n=30", "1"), ("d4 n=3 n=4 n=4 n=4", "15/16")],
    ids=["a tick of thirty", "a tick of four"],
)
def test_notes_without_a_type_end_their_bar_by_rounding_where_a_tick_is_small(text, length):
    bars = sheet(["w", text, "d480 w"]).bars
    assert [str(each.length) for each in bars] == ["1", length, "1"]


# A triplet of sixteenths whose bracket closes on the plain eighth behind it, so that all four fit
# into an eighth; the last three carry the ratio of a bracket in the bracket.
OVERRUN = "s:3/2[=171 s:9/4[=113 s:9/4=114 e:9/4]]={} q q q"
TRIPLET = "3:2(16th 16th 16th) eighth quarter quarter quarter | whole"

# What the file says (bars, divisions), what the page shows of it, voice by voice.
DAMAGED = {
    "a far backup that a forward repairs": (
        (["q q <400000 >400000 q q", "w"], 480), ["quarter quarter quarter quarter | whole"],
    ),
    "a far backup and a forward to the start": (
        (["q q q q <400000 >398080 v2 w", "w"], 480),
        ["quarter quarter quarter quarter | whole", "whole"],
    ),
    "a far backup that is repaired behind a voice": (
        (["q q <400000 v2 q q <960 >399040 v1 q q", "w"], 480),
        ["quarter quarter quarter quarter | whole", "quarter quarter"],
    ),
    "durations of twice the divisions": (
        (["q=960 q=960 q=960 q=960 <3840 v2 h=1920 h=1920", "q=960 q=960 h=1920"], 480),
        ["quarter quarter quarter quarter | quarter quarter half", "half half"],
    ),
    "a duration of half its type before another voice": (
        (["w", "q=240 q q q <1680 v2 w"], 480),
        ["whole | quarter quarter quarter quarter", "whole"],
    ),
    "a type of half its duration": (
        (["w", "q=480 e=480 h"], 480), ["whole | quarter quarter half"],
    ),
    "one wrong duration of two": (
        (["w", "q=240 h.=960 q"], 480), ["whole | quarter half quarter"],
    ),
    "a bracket closed on a plain eighth": ((([OVERRUN.format(114), "w"]), 1024), [TRIPLET]),
    "the same, with a shorter eighth": (([OVERRUN.format(57), "w"], 1024), [TRIPLET]),
    "the same, with an eighth below nothing": (([OVERRUN.format(-142), "w"], 1024), [TRIPLET]),
    "notes a tick beside their beats": (
        (["q q h <1920 v2 >481 q >479 q", "w"], 480),
        ["quarter quarter half | whole", "quarter quarter"],
    ),
    "triplets a tick beside their places": (
        (["w <4096 v2 >2049 e:3/2=341 e:3/2=342 e:3/2=341 q=1023", "w"], 1024),
        ["whole | whole", "3:2(eighth eighth eighth) quarter"],
    ),
    "a rest of no type that lasts what no rest can": (
        (["s:3/2 s:3/2 s:3/2 r=533 q q q", "w"], 480),
        ["3:2(16th 16th 16th) r:eighth quarter quarter quarter | whole"],
    ),
    "a rest of no type, as long as no rest is, behind a full bar": (
        (["q q q q r=41", "w"], 480), ["quarter quarter quarter quarter | whole"],
    ),
    "a hidden rest that reaches over the bar line": (
        (["w <1920 v2 h rh! rq!", "w"], 480), ["whole | whole", "half r:half"],
    ),
    "hidden rests that fill short bars": (
        (
            [
                bar("q rh.!", number="0", implicit=True), "w", bar("h. rq!", right=":|"),
                bar("q rh.!", left="|:"), "w", bar("h. rq!", right=":|"),
            ],
            480,
        ),
        ["quarter | whole | half. | quarter | whole | half."],
    ),
    "a cadenza twice as long as its metre": (
        (["w", "h h h h", "w"], 480), ["whole | half half half half | whole"],
    ),
    "cue notes past the bar line": (
        (["w", "w <960 v2 q? q? q? q?", "w"], 480),
        ["whole | whole | whole", "quarter quarter quarter quarter"],
    ),
    "hidden notes past the bar line": (
        (["w", "w q!", "w"], 480), ["whole | whole quarter | whole"],
    ),
}  # fmt: skip


def damaged(name: str) -> Score:
    bars, divisions = DAMAGED[name][0]
    return sheet(list(bars), divisions=divisions)


def pages(score: Score) -> list[str]:
    """What stands on the page once the score is written and read again, voice by voice."""
    again = read(proven(score))
    return [written(again, voice) for voice in range(len(again.parts[0].voices))]


@pytest.mark.parametrize("name", DAMAGED)
def test_a_damaged_score_makes_the_fair_copy_that_its_page_shows(name: str) -> None:
    assert pages(rhythm.faircopy(damaged(name))) == DAMAGED[name][1]


@pytest.mark.parametrize("name", DAMAGED)
def test_a_damaged_score_is_restated_as_its_page_would_be(name: str) -> None:
    """Read the fair copy and restate that, or restate the damaged score: the same.

    A bar that a restatement leaves as it was keeps its damage, so fair copies are compared.
    """
    score = damaged(name)
    sound = read(proven(rhythm.faircopy(score)))
    for to in ("compound", "triplets", "5/4"):
        one, other = (rhythm.faircopy(rhythm.restate(each, to=to)) for each in (score, sound))
        assert pages(one) == pages(other)


@pytest.mark.parametrize("name", DAMAGED)
def test_a_damaged_score_is_rebarred_and_grouped_as_its_page_would_be(name: str) -> None:
    score = damaged(name)
    sound = read(proven(rhythm.faircopy(score)))
    assert pages(rhythm.rebar(score, to="2/4")) == pages(rhythm.rebar(sound, to="2/4"))
    grouped = rhythm.group(score, "3")
    assert grouped.length == rhythm.group(sound, "3").length
    assert pages(rhythm.faircopy(read(proven(grouped)))) == DAMAGED[name][1]


@pytest.mark.parametrize("name", DAMAGED)
def test_twice_the_divisions_and_twice_the_durations_are_the_same_damage(name: str) -> None:
    score = damaged(name)
    again = read(doubled(to_bytes(score)), score.path)
    assert places(again) == places(score)
    assert said(again) == said(score)


def doubled(data: bytes) -> bytes:
    """The file with twice the divisions, and twice of all that is counted in them."""

    def twice(found: re.Match[bytes]) -> bytes:
        return found[1] + str(2 * int(found[2])).encode() + found[3]

    return re.sub(rb"(<(?:divisions|duration|offset)[^>]*>\s*)(-?\d+)(\s*<)", twice, data)


def places(score: Score) -> list[object]:
    return [
        [
            part.id,
            [(bar.length, bar.filled, bar.shift) for bar in part.bars],
            [(voice.name, voice.events) for voice in part.voices],
        ]
        for part in score.parts
    ]


def said(score: Score) -> list[tuple[str, str, str, bool, str]]:
    found = rhythm.check(score).findings
    return [(each.part, each.number, each.voice, each.is_fault, str(each)) for each in found]


ROUNDED = ("Lindenbaum", "opus41no1/movement1", "h186", "PMFC_24_17", "Con-Gran-Furor")


def test_twice_the_divisions_change_no_position_and_no_verdict_of_real_scores() -> None:
    files = [p for p in corpus_files() if any(name in str(p) for name in ROUNDED)]
    assert len(files) >= 5
    for path in (*files, *pick(25)):
        data, name = load(path)
        score, again = read(data, name), read(doubled(data), name)
        assert len(score.bars) > 1
        assert places(again) == places(score), path
        assert said(again) == said(score), path


def test_the_written_values_are_believed_where_the_other_parts_agree() -> None:
    """`corpus` PMFC_24_17: dotted quarters in 6/8 with the ticks of halves, at one division."""
    found = next(p for p in corpus_files() if "PMFC_24_17" in str(p))
    score = rhythm.read(found)
    assert {bar.length for bar in score.bars[2:5]} == {mpq(3, 4)}
    first = rhythm.check(score, bars="3", part="P3").findings[0]
    assert first.is_fault and "the written value is believed" in str(first)


@pytest.mark.parametrize(
    ("bars", "lengths"),
    [
        pytest.param("q=240 e q. e", "1/8 1/8 3/8 1/8", id="neither adds up: the durations"),
        pytest.param("q=240 q=240 e q", "1/8 1/8 1/8 1/4", id="more than one way: the durations"),
        pytest.param("q=240 e=480 q h", "1/8 1/8 1/4 1/2", id="one way only: that"),
        pytest.param("e=480 q=240 e h", "1/8 1/4 1/8 1/2", id="both add up: the written values"),
    ],
)
def test_what_is_believed_of_durations_that_contradict_their_types(bars: str, lengths: str) -> None:
    assert durations(sheet(["w", bars])).split("| ")[1] == lengths


def test_silence_fills_a_bar_in_the_middle_of_a_section() -> None:
    """No bar line says that the bar is short: the hidden rest is silence that is counted."""
    score = sheet(["w", "h. rq!", "w"])
    assert [bar.length for bar in score.bars] == [1, 1, 1]
    assert durations(score) == "1 | 3/4 r1/4 | 1"
