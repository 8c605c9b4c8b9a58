"""Players' parts against the score: what stops a rehearsal is found before it."""

import pytest
from remetre_cli.main import run

from rhythm.check.rehearsal import compare
from rhythm.formats import read, write
from tests.corpus import music21_folder
from tests.sheet import bar, sheet

SCORE = [["w", "h h", bar("h.", "3/4"), "h.", bar("w", "4/4"), "w"],
         ["w", "w", bar("h.", "3/4"), "h.", bar("w", "4/4"), "w"]]  # fmt: skip
PARTS = {
    "the same bars": (["w", "h h", bar("h.", "3/4"), "h.", bar("w", "4/4"), "w"], []),
    "a bar missing": (
        ["w", bar("h.", "3/4", number="3"), bar("h.", number="4"), bar("w", "4/4", number="5"),
         bar("w", number="6")],
        ["bar 2: a bar is missing after bar 1; an empty bar 2 would bring it in line"],
    ),
    "a bar missing and the rest numbered on": (
        ["w", bar("h.", "3/4"), "h.", bar("w", "4/4"), "w"],
        ["bar 2: a bar is missing after bar 1; an empty bar 2 would bring it in line"],
    ),
    "a bar line missing, which the part alone shows": (
        ["w h h", bar("h.", "3/4", number="3"), bar("h.", number="4"),
         bar("w", "4/4", number="5"), bar("w", number="6")],
        [],
    ),
    "another metre": (
        ["w", "h h", bar("h", "2/4"), "h", bar("w", "4/4"), "w"],
        ["bar 3: counts 2/4 where the score has 3/4"],
    ),
    "other numbers": (
        ["w", "h h", bar("h.", "3/4"), bar("h.", number="5"), bar("w", "4/4", number="6"),
         bar("w", number="7")],
        ["bar 5: is numbered 5 where the score has 4; 4 would agree"],
    ),
}  # fmt: skip


@pytest.mark.parametrize("part, said", PARTS.values(), ids=PARTS)
def test_a_part_is_held_against_the_score(part, said):
    found = compare(sheet(part), sheet(*SCORE))
    lines = [f"{each.place}: {each}" for each in found]
    assert lines == [f"Part 1, {each}" for each in said]


@pytest.fixture
def remetre(tmp_path, monkeypatch, capfd):
    monkeypatch.chdir(tmp_path)

    def call(*words):
        with pytest.raises(SystemExit) as done:
            run([str(word) for word in words])
        said = capfd.readouterr()
        return done.value.code, said.out, said.err

    return call


def test_a_folder_of_real_parts_is_held_against_its_score(remetre, tmp_path):
    score = read(music21_folder() / "corpus" / "bach" / "bwv248.64-6.mxl")
    (tmp_path / "parts").mkdir()
    write(score, tmp_path / "score.musicxml")
    for part in score.parts:
        alone = score.replace(parts=(part,))
        write(alone, tmp_path / "parts" / f"{part.id}.musicxml")
    code, out, _ = remetre("check", "score.musicxml", "parts")
    assert "against the score" not in out
    path = tmp_path / "parts" / f"{score.parts[1].id}.musicxml"
    text = path.read_text()
    start = text.index('<measure number="20"')
    end = text.index("</measure>", start) + len("</measure>")
    path.write_text(text[:start] + text[end:])
    code, out, _ = remetre("check", "score.musicxml", "parts")
    assert code == 1
    name = score.parts[1].name
    assert f"against the score: {name}, bar 20: a bar is missing after bar 19" in out
