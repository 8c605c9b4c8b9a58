"""A fair copy sounds the same and is written as a copyist would."""

import re
from pathlib import Path

import pytest
from lxml import etree

import rhythm
from rhythm import Metre, check, faircopy, read, restate
from rhythm.formats.musicxml.saving import proven
from rhythm.score.model import Score
from tests.markup import note, partwise
from tests.sheet import sheet
from tests.tiny import melody, written

EXAMPLES = sorted((Path(__file__).parents[2] / "examples").glob("*.musicxml"))


@pytest.mark.parametrize("keep", [False, True], ids=["afresh", "keeping"])
@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_a_fair_copy_of_a_theme_changes_no_written_value(path, keep):
    """The carol is written in another edition's hand: its copy is made in that manner."""
    score = read(path)
    manner = "source" if path.stem == "reed-carol" else "house"
    copy = rhythm.faircopy(score, keep=keep, manner=manner)
    assert check(copy).is_right
    again = read(proven(copy))
    for part, other in zip(score.parts, again.parts, strict=True):
        for index in range(len(part.voices)):
            assert written(score, index) == written(again, index)
        assert len(part.marks) == len(other.marks)


def test_a_note_that_hides_the_middle_of_the_bar_is_split_there():
    # Gould, Behind Bars; Read, Music Notation (from memory): the middle of 4/4 is shown.
    copy = faircopy(melody("4/4", "1/4 5/8 1/8"))
    assert written(copy) == "quarter quarter~ quarter. eighth"


def test_a_file_whose_metre_has_no_note_value_for_unit_is_still_read_and_copied():
    notes = "".join(
        f"<note><pitch><step>G</step><octave>4</octave></pitch><duration>{ticks}</duration>"
        f"<voice>1</voice><type>{kind}</type></note>"
        for ticks, kind in ((4, "quarter"), (2, "eighth"), (2, "eighth"), (4, "quarter"))
    )
    time = "<time><beats>9</beats><beat-type>12</beat-type></time>"
    score = read(
        (
            '<score-partwise version="4.0"><part-list><score-part id="P1"><part-name>V</part-name>'
            '</score-part></part-list><part id="P1"><measure number="1"><attributes>'
            f"<divisions>4</divisions>{time}</attributes>{notes}</measure></part></score-partwise>"
        ).encode()
    )
    assert check(score).is_right
    copy = faircopy(score)
    assert written(copy) == "quarter eighth eighth quarter"
    assert time.encode() in proven(copy)


def test_a_fault_under_such_a_metre_is_told_in_note_values():
    from rhythm.exact.metre_of_length import simplest_metre

    odd = Metre.from_signature([("3", "9")])
    assert str(simplest_metre(odd.length * 9 / 4, odd)) == "3/4"


def septuplet(start: str = "", stop: str = "") -> Score:
    """Seven sixteenths, ticks rounded, with these marks on the first and the last; a quarter."""
    marks = (start, *[""] * 5, stop)
    ticks = (69, 69, 68, 69, 68, 69, 68)
    notes = [
        note("C5", tick, "16th", ratio="7:4", inside=mark)
        for tick, mark in zip(ticks, marks, strict=True)
    ]
    return read(partwise("".join(notes) + note("C5", 480, "quarter"), divisions=480, time="2/4"))


def numbers(score: Score) -> list[str]:
    """The start of every tuplet mark in the file: its ``show-number``, "" where it says nothing."""
    marks = etree.fromstring(proven(score)).iterfind(".//tuplet[@type='start']")
    return [mark.get("show-number") or "" for mark in marks]


def test_a_fair_copy_numbers_the_tuplets_that_its_source_did_not():
    hidden = septuplet('<tuplet type="start" show-number="none"/>', '<tuplet type="stop"/>')
    assert numbers(faircopy(septuplet())) == numbers(faircopy(hidden)) == [""]
    assert numbers(faircopy(septuplet(), keep=True)) == []
    assert numbers(faircopy(hidden, keep=True)) == ["none"]


@pytest.mark.parametrize(("target", "marks"), [("3/4", [""]), ("3/8", [])])
def test_a_number_stays_out_only_over_notes_written_as_they_were(target, marks):
    restated = restate(septuplet(), target)
    assert numbers(restated) == marks


def test_only_what_was_asked_for_is_written_afresh(tmp_path) -> None:
    """Odd values in two voices and two bars; one voice of one bar is copied, the rest stays."""
    odd = "e q~ e_ h"  # two tied symbols where one would do
    score = sheet([f"{odd} <1920 v2 {odd}", f"{odd} <1920 v2 {odd}"], [odd, odd])
    rhythm.write(faircopy(score, bars="2", part="Part 1", voice="2"), tmp_path / "copy.musicxml")
    copy = read(tmp_path / "copy.musicxml")
    left = "eighth quarter~ eighth half"
    seen = {(p, v): written(copy, v, p) for p, v in ((0, 0), (0, 1), (1, 0))}
    assert seen[0, 0] == seen[1, 0] == f"{left} | {left}"
    assert seen[0, 1] == f"{left} | eighth quarter. half"


def test_a_part_that_is_not_there_is_not_copied() -> None:
    with pytest.raises(rhythm.RequestError, match="there is no part 'Oboe'; there is only Theme"):
        faircopy(melody("4/4", "1"), part="Oboe")


def test_a_fair_copy_says_what_is_written_otherwise():
    path = EXAMPLES[0].with_name("lantern-song.musicxml")
    song = read(path)
    unbeamed = re.sub(rb"\s*<beam [^/]*</beam>", b"", path.read_bytes())
    bars = {event.bar for _, _, event in song.events() if any(each.beams for each in event.pieces)}
    said = faircopy.outcome(read(unbeamed)).report
    assert said.data == {
        "otherwise": len(bars), "values": 0, "rests": 0, "tuplets": 0, "beams": len(bars),
    }  # fmt: skip
    assert str(said) == f"{len(bars)} of 14 bars written otherwise: beams in {len(bars)}"
    assert str(faircopy.outcome(song).report).startswith("nothing to change")
