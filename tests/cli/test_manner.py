"""Whose manner a verb writes in, and the table of a manner: every verb takes ``--manner``.

The editor of these scores writes two eighth rests before the last eighth of a dotted beat, where
the house writes a quarter rest, and two rests for a silent dotted beat; both ways are in use (Read,
Music Notation).
"""

import json
import re

import pytest
from lxml import etree
from remetre_cli.main import run

from rhythm.formats import read, write
from rhythm.notate.score_notation import spell_score
from rhythm.notate.usage import HOUSE, Answer, Usage
from tests.tiny import melody, written

BARS = ["r1/4 1/8 3/8", "1/8 1/8 1/8 r1/4 1/8", "3/8 3/8", "r1/4 1/8 r1/4 1/8", *["3/8 r3/8"] * 3]
ANSWERS = (Answer("first two", "", "", "8r 8r 8"), Answer("silent beat", "", "", "4r 8r"))
EDITOR = Usage(ANSWERS, None, frozenset({"6/8"}))
TWO, ONE = re.compile("r:eighth r:eighth (?!r)"), re.compile("r:quarter (?!r)")


@pytest.fixture
def remetre(tmp_path, monkeypatch, capfd):
    """Run ``remetre`` beside scores of that editor and of the house; gives code and output."""
    monkeypatch.chdir(tmp_path)
    theme = melody("6/8", *BARS)
    for name, usage in (("editor", EDITOR), ("house", HOUSE)):
        write(spell_score(theme, hints=False, usage=usage), tmp_path / f"{name}.musicxml")
    (flute,) = spell_score(theme, hints=False, usage=EDITOR).parts
    duet = theme.replace(parts=(flute, flute.replace(id="P2", name="Second")))
    write(duet, tmp_path / "score.musicxml")
    (tmp_path / "parts").mkdir()
    _short("editor.musicxml", "short.musicxml")
    _short("editor.musicxml", "parts/flute.musicxml", higher=True)

    def call(*arguments):
        capfd.readouterr()
        with pytest.raises(SystemExit) as done:
            run([str(argument) for argument in arguments])
        said = capfd.readouterr()
        assert not said.err
        return done.value.code, said.out

    return call


def _short(source, target, *, higher=False):
    """The page without the rests that end its last bar but one; an octave ``higher`` as well."""
    page = etree.parse(source)
    measure = page.findall(".//measure")[-2]
    for note in measure.findall("note")[-2:]:
        measure.remove(note)
    for octave in page.iter("octave") if higher else ():
        octave.text = str(int(octave.text) + 1)
    page.write(target)


VERBS = {
    "restate": "restate {}.musicxml --to 9/8 --by beat --lilt even",
    "rebar": "rebar {}.musicxml --to 9/8",
    "group": "group {}.musicxml --groups 3 --show metre",
    "tuplet": "tuplet {}.musicxml --split 2 --span 1/8",
    "vary": "vary {}.musicxml --device embellishment:2",
    "faircopy": "faircopy {}.musicxml",
}


@pytest.mark.parametrize("command", VERBS.values(), ids=VERBS)
@pytest.mark.parametrize(
    ("score", "manner", "silence", "never"),
    [
        ("editor", "source", TWO, ONE),
        ("editor", "house", ONE, TWO),
        ("house", "editor.musicxml", TWO, ONE),
    ],
    ids=["as the source", "as the house", "as another score"],
)
def test_a_verb_writes_in_the_manner_asked_for(remetre, command, score, manner, silence, never):
    words = command.format(score).split()
    assert remetre(*words, "--manner", manner, "-o", "done.musicxml")[0] == 0
    page = written(read("done.musicxml"))
    assert silence.search(page)
    assert not never.search(page)


@pytest.mark.parametrize(
    ("scores", "out", "made"),
    [
        ("short.musicxml", "done.musicxml", "done.musicxml"),
        ("score.musicxml parts", "out", "out/flute.musicxml"),
    ],
    ids=["a score", "a part by the score"],
)
def test_what_is_mended_is_written_in_the_manner_asked_for(remetre, scores, out, made):
    """A dotted beat is missing from a bar; an octave higher the part takes nothing over."""
    for manner, last in (("source", "r:quarter r:eighth"), ("house", "r:quarter.")):
        remetre("mend", *scores.split(), "--manner", manner, "-o", out, "--force")
        assert written(read(made)).split(" | ")[-2] == f"quarter. {last}"


def test_a_manner_is_told_as_a_table_and_as_json(remetre):
    code, table = remetre("manner", "editor.musicxml")
    assert code == 0
    row = next(line for line in table.splitlines() if "silence before the last eighth" in line)
    assert " ".join(row.split()) == (
        "6/8 silence before the last eighth two rests 3 of 3 * Theme 1, Theme 2"
    )
    code, lines = remetre("manner", "editor.musicxml", "--json")
    told = [json.loads(line) for line in lines.splitlines()]
    (habit,) = [each for each in told if each["question"] == "first two"]
    assert (habit["answer"], habit["votes"], habit["asked"], habit["house"]) == (
        "two rests", 3, 3, False,
    )  # fmt: skip
    assert habit["bars"] == [{"part": "Theme", "bar": "1"}, {"part": "Theme", "bar": "2"}]
