"""A sheet without a plan fits two pages, and is called what a person would call its theme."""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace

import pytest
from click.testing import CliRunner

import rhythm
from rhythm.formats.musicxml.titles import in_words
from rhythm.practice.page_room import fits
from rhythm.practice.sheet_plan import parse_plan
from rhythm.score.model import Score
from tests.tiny import melody

SONG = rhythm.read(Path(__file__).parents[2] / "examples/lantern-song.musicxml")


def test_a_phrase_of_long_bars_makes_a_sheet_of_two_pages(tmp_path: Path) -> None:
    from remetre_cli.main import main

    where = tmp_path / "opus3no2" / "movement1.musicxml"
    where.parent.mkdir()
    rhythm.write(melody("4/4", *["1/8 " * 8, "1/16 " * 8 + "1/4 1/8 1/8"] * 4), where)
    out = str(tmp_path / "sheet.pdf")
    found = CliRunner().invoke(main, ["exercises", str(where), "-o", out])
    assert "8 exercises, " in found.output
    assert " bars, 2 pages" in found.output
    assert len(rhythm.exercises(where).theme.score.bars) == 4


def test_exercises_that_do_not_fit_are_fewer_and_the_sheet_says_so() -> None:
    theme = melody("4/4", *["1/16 " * 14 + "1/8", "1/16 " * 8 + "1/32 " * 16] * 2)
    sheet = rhythm.exercises(theme, beats=True)
    assert 2 <= len(sheet.exercises) < 8
    assert sheet.notes[0] == "fewer than 8 exercises: more would not fit two pages"
    assert fits(sheet.sections)
    assert len(rhythm.exercises(theme, beats=True, most=8).exercises) == 8


def test_an_exercise_that_goes_wrong_on_the_sheet_alone_does_not_lose_it(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    from rhythm.check import ledger

    real = ledger.check

    def check(score: Score) -> object:
        heads = [mark for mark in score.parts[0].marks if mark.kind == "heading"]
        for mark in heads[1:] if len(heads) > 2 else ():
            if "Dotting" in mark.text:
                return SimpleNamespace(faults=[Fault(mark.bar)])
        return real(score)

    class Fault:
        def __init__(self, index: int) -> None:
            self.index = index

        def __str__(self) -> str:
            return "an eighth short of 4/4"

    monkeypatch.setattr(ledger, "check", check)
    plan = '[[exercise]]\nvary = "dotting"\n[[exercise]]\nvary = "augmentation:2"'
    sheet = rhythm.exercises(SONG, parse_plan(plan), bars="1-2")
    assert [each.heading for each in sheet.exercises] == ["Augmentation (2)"]
    assert sheet.left_out == ("Dotting: an eighth short of 4/4",)


def test_bars_that_are_asked_for_are_not_cut() -> None:
    theme = melody("4/4", *["1/8 " * 8] * 8)
    assert len(rhythm.exercises(theme, bars="1-8", most=1).theme.score.bars) == 8


@pytest.mark.parametrize(
    ("title", "path", "said"),
    [
        ("", "quartets/opus74no1/movement1.mxl", "Opus 74 No. 1, Movement 1"),
        ("bwv66.6.mxl", "chorales/bwv66.6.mxl", "BWV 66.6"),
        ("156", "k156/movement4.mxl", "K 156, Movement 4"),
        ("", "songs/laDonnaEMobile.mxl", "La Donna E Mobile"),
        ("THE LARK AND THE LION'S DEN II", "x.abc", "The Lark and the Lion's Den II"),
        ("Air in G", "x.abc", "Air in G"),
        ("", "", ""),
    ],
)
def test_a_theme_is_called_by_its_title_or_its_file_in_words(
    title: str, path: str, said: str
) -> None:
    assert in_words(SONG.replace(title=title, path=path)) == said
