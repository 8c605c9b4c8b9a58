"""A score for a mixed class: equal bars, a part for each player, on a level of its own."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from click.testing import CliRunner

import rhythm
from rhythm.check.ledger import check
from rhythm.exact.errors import RequestError
from rhythm.formats.musicxml.write.score_writer import to_bytes
from rhythm.practice.difficulty import difficulty
from rhythm.practice.exercises import exercises
from rhythm.practice.players import ROLES, class_score, players_named
from rhythm.practice.sheet_layout import alone
from rhythm.practice.sheet_plan import parse_plan
from rhythm.score.model import Score
from rhythm.score.tempo import tempi
from rhythm.show.sound import sound
from rhythm.writing import proven
from tests.corpus import music21_folder
from tests.schema import errors
from tests.tiny import durations, melody

SONG = "examples/lantern-song.musicxml"
ALL = "flute: theme, clarinet: division, horn: reduction, cello: ostinato, clapping: beat"
TUNE = melody("4/4", "1/4 1/8 1/8 1/2", "1/4 1/8 1/8 1/2", "3/8 1/8 1/4 1/4", "1/2 r1/2")


def part(role: str, theme: Score = TUNE) -> str:
    """What one player has, as it is written and read again."""
    made, _ = class_score(theme, players_named(f"violin: {role}"))
    return durations(rhythm.read(proven(alone("", made))))


# common practice, no source
WORKED = {
    "beat": "1/4 1/4 1/4 1/4 | 1/4 1/4 1/4 1/4 | 1/4 1/4 1/4 1/4 | 1/4 1/4 1/4 1/4",
    "reduction": "1/4 1/4 1/2 | 1/4 1/4 1/2 | 1/2 1/4 1/4 | 1/2 r1/2",
    "ostinato": "1/4 1/8 1/8 1/2 | 1/4 1/8 1/8 1/2 | 1/4 1/8 1/8 1/2 | 1",
    "theme": "1/4 1/8 1/8 1/2 | 1/4 1/8 1/8 1/2 | 3/8 1/8 1/4 1/4 | 1/2 r1/2",
    "division": " | ".join([" ".join(["1/8"] * 8)] * 3 + ["1/8 1/8 1/8 1/8 r1/2"]),
}


@pytest.mark.parametrize("role", ROLES)
def test_every_part_is_what_its_name_says(role: str) -> None:
    assert part(role) == WORKED[role]


def test_compound_beats_are_divided_in_three_and_an_upbeat_is_waited_for() -> None:
    lilt = melody("6/8", "1/8", "1/4 1/8 1/4 1/8", "3/8 1/4", upbeat=True)
    assert part("division", lilt) == "1/8 | 1/8 1/8 1/8 1/8 1/8 1/8 | 1/8 1/8 1/8 1/8 1/8"
    assert part("beat", lilt) == "r1/8 | 3/8 3/8 | 3/8 1/4"


def test_parts_that_are_not_named_are_dealt_out() -> None:
    found = [str(each) for each in players_named("clapping, viola, flute, tuba: theme")]
    assert found == [
        "flute: division", "tuba: theme", "viola: reduction", "clapping: beat",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("text", "problem"),
    [
        ("flute: divison", "no part is called 'divison'; did you mean division?"),
        ("flut", "did you mean flute?"),
        ("", "0 players; 1 to 12"),
    ],
)
def test_who_plays_what_is_refused_with_the_nearest_word(text: str, problem: str) -> None:
    with pytest.raises(RequestError, match=re.escape(problem)):
        players_named(text)


@pytest.mark.parametrize("path", [SONG, "examples/reed-carol.musicxml"])
def test_all_parts_have_the_same_bars_and_stand_in_the_keys_of_their_instruments(path: str) -> None:
    sheet = exercises(rhythm.read(path), players=ALL, proof=proven)
    score = rhythm.read(to_bytes(sheet.score))
    assert check(score).is_right
    assert errors(to_bytes(sheet.score)) == []
    assert {tuple(bar.length for bar in part.bars) for part in score.parts} == {
        tuple(bar.length for bar in score.bars)
    }
    assert [part.name for part in score.parts] == [
        "Flute", "Clarinet in B flat", "Horn in F", "Cello", "Clapping",
    ]  # fmt: skip
    data = proven(score)
    assert data.count(b"<transpose>") == 2
    assert data.count(b"<per-minute>") == 1
    assert tempi(score)[0].quarters == tempi(exercises(rhythm.read(path)).score)[0].quarters


def test_what_sounds_together_is_in_tune() -> None:
    made, _ = class_score(rhythm.read(SONG), players_named("flute: theme, alto sax: theme"))
    tones = [[tone.key for tone in sound(made).tones if tone.part == part] for part in (0, 1)]
    assert [key % 12 for key in tones[0]] == [key % 12 for key in tones[1]]


def test_levels_are_told_and_the_parts_are_printed_one_by_one() -> None:
    sheet = exercises(rhythm.read(SONG), players=ALL)
    assert sheet.title == "Lantern Song, for a mixed class"
    (line,) = sheet.notes
    assert line.startswith("Flute: theme, level 2.4; Clarinet in B flat: division, level")
    assert [heading for heading, _ in sheet.sections] == [
        "Score", "Flute", "Clarinet in B flat", "Horn in F", "Cello", "Clapping",
    ]  # fmt: skip
    levels = [difficulty(section).exact for _, section in sheet.sections[1:]]
    assert levels[2] < levels[0] < levels[1]
    for _, section in sheet.sections[1:]:
        assert len(section.parts) == 1
        assert errors(proven(section)) == []


def test_a_chorale_and_a_quartet_make_parts_too() -> None:
    for name in ("bach/bwv66.6.mxl", "beethoven/opus18no1/movement3.mxl"):
        theme = rhythm.read(music21_folder() / "corpus" / name)
        sheet = exercises(theme, players="oboe, viola, bassoon, clapping")
        assert errors(proven(sheet.score)) == []


def test_players_have_a_plan_of_their_own() -> None:
    plan = parse_plan('[[exercise]]\nplayers = "flute, clapping"')
    assert plan.recipes[0].argument == "flute: theme, clapping: beat"
    with pytest.raises(RequestError, match="players stand beside other exercises"):
        parse_plan('[[exercise]]\nplayers = "flute"\n[[exercise]]\nvary = "dotting"')
    with pytest.raises(RequestError, match="did you mean flute"):
        parse_plan('[[exercise]]\nplayers = "flutte"')


def test_the_command_writes_a_class_score(tmp_path: Path) -> None:
    from remetre_cli.main import main

    where = tmp_path / "class.musicxml"
    found = CliRunner().invoke(
        main, ["exercises", SONG, "--players", "flute, clapping", "-o", str(where)]
    )
    assert found.exit_code == 0, found.output
    assert "Flute: theme, level 2.4; Clapping: beat, level 1.3" in found.output
    assert [part.name for part in rhythm.read(where).parts] == ["Flute", "Clapping"]
