"""What a teacher hands out: six themes, each a sheet and a key that are sound and repeatable."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

import rhythm
from rhythm.check.ledger import check
from rhythm.formats.musicxml.performance import held_places
from rhythm.practice.exercises import exercises
from rhythm.practice.phrases import first_phrase
from rhythm.practice.sheet_plan import parse_plan
from rhythm.practice.tasks import set_task
from rhythm.score.model import Score
from rhythm.writing import proven
from tests.corpus import music21_folder
from tests.schema import errors
from tests.tiny import melody

EXAMPLES = Path(__file__).parents[2] / "examples"
CORPUS = music21_folder() / "corpus"
PLAN = parse_plan(
    '[[exercise]]\nvary = "dotting"\n[[exercise]]\nvary = "augmentation:2"\n'
    '[[exercise]]\nagainst = "3:2"\n[[exercise]]\ntask = "barlines"'
)
SIX = (
    (CORPUS / "ryansMammoth/BanishMisfortune.abc", "1-2", None, "gordon"),
    (CORPUS / "leadSheet/fosterBrownHair.mxl", "1-2", None, "takadimi"),
    (CORPUS / "bach/bwv66.6.mxl", "1-2", "Soprano", "numbers"),
    (CORPUS / "haydn/opus74no1/movement1.mxl", "7-8", "Violin 1", "takadimi"),
    (EXAMPLES / "reed-carol.musicxml", "1-2", None, "gordon"),
    (EXAMPLES / "lantern-song.musicxml", "1-2", None, "numbers"),
)
TUNE = melody("4/4", "1/4 1/8 1/8 1/2", "3/8 1/8 1/4 1/4", "1/4 1/4 1/8 1/8 1/4", "1/2 r1/2")


@pytest.mark.parametrize(("path", "bars", "part", "way"), SIX, ids=lambda each: str(each)[-20:])
def test_sheet_key_and_track_are_sound_and_the_same_for_the_same_seed(
    path: Path, bars: str, part: str | None, way: str
) -> None:
    def run() -> list[bytes]:
        sheet = exercises(rhythm.read(path), PLAN, bars=bars, part=part, count=way, seed=7)
        assert len(sheet.exercises) >= 3
        return [proven(sheet.score), proven(sheet.key), rhythm.midi(sheet.track())]

    first = run()
    for written in first[:2]:
        assert errors(written) == []
        assert check(rhythm.read(written)).is_right
    assert first == run()


def test_a_section_that_cannot_be_counted_loses_an_exercise_and_not_the_sheet(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    from rhythm.practice import sheet as laid

    count = laid.counted

    def breaks(score: Score, way: str) -> Score:
        if len(score.bars) > 4:
            raise KeyError("no such beat")
        return count(score, way)  # type: ignore[arg-type]

    monkeypatch.setattr(laid, "counted", breaks)
    plan = '[[exercise]]\nvary = "augmentation:2"\n[[exercise]]\nvary = "dotting"'
    sheet = exercises(TUNE, parse_plan(plan), count="takadimi")
    assert [each.heading for each in sheet.exercises] == ["Dotting"]
    assert sheet.left_out[0].startswith("Augmentation (2): it could not be made, by a defect")
    assert len(sheet.sections) == 2


@pytest.mark.parametrize("task", ["barlines", "fill", "mistakes", "signature"])
def test_the_counting_does_not_give_the_answer_away(task: str) -> None:
    sheet = exercises(TUNE, parse_plan(f'[[exercise]]\ntask = "{task}"'), count="takadimi")
    assert b"<lyric" not in proven(sheet.sections[1][1])
    assert b"<lyric" in proven(sheet.key_sections[1][1])


@pytest.mark.parametrize("seed", range(4))
def test_no_beam_leads_to_a_value_that_is_missing(seed: int) -> None:
    theme = melody("2/4", "1/8 1/8 1/8 1/8", "1/16 1/16 1/16 1/16 1/4")
    bars = {e.bar: [] for _, _, e in theme.events()}
    for _, _, event in set_task("fill", theme, seed=seed).pupil.events():
        bars[event.bar].append(event)
    for events in bars.values():
        assert all(event.visible or not event.pieces[0].beams for event in events)
        at = next(i for i, event in enumerate(events) if not event.visible)
        before = events[at - 1].pieces[-1].beams if at else ()
        after = events[at + 1].pieces[0].beams if at + 1 < len(events) else ()
        assert before[:1] in ((), ("end",))
        assert after[:1] in ((), ("begin",))


def test_chords_that_call_to_attention_are_no_phrase() -> None:
    theme = melody("2/4", "1/2", "1/4 r1/4", "1/4 1/4", "1/4 1/8 1/8", "1/4 1/4", "1/2")
    bars = list(theme.parts[0].bars)
    from rhythm.score.model import Barline

    bars[1] = bars[1].replace(right=Barline("light-light"))
    part = theme.parts[0].replace(bars=tuple(bars))
    assert first_phrase(theme.replace(parts=(part,))).places == (2, 3, 4, 5)


@pytest.mark.parametrize("task", ["fill", "mistakes"])
def test_a_key_names_bars_as_the_sheet_numbers_them(task: str) -> None:
    theme = melody("4/4", *["1/4 1/4 1/4 1/4"] * 8)
    plan = parse_plan(f'[[exercise]]\ntask = "{task}"')
    (_, said) = exercises(theme, plan, bars="5-8").key_words
    named = {int(word) for word in re.findall(r"[Bb]ar (\d+)", said)}
    assert named
    assert named <= {1, 2, 3, 4}


def test_a_drill_goes_in_the_tempo_of_its_theme() -> None:
    song = rhythm.read(EXAMPLES / "ferry-steps.musicxml")
    sheet = exercises(song, parse_plan("[[exercise]]\ndrill = 2"))
    (drill,) = sheet.exercises
    (said,) = [mark for mark in drill.score.parts[0].marks if mark.metronome is not None]
    assert said.metronome is not None
    assert said.metronome.per_minute == "80"


CHORALES = {
    "upbeat and last bar make one": ("bach/bwv66.6.mxl", "Soprano", ("1/4", "3/4")),
    "on a note that fills its bar": ("bach/bwv342.mxl", "Soprano", ("3/4", "3/4")),
    "within a bar, no upbeat": ("bach/bwv437.mxl", "Soprano", ("1", "1")),
}


@pytest.mark.parametrize(("name", "part", "ends"), CHORALES.values(), ids=CHORALES)
def test_a_phrase_of_a_chorale_ends_on_the_note_under_the_fermata(
    name: str, part: str, ends: tuple[str, str]
) -> None:
    chorale = rhythm.read(CORPUS / name)
    phrase = exercises(chorale, most=1, part=part).theme.score
    bars = phrase.bars
    assert tuple(str(bar.length) for bar in (bars[0], bars[-1])) == ends
    (voice,) = phrase.parts[0].voices
    last = [event for event in voice.events if not event.is_rest][-1]
    assert held_places(last)
    assert check(phrase).is_right
