"""What the devices do to the page: each verb writes a file, which is read again and looked at."""

from __future__ import annotations

import pytest
from lxml import etree

from rhythm.exact.errors import MusicError
from rhythm.formats.musicxml.read.score_reader import read
from rhythm.formats.musicxml.saving import proven
from rhythm.rebar.group import group
from rhythm.score.model import Score
from rhythm.verbs import tuplet, vary
from tests.markup import backup, forward, note, partwise
from tests.tiny import written

CLOSE = (
    '<barline location="right"><bar-style>light-heavy</bar-style>'
    '<repeat direction="backward"/></barline>'
)


def quarters(*pitches: str) -> str:
    return "".join(note(f"{pitch}4", 4, "quarter") for pitch in pitches)


def eighths(*pitches: str) -> str:
    return "".join(note(f"{pitch}4", 2, "eighth") for pitch in pitches)


def varied(data: bytes, by: str) -> Score:
    return read(proven(vary(read(data), by)))


def beams(data: bytes) -> str:
    """The first beam of every note of the file, ``-`` where there is none, bars apart by ``|``."""
    bars = etree.fromstring(data).iter("measure")
    return " | ".join(
        " ".join(each.findtext("beam[@number='1']") or "-" for each in bar.iter("note"))
        for bar in bars
    )


def accents(data: bytes) -> list[int]:
    """Which notes of the file bear an accent, from 0."""
    notes = etree.fromstring(data).iter("note")
    return [
        i for i, each in enumerate(notes) if each.find("notations/articulations/accent") is not None
    ]


EIGHTHS = partwise(eighths(*"CDEFGABC"), eighths(*"CDEFGABC"))


def test_beams_by_groups_reach_the_file_in_the_bars_asked_for_and_no_others() -> None:
    plain = beams(proven(read(EIGHTHS)))
    grouped = beams(proven(group(read(EIGHTHS), "3+3+2", bars="2")))
    assert grouped.split(" | ")[0] == plain.split(" | ")[0]
    assert grouped.split(" | ")[1] == "begin continue end begin continue end begin end"


def test_accents_reach_the_file() -> None:
    assert accents(proven(group(read(EIGHTHS), "5", show="accents"))) == [0, 5, 10, 15]
    assert accents(proven(vary(read(EIGHTHS), "grouping-shift:3+3+2@1"))) == [1, 4, 7, 9, 12, 15]


def test_a_hemiola_stops_at_a_repeat_sign() -> None:
    three = quarters(*"CDE")
    line = partwise(three, three, three + CLOSE, three, three, three, time="3/4")
    result = varied(line, "hemiola")
    assert [str(bar.metre) for bar in result.bars] == [
        "2/4", "2/4", "2/4", "3/4", "2/4", "2/4", "2/4", "3/4",
    ]  # fmt: skip
    assert [bar.number for bar in result.bars if bar.right and bar.right.repeat] == ["4"]
    with pytest.raises(MusicError, match="no two bars of three beats together"):
        varied(partwise(three + CLOSE, three, time="3/4"), "hemiola")


def test_embellishment_goes_down_to_sixty_fourths_and_no_further() -> None:
    short = note("C4", 2, "32nd") + note("D4", 1, "64th")
    line = partwise(short + note("rest", 13), divisions=16, time="1/4")
    assert written(varied(line, "embellishment:2")).startswith("64th 64th 64th r:")


def test_syncopation_takes_nothing_from_a_note_that_would_vanish() -> None:
    line = partwise(eighths("C", "D") + quarters("E", "F", "G"))
    assert written(varied(line, "syncopation")) == "eighth eighth eighth eighth~ eighth quarter."
    assert written(varied(line, "syncopation:1/4")) == "eighth eighth quarter quarter quarter"


def test_reduction_keeps_what_begins_a_bar_even_off_its_grid() -> None:
    line = partwise(quarters(*"CDE"), quarters(*"FGA"), time="3/4")
    assert written(varied(line, "reduction:1/2")) == "half quarter | half quarter"


