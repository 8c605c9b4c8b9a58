"""A folder of players' parts with slips in it, held against the score, mended, and handed out."""

import json

import pytest
from lxml import etree
from remetre_cli.main import run

from rhythm.check.ledger import check
from rhythm.check.rehearsal import compare
from rhythm.formats import read, write
from rhythm.formats.musicxml.saving import proven
from rhythm.rehearsing import mended_by
from tests.corpus import music21_folder
from tests.sheet import bar, sheet
from tests.tiny import written

SONG = music21_folder() / "corpus" / "liliuokalani" / "aloha_oe.mxl"


def _value_wrong(root):
    """The first quarter of bar 13 is written as an eighth."""
    found = next(n for n in _bar(root, 13).iter("note") if n.findtext("type") == "quarter")
    found.find("type").text = "eighth"
    found.find("duration").text = str(int(found.findtext("duration")) // 2)


def _bar_missing(root):
    _bar(root, 14).getparent().remove(_bar(root, 14))


def _signature_wrong(root):
    root.find(".//beats").text = "3"


def _tie_to_another_pitch(root):
    for each in root.iter("note"):
        marks = [tie.get("type") for tie in each.findall("tie")]
        if marks == ["stop"]:
            each.find("pitch/step").text = "B" if each.findtext("pitch/step") != "B" else "C"
            return


def _backup_off(root):
    backup, divisions = _bar(root, 9).find("backup/duration"), root.findtext(".//divisions")
    backup.text = str(int(backup.text) - int(divisions) // 2)


def _bar(root, number):
    return root.find(f'.//measure[@number="{number}"]')


SLIPS = {
    "Soprano": _value_wrong, "Alto": _bar_missing, "Tenor": _signature_wrong,
    "Solo Voice": _tie_to_another_pitch, "Piano": _backup_off,
}  # fmt: skip


@pytest.fixture
def folder(tmp_path, monkeypatch):
    """The score and the parts of a real song, five of them with a slip each."""
    monkeypatch.chdir(tmp_path)
    score = read(SONG)
    write(score, "score.musicxml")
    (tmp_path / "parts").mkdir()
    for part in score.parts:
        path = tmp_path / "parts" / f"{part.name}.musicxml"
        write(score.replace(parts=(part,)), path)
        if part.name in SLIPS:
            tree = etree.parse(path)
            SLIPS[part.name](tree.getroot())
            tree.write(path, encoding="UTF-8", xml_declaration=True)
    return tmp_path


@pytest.fixture
def remetre(capfd):
    def call(*words):
        with pytest.raises(SystemExit) as done:
            run([str(word) for word in words])
        return done.value.code, capfd.readouterr().out

    return call


def test_five_slips_in_a_folder_of_parts_are_found_put_right_and_can_be_handed_out(folder, remetre):
    code, said = remetre("check", "score.musicxml", "parts")
    assert code == 1
    for line in (
        "Soprano, bar 13: an eighth short of 4/4",
        "Alto, bar 14: a bar is missing after bar 13",
        # Two more bars are silent: a rest without a type fills its bar, whatever the signature.
        "the signature says 3/4, but all 7 bars under it hold 4/4",
        "leads nowhere",
        "Piano, left hand, bar 9: stands an eighth too late for 4/4",
        "7 files, 160 bars: 5 faults in 5 files",
    ):
        assert line in said
    code, said = remetre("mend", "score.musicxml", "parts", "-o", "mended")
    assert code == 0
    assert "Alto, bar 14: bar 14 put in from the score (a bar is missing after bar 13)" in said
    assert "Soprano, bar 13: bar 13 taken from the score" in said
    code, said = remetre("check", "score.musicxml", "mended")
    assert (code, said.splitlines()[-1]) == (0, "7 files, 161 bars: all right")
    score = read(SONG)
    for part in score.parts:
        (mended,) = read(folder / "mended" / f"{part.name}.musicxml").parts
        assert mended.voices == part.voices
        assert [(each.number, each.metre) for each in mended.bars] == [
            (each.number, each.metre) for each in part.bars
        ]


def test_what_was_done_to_a_part_is_told_as_data_too(folder, remetre):
    code, said = remetre("mend", "score.musicxml", "parts", "--json")
    told = {line["file"]: line["mended"] for line in map(json.loads, said.splitlines())}
    assert code == 0
    assert [(each["bar"], each["kind"], each["done"]) for each in told["parts/Alto.musicxml"]] == [
        ("14", "missing", "bar 14 put in from the score")
    ]
    assert told["parts/Bass.musicxml"] == []


SCORE = ["C5h D5h", "E5q F5q G5q A5q", "B4w", "C5q D5q E5h", "F5h E5q D5q", "C5w"]
OTHER = ["C4w"] * 6
TAKEN = {
    "a value lost": (
        ["C5h D5h", "E5q F5q G5q", *SCORE[2:]], ["bar 2 taken from the score"],
    ),
    "a bar missing and the rest numbered on": (
        [*SCORE[:2], *SCORE[3:]],
        ["bar 3 put in from the score"],
    ),
    "two bars missing at the end": (SCORE[:4], ["bar 5 put in from the score"]),
    "a bar line lost": (
        [SCORE[0], f"{SCORE[1]} {SCORE[2]}", *SCORE[3:]], ["bar 2 taken from the score"],
    ),
    "a bar line too many": (
        ["C5h", "D5h", *SCORE[1:]], ["bar 1 taken from the score"],
    ),
    "an empty bar too many": (
        [*SCORE[:3], "R", *SCORE[3:]], ["the empty bar 4 taken out"],
    ),
    "other numbers": (
        [*SCORE[:4], bar(SCORE[4], number="6"), bar(SCORE[5], number="7")],
        ["numbered 5 as in the score"],
    ),
}  # fmt: skip


@pytest.mark.parametrize("bars, done", TAKEN.values(), ids=TAKEN)
@pytest.mark.parametrize("divisions", [480, 1, 7])
def test_a_part_takes_from_the_score_what_it_lacks(bars, done, divisions):
    score = sheet(OTHER, SCORE)
    made = mended_by(sheet(bars, divisions=480), _renamed(score, divisions))
    assert [deed.done for deed in made.report.deeds] == done
    assert made.report.left == ()
    again = read(proven(made.score))
    assert written(again) == written(sheet(SCORE))
    assert check(again).is_right
    assert compare(again, score) == ()


def _renamed(score, divisions):
    """The score, its part called as the player's is, counted in other divisions."""
    tree = score.source.tree
    names = tree.findall(".//part-name")
    names[0].text, names[1].text = "Flute", "Part 1"
    for each in tree.iter("divisions"):
        each.text = str(divisions)
    for each in tree.iter("duration"):
        each.text = str(int(each.text) * divisions // 480)
    return read(etree.tostring(tree))


def test_a_part_in_another_key_takes_nothing_over_and_is_mended_by_itself():
    higher = ["D5h E5h", "F#5q G5q A5q", "C#5w", "D5q E5q F#5h", "G5h F#5q E5q", "D5w"]
    made = mended_by(sheet(higher), sheet(SCORE))
    assert [deed.done for deed in made.report.deeds] == ["a quarter rest put in at its end"]


def test_only_the_bars_asked_for_are_taken_over():
    spoilt = [*SCORE, "C5h C5q", "E5q F5q G5q", *SCORE[2:]]
    made = mended_by(sheet(spoilt), sheet([*SCORE, *SCORE]), bars="8")
    assert [deed.done for deed in made.report.deeds] == ["bar 8 taken from the score"]
    assert [fault.number for fault in check(made.score).faults] == ["7"]


def test_a_bar_that_is_wrong_in_the_score_is_not_taken_over():
    part = [SCORE[0], "E5q F5q G5q", *SCORE[2:]]
    score = [SCORE[0], "E5q F5q", *SCORE[2:]]
    made = mended_by(sheet(part), sheet(score))
    assert [deed.done for deed in made.report.deeds] == ["a quarter rest put in at its end"]


def test_a_tie_that_the_next_bar_breaks_gets_that_bar_from_the_score():
    tied = ["C5h D5h~", "D5q_ F5q G5q A5q", *SCORE[2:]]
    made = mended_by(sheet([tied[0], "E5q_ F5q G5q A5q", *SCORE[2:]]), sheet(tied))
    assert [(deed.fault.kind, deed.fault.number, deed.done) for deed in made.report.deeds] == [
        ("tie", "1", "bar 2 taken from the score")
    ]
    assert made.report.left == ()


def test_a_bar_of_finer_values_brings_its_divisions_and_they_end_with_it():
    finer = [SCORE[0], "E5e E5e F5q G5q A5q", *SCORE[2:]]
    made = mended_by(
        sheet([SCORE[0], "E5q F5q G5q", *SCORE[2:]], divisions=1), sheet(finer, divisions=2)
    )
    assert [deed.done for deed in made.report.deeds] == ["bar 2 taken from the score"]
    again = read(proven(made.score))
    assert check(again).findings == ()
    assert written(again) == written(sheet(finer))
