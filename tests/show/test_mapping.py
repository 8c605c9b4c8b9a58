"""The map of a transformation: where every note went, and the proof of every bar."""

from functools import partial
from pathlib import Path

import pytest
from gmpy2 import mpq

from rhythm import read, rebar, restate, tuplet, vary, write
from rhythm.practice.counting import syllables
from rhythm.show.mapping import columns, mapped
from rhythm.show.note_signs import pattern_signs, value_signs
from rhythm.show.proof_strip import proof
from tests.tiny import melody

EXAMPLES = Path(__file__).parents[2] / "examples"
NUMBERS = partial(syllables, system="numbers")


@pytest.fixture(scope="module")
def song():
    return read(EXAMPLES / "lantern-song.musicxml")


def test_a_thread_leads_from_a_note_to_its_image_with_both_values_and_counts(song):
    found = mapped(song, restate(song, "compound"), counting=NUMBERS)
    first, second = found.strands[:2]
    assert (first.before.event, first.after[0].event) == ("a0-0-0", "b0-0-0")
    assert (second.before.place, second.after[0].place) == ("2 &", "2 li")
    assert first.before.words == "dotted quarter"
    assert first.after[0].words == "dotted quarter tied to quarter"
    assert first.before.signs == "\ueca5\uecb7"
    assert first.after[0].signs == "\ueca5\uecb7‿\ueca5"
    assert first.before.pitch == "B"


@pytest.mark.parametrize(
    "verb",
    [
        lambda score: restate(score, "compound"),
        lambda score: restate(score, "9/8", by="beat"),
        lambda score: rebar(score, "7/8 7/8 5/8"),
        lambda score: vary(score, "retrograde"),
        lambda score: vary(score, "augmentation:2"),
        lambda score: tuplet(score, split=5, span="1/4"),
    ],
    ids=["restate", "beat by beat", "rebar", "retrograde", "augmentation", "split"],
)
def test_every_note_is_followed_through_every_verb(song, verb):
    made = verb(song)
    found = mapped(song, made)
    assert all(strand.after for strand in found.strands)
    for strand in found.strands:
        assert {strand.before.pitch} == {value.pitch for value in strand.after}
    assert not found.new


def test_a_retrograde_sends_the_first_note_of_a_section_to_its_end(song):
    found = mapped(song, vary(song, "retrograde"))
    assert found.strands[0].after[0].event != "b0-0-0"


def test_one_note_may_become_several(song):
    found = mapped(song, tuplet(song, split=5, span="1/4"))
    assert {1, 5} <= {len(strand.after) for strand in found.strands}


def test_two_scores_read_from_files_are_matched_by_their_pitches(song, tmp_path):
    write(restate(song, "compound"), tmp_path / "lilting.musicxml")
    found = mapped(song, read(tmp_path / "lilting.musicxml"))
    assert [strand.after[0].event[1:] for strand in found.strands] == [
        strand.before.event[1:] for strand in found.strands
    ]


def test_the_reason_of_a_move_is_asked_by_bar_and_offset():
    asked = []
    score = melody("4/4", "1/4 3/4", "1/2 1/2")

    def why(bar, offset):
        asked.append((bar, offset))
        return "moved" if bar else ""

    found = mapped(score, score, why=why)
    assert asked == [(0, 0), (0, mpq(1, 4)), (1, 0), (1, mpq(1, 2))]
    assert [strand.why for strand in found.strands] == ["", "", "moved", "moved"]


def test_bars_that_say_the_same_music_stand_in_one_column(song):
    lilting = restate(song, "compound")
    assert columns(song, lilting, mapped(song, lilting)) == [
        (range(i, i + 1), range(i, i + 1)) for i in range(14)
    ]
    score = melody("4/4", "1/2 1/2", "1/2 1/2", "1/1")
    poured = rebar(score, "2/4")
    assert columns(score, poured, mapped(score, poured)) == [
        (range(1), range(2)),
        (range(1, 2), range(2, 4)),
        (range(2, 3), range(4, 6)),
    ]


def test_bars_whose_lines_do_not_agree_stand_in_one_long_column():
    score = melody("4/4", *["1/4 1/4 1/4 1/4"] * 4)
    poured = rebar(score, "3/4")
    assert columns(score, poured, mapped(score, poured)) == [
        (range(3), range(4)),
        (range(3, 4), range(4, 6)),
    ]


def test_columns_hold_every_bar_once_whatever_was_done(song):
    for made in (
        vary(song, "retrograde"),
        rebar(song, "5/8"),
        restate(song, "12/8", bars="6-9", place="append"),
        restate(song, "12/8", bars="6-9", place="alone"),
    ):
        found = columns(song, made, mapped(song, made))
        assert [bar for ours, _ in found for bar in ours] == list(range(len(song.bars)))
        assert [bar for _, theirs in found for bar in theirs] == list(range(len(made.bars)))


def test_values_are_shown_as_signs():
    assert value_signs(mpq(3, 8)) == "\ueca5\uecb7"
    assert value_signs(mpq(1, 12)) == "\ueca7³"
    assert value_signs(mpq(5, 8)) == "\ueca3‿\ueca7"
    assert pattern_signs("‿1/8 1/16‿") == "‿\ueca7 \ueca9‿"


def test_the_strip_gives_the_gravest_verdict_of_a_bar(song):
    lilting = restate(song, "compound")
    found = proof(
        lilting,
        faults={2: ["an eighth short of 12/8"]},
        reasons={1: ["kept together with the alto"], 2: ["moved by 1/16"], 3: ["moved by 1/16"]},
        before=song,
        found=mapped(song, lilting),
        lines=["3 dotted figures became the plain long-short"],
    )
    assert [bar.verdict for bar in found.bars[:5]] == [
        "right", "together", "fault", "moved", "right",
    ]  # fmt: skip
    assert found.bars[2].says == "an eighth short of 12/8"
    assert found.bars[0].sum == "12/8"
    assert (found.notes_before, found.notes_after, found.faults) == (55, 55, 1)
    assert found.lines == (
        "3 dotted figures became the plain long-short",
        "all 55 notes of the source are there",
    )
    assert not any(bar.changed for bar in proof(song).bars)
    assert all(bar.changed for bar in found.bars)
