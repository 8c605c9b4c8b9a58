"""What one practises with: a count-in on the page and by ear, the beat, a ladder of tempi."""

from __future__ import annotations

from io import BytesIO
from pathlib import Path
from typing import Any

import mido  # type: ignore[import-untyped]
import pytest
from click.testing import CliRunner
from gmpy2 import mpq
from lxml import etree

import rhythm
from rhythm.check.ledger import check
from rhythm.exact.errors import RequestError
from rhythm.practice.exercises import exercises
from rhythm.practice.practice_track import at_tempo, read_ladder, with_count_in
from rhythm.practice.sheet_plan import parse_plan
from rhythm.score.model import Score
from rhythm.score.tempo import tempi
from rhythm.show.sound import sound
from rhythm.writing import proven
from tests.schema import errors
from tests.tiny import durations, melody

SONG = "examples/lantern-song.musicxml"
TUNE = melody("4/4", "1/4 1/8 1/8 1/2", "3/8 1/8 1/4 1/4", "1/1")
UPBEAT = melody("3/4", "1/4", "1/2 1/4", "1/4 1/4 1/4", "1/2", upbeat=True)
PLAN = parse_plan('[[exercise]]\nvary = "dotting"')


def beat_words(section: Score) -> list[str]:
    """The number written at each stroke of the beat line, read from the file itself."""
    data = proven(section)
    assert rhythm.read(data).parts[-1].name == "Beat"
    found, number = [], ""
    for each in etree.fromstring(data).findall("part")[-1].iter("words", "note"):
        if each.tag == "words":
            number = str(each.text)
        else:
            found.append(number)
            number = ""
    return found


def test_a_section_opens_with_a_bar_to_count_in_and_the_beat_goes_on() -> None:
    sheet = exercises(TUNE, PLAN, beats=True, proof=proven)
    for _, section in sheet.sections:
        score = rhythm.read(proven(section))
        tune = score.parts[0]
        assert durations(score).split(" | ")[0] == "r1"
        assert durations(score, part=1) == " | ".join(["1/4 1/4 1/4 1/4"] * 4)
        assert [bar.number for bar in tune.bars] == ["0", "1", "2", "3"]
        assert beat_words(section) == ["1", "2", "3", "4"] + [""] * 12
        data = proven(section)
        assert b"<lyric" not in data  # engravers push the last syllable of a verse aside
        assert data.count(b"<beats>") == 2
        assert check(score).is_right
    assert errors(proven(sheet.score)) == []


def test_an_upbeat_waits_in_a_bar_of_its_own() -> None:
    plan = parse_plan('[[exercise]]\nrestate = "4/4"')
    sheet = exercises(UPBEAT, plan, beats=True)
    score = rhythm.read(proven(sheet.sections[0][1]))
    assert durations(score).split(" | ")[:2] == ["r3/4", "r1/4 r1/4 1/4"]
    assert [bar.number for bar in score.bars][:3] == ["0", "0", "1"]
    assert beat_words(sheet.sections[0][1])[:6] == ["1", "2", "3", "1", "2", "3"]


def test_a_plan_can_ask_for_the_beat_and_an_argument_overrides_it() -> None:
    plan = parse_plan('beats = true\n[[exercise]]\nvary = "dotting"')
    assert exercises(TUNE, plan).beats
    assert not exercises(TUNE, plan, beats=False).beats
    with pytest.raises(RequestError, match="'beats' of the plan is 'yes'; it must be true or"):
        parse_plan('beats = "yes"\n[[exercise]]\nvary = "dotting"')


def test_the_beat_does_not_tell_bar_lines_that_are_asked_for() -> None:
    plan = parse_plan('[[exercise]]\ntask = "barlines"\n[[exercise]]\ntask = "fill"')
    sheet = exercises(TUNE, plan, beats=True, proof=proven)
    assert [len(section.parts) for _, section in sheet.sections] == [2, 1, 2]
    assert rhythm.read(proven(sheet.score)).parts[1].name == "Beat"
    assert errors(proven(sheet.score)) == []


def test_syllables_stand_under_the_music_and_not_under_the_count_in() -> None:
    sheet = exercises(TUNE, PLAN, beats=True, count="numbers")
    first = rhythm.read(proven(sheet.sections[0][1])).parts[0].voices[0].events[0]
    assert first.is_rest
    assert not first.verses


