"""Scores that other programs really export, or leave half done, come out whole or are refused.

Each row stood for a file on which a verb broke off with an error of its own. What is expected is
common practice, no source.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest

import rhythm
from rhythm.exact.errors import MusicError
from rhythm.score.model import Score
from rhythm.writing import proven
from tests.markup import backup, note, partwise

HIDDEN = 'print-object="no"'
START = '<tuplet type="start" number="1" bracket="no"/>'
OPEN_TUPLET = (
    backup(48) + note("A3", 4, "16th", ratio="3:2", inside=START, beams="begin,begin")
)  # fmt: skip
UNBRACKETED = (
    note("A2", 4, "quarter", ratio="3:2")
    + note("B2", 2, "eighth", ratio="3:2")
    + note("C3", 2, "eighth", ratio="3:2") * 3
    + note("D3", 3, "eighth") * 4
)


def _without_metre(*bars: str, divisions: int = 1) -> bytes:
    """A score of bars without any signature."""
    made = "".join(f'<measure number="{i}">{bar}</measure>' for i, bar in enumerate(bars, 1))
    made = made.replace(">", f"><attributes><divisions>{divisions}</divisions></attributes>", 1)
    return (
        '<score-partwise version="4.0"><part-list><score-part id="P1"><part-name>Piano</part-name>'
        f'</score-part></part-list><part id="P1">{made}</part></score-partwise>'
    ).encode()


# Two notes begin together in one voice, one of them hidden; both reach over many new bars.
OVERLAPPING = _without_metre(
    note("D5", 16) + note("F5", 8) + backup(24) + note("E5", 20, attributes=HIDDEN)
)
# A rest ends inside the last bar, where another voice has a note.
REST_THEN_NOTE = _without_metre(note("rest", 16) + note("D5", 1, "quarter", voice="3"))
NO_DURATION = partwise("", "", note("rest"), divisions=1)


def _written(score: Score) -> Score:
    return rhythm.read(proven(score))


def _sounds(score: Score) -> list[tuple[str, str]]:
    return sorted(
        (str(event.duration), str(event.pitches[0]))
        for voice in score.parts[0].voices
        for event in voice.events
        if event.pitches
    )


@pytest.mark.parametrize("data", [OVERLAPPING, REST_THEN_NOTE], ids=["overlapping", "rest"])
def test_rebarred_notes_of_overlapping_voices_keep_their_values(data: bytes) -> None:
    score = rhythm.read(data)
    written = _written(rhythm.rebar(score, "5/8"))
    assert _sounds(written) == _sounds(score)
    assert {str(bar.length) for bar in written.bars} == {"5/8"}


@pytest.mark.parametrize(
    "verb",
    [
        rhythm.faircopy,
        lambda score: rhythm.tuplet(score, ratio="3:2"),
        lambda score: rhythm.restate(score, "compound"),
    ],
    ids=["copied out", "in tuplets", "in compound time"],
)
def test_a_note_without_a_duration_is_given_none(verb: Callable[[Score], Score]) -> None:
    made = proven(verb(rhythm.read(NO_DURATION)))
    assert b"<duration>0<" not in made


def test_a_bracket_beside_unmarked_triplets_is_written_and_read_again() -> None:
    written = _written(rhythm.restate(rhythm.read(partwise(UNBRACKETED, divisions=6)), "triplets"))
    first = written.parts[0].voices[0].events[0].pieces[0].tuplets
    assert [(each.actual, each.normal, each.bracket) for each in first] == [(3, 2, True)]


def test_a_fault_that_another_fault_hid_is_laid_to_its_bar_of_the_music() -> None:
    score = rhythm.read(_without_metre(OPEN_TUPLET, "", divisions=24))
    said = (
        r"part P1, bar 1: does not add up to begin with "
        r"\(a backup goes before the start of the bar\), "
        "and came out with another fault: a tuplet stops midway.*; mend the score first"
    )
    with pytest.raises(MusicError, match=said):
        proven(rhythm.faircopy(score))


def test_a_sheet_of_a_theme_without_a_metre_adds_up_behind_drills_in_one() -> None:
    theme = rhythm.read(_without_metre(note("A4", 4), note("A4", 4, "half")))
    sheet = rhythm.exercises(theme)
    assert len({bar.metre for bar in sheet.score.bars}) > 1
    assert len(_written(sheet.score).bars) == len(sheet.score.bars)


@pytest.mark.parametrize("device", ["augmentation", "euclidean:5:16 1/16"])
def test_a_duration_where_none_belongs_stays_as_it_is(device: str) -> None:
    sound = '<sound tempo="120"><duration>16</duration></sound>'
    whole = note("C4", 16, "whole")
    score = rhythm.read(partwise(sound + whole, whole))
    assert b"<duration>16</duration></sound>" in proven(rhythm.vary(score, device))


def test_a_fault_of_the_music_may_stand_again_in_its_mirror_image() -> None:
    half = note("C4", 8, "half")
    up, short = note("G4", 2, "eighth"), note("D4", 2, "eighth")
    score = rhythm.read(partwise(up, short, half, half, time="2/4"))
    mirrored = _written(rhythm.vary(score, "palindrome"))
    assert [str(bar.length) for bar in mirrored.bars][-2:] == ["1/8", "1/8"]


@pytest.mark.parametrize(
    "verb",
    [lambda score: rhythm.vary(score, "palindrome"), lambda score: rhythm.restate(score, "2/4")],
    ids=["mirrored", "restated"],
)
def test_a_bar_that_part_of_a_tuplet_fills_is_laid_to_the_music(
    verb: Callable[[Score], Score],
) -> None:
    score = rhythm.read(partwise(note("C4", 40, "whole"), note("D4", 1), divisions=10))
    with pytest.raises(MusicError, match="bar 2 has a length that only part of a tuplet fills"):
        proven(verb(score))