def test_retrograde_turns_the_signs_of_a_section_at_its_own_edges() -> None:
    line = partwise(
        quarters("C") + note("D4", 8, "half") + CLOSE,
        quarters("E") + note("F4", 8, "half"),
        time="3/4",
    )
    result = varied(line, "retrograde:rhythm")
    assert written(result) == "half quarter | half quarter"
    assert [event.pitches[0].step for _, _, event in result.events()] == ["C", "D", "E", "F"]
    assert result.bars[0].right is not None and result.bars[0].right.repeat == "backward"
    turned = varied(line, "retrograde")
    assert [event.pitches[0].step for _, _, event in turned.events()] == ["D", "C", "F", "E"]


def test_a_repeat_opens_before_the_rest_that_completes_its_upbeat() -> None:
    line = partwise(
        quarters("C", "D") + CLOSE, eighths("E"), quarters("F", "G"), quarters("A", "B"), time="2/4"
    ).replace(b'<measure number="2">', b'<measure number="2" implicit="yes">', 1)
    result = read(proven(tuplet(read(line), "3:2")))
    assert [bar.number for bar in result.bars if bar.right and bar.right.repeat] == ["1"]
    assert written(result).split(" | ")[1] == "3:2(r:quarter eighth)"


def test_triplets_become_eighths_in_longer_bars_or_sixteenths_in_shorter_ones() -> None:
    triplets = "".join(note(f"{p}4", 4, "eighth", ratio="3:2") for p in "CDEFGA")
    line = partwise(triplets, divisions=12, time="2/4")
    longer = read(proven(tuplet(read(line), dissolve="written")))
    assert (written(longer), str(longer.bars[0].metre)) == (" ".join(["eighth"] * 6), "6/8")
    shorter = read(proven(tuplet(read(line), dissolve="halved")))
    assert (written(shorter), str(shorter.bars[0].metre)) == (" ".join(["16th"] * 6), "6/16")


def test_one_voice_asked_for_is_varied_and_the_other_stays() -> None:
    low = eighths(*"CDEFGABC").replace("<voice>1<", "<voice>2<")
    both = partwise(eighths(*"CDEFGABC") + backup(16) + low)
    result = read(proven(vary(read(both), "dotting", voice="2")))
    assert written(result, voice=0) == " ".join(["eighth"] * 8)
    assert written(result, voice=1) == " ".join(["eighth. 16th"] * 4)


def test_syncopation_leaves_the_first_note_of_every_bar_in_its_place() -> None:
    result = varied(partwise(quarters(*"CD"), quarters(*"EF"), time="2/4"), "syncopation")
    assert written(result) == "eighth quarter. | eighth quarter."


def test_reduction_keeps_the_note_that_begins_after_a_repeat_sign() -> None:
    line = partwise(
        quarters("C") + eighths("D") + CLOSE, eighths("E"), quarters("F", "G"), time="2/4"
    ).replace(b'<measure number="2">', b'<measure number="2" implicit="yes">', 1)
    result = varied(line, "reduction")
    assert [event.pitches[0].step for _, _, event in result.events()] == ["C", "D", "E", "F", "G"]
    assert written(varied(line, "reduction:1/2")) == "quarter. | eighth | half"


def test_a_passage_inside_a_score_is_not_displaced_to_before_its_first_bar() -> None:
    score = read(partwise(quarters(*"CD"), quarters(*"EF"), time="2/4"))
    with pytest.raises(MusicError, match="would begin before its first bar"):
        vary(score, "displacement:-1/8", bars="2")
    later = read(proven(vary(score, "displacement:1/8", bars="2")))
    assert written(later).startswith("quarter quarter | r:eighth quarter eighth~ | eighth")


def test_a_note_and_a_gap_are_no_pair_that_swings() -> None:
    line = partwise(eighths("C") + forward(2) + eighths("D", "E"), time="2/4")
    swung = varied(line, "swing")
    assert [f"{e.onset} {e.duration}" for _, _, e in swung.events()] == [
        "0 1/8", "1/4 1/6", "5/12 1/12",
    ]  # fmt: skip