def test_two_hands_and_one_share_a_sheet_with_the_beat_under_both() -> None:
    plan = parse_plan('[[exercise]]\nagainst = "3:2"\n[[exercise]]\nvary = "dotting"')
    sheet = exercises(TUNE, plan, beats=True, proof=proven)
    score = rhythm.read(proven(sheet.score))
    assert [part.name for part in score.parts][-1] == "Beat"
    assert check(score).is_right


@pytest.mark.parametrize("theme", [TUNE, UPBEAT], ids=["whole", "upbeat"])
def test_the_count_in_adds_a_bar_and_moves_no_note(theme: Score) -> None:
    made = with_count_in(theme)
    before = [(e.onset, e.duration) for _, _, e in theme.events() if not e.is_rest]
    after = [(e.onset, e.duration) for _, _, e in made.events() if not e.is_rest]
    waits = theme.bars[1].metre.length + theme.bars[0].shift  # type: ignore[union-attr]
    assert after == [(onset + waits, length) for onset, length in before]


def test_a_ladder_is_percent_or_beats() -> None:
    assert read_ladder("60% 80% 100%") == ((mpq(3, 5), True), (mpq(4, 5), True), (mpq(1), True))
    song = rhythm.read(SONG)
    for text, quarters in (("50%", 48), ("72", 72), ("62.5%", 60)):
        (rung,) = read_ladder(text)
        assert tempi(at_tempo(song, rung))[0].quarters == quarters
    lilt = melody("6/8", "3/8 3/8")
    assert tempi(at_tempo(lilt, read_ladder("60")[0]))[0].quarters == 90
    for wrong in ("fast", "5%", "1000", "", " ".join(["60"] * 9)):
        with pytest.raises(RequestError, match="ladder"):
            read_ladder(wrong)


def played(data: bytes) -> Any:
    return mido.MidiFile(file=BytesIO(data))


def test_every_exercise_comes_at_every_tempo_after_a_bar_that_is_clicked(tmp_path: Path) -> None:
    from remetre_cli.main import main

    where = tmp_path / "track.mid"
    words = [SONG, "--most", "2", "--bars", "1-4", "--track", str(where), "--ladder", "50% 100%"]
    found = CliRunner().invoke(main, ["exercises", *words])
    assert found.exit_code == 0, found.output
    file = played(where.read_bytes())
    told = [message.tempo for message in file.tracks[0] if message.type == "set_tempo"]
    assert told == [1_250_000, 625_000] * 3
    sheet = exercises(rhythm.read(SONG), most=2, bars="1-4")
    bars = sum(2 * (1 + len(each.key.bars)) for _, each in sheet.made)
    music = sound(sheet.track("50% 100%"))
    assert len(music.bars) == bars
    counted = [
        bar
        for bar in music.bars
        if not any(tone.start < bar.end and tone.end > bar.start for tone in music.tones)
    ]
    assert len(counted) == 6
    clicks = [message for message in file.tracks[-1] if message.type == "note_on"]
    assert len([message for message in clicks if message.velocity > 100]) == bars


def test_a_folder_gets_a_file_for_each_exercise_and_each_version(tmp_path: Path) -> None:
    from remetre_cli.main import main

    where = tmp_path / "tracks"
    found = CliRunner().invoke(main, ["exercises", SONG, "--listen", "2", "--track", str(where)])
    assert found.exit_code == 0, found.output
    assert sorted(file.name for file in where.iterdir()) == [
        "01 a.mid", "01 b.mid", "01 c.mid", "01 d.mid", "01 play.mid",
        "02 miss 1.mid", "02 miss 2.mid", "02 miss 3.mid", "02 play.mid",
    ]  # fmt: skip
    again = CliRunner().invoke(main, ["exercises", SONG, "--listen", "2", "--track", str(where)])
    assert "already exists" in str(again.exception)


def test_repeats_are_played_once_in_a_track() -> None:
    song = rhythm.read(SONG)
    sheet = exercises(song, PLAN, bars="1-4")
    music = sound(sheet.track("100%"))
    assert len(music.bars) == len(sheet.track("100%").bars)
