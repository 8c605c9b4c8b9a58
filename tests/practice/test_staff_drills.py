"""Every exercise of a sheet stands on the theme's staves, under its own key and clef."""

from __future__ import annotations

from pathlib import Path

from lxml import etree

import rhythm
from rhythm.check.ledger import check
from rhythm.formats.musicxml.saving import proven
from rhythm.practice.exercises import exercises
from rhythm.practice.sheet_plan import parse_plan
from rhythm.score.model import Score

ROOT = Path(__file__).parents[2]

NOTE = (
    "<note><pitch><step>{0}</step><octave>4</octave></pitch><duration>{1}</duration>"
    "<voice>1</voice><type>{2}</type>{3}</note>"
)
G_CLEF = "<clef><sign>G</sign><line>2</line></clef>"


def theme(first: str, third: str, step: str = "G", sign: str = "") -> Score:
    """Four bars of 3/4, with more signs at the first and third."""
    bars = []
    for number, signs in enumerate((first, "", third, ""), start=1):
        more = ""
        if number == 1:
            more = "<divisions>2</divisions>"
            signs = signs.replace("</key>", "</key>" + TIME) if "key" in signs else TIME + signs
        signs = f"<attributes>{more}{signs}</attributes>" if more or signs else ""
        notes = NOTE.format(step, 4, "half", sign) + NOTE.format("G", 2, "quarter", "")
        bars.append(f'<measure number="{number}">{signs}{notes}</measure>')
    return rhythm.read(
        (
            '<score-partwise version="4.0"><part-list><score-part id="P1">'
            '<part-name>Voice</part-name></score-part></part-list><part id="P1">'
            + "".join(bars)
            + "</part></score-partwise>"
        ).encode()
    )


TIME = "<time><beats>3</beats><beat-type>4</beat-type></time>"
DRILLS = "".join(
    f"[[exercise]]\n{verb}\n"
    for verb in ('rebar = "2/4"', "drill = 3", 'restate = "4/4"', 'vary = "displacement:1/8"')
)


def signs_in_force(score: Score) -> list[tuple[str, str, str]]:
    """Key, clef and number of lines in the bar of every heading, as a reader of the file has it."""
    root = etree.fromstring(proven(score))
    key, clef, lines = "", "", "5"
    found = []
    for measure in root.iter("measure"):
        key = measure.findtext(".//key/fifths") or key
        clef = measure.findtext(".//clef/sign") or clef
        lines = measure.findtext(".//staff-lines") or lines
        if any(words.get("font-weight") == "bold" for words in measure.iter("words")):
            found.append((key, clef, lines))
    return found


def test_a_key_that_changes_in_the_theme_is_set_back_for_every_exercise() -> None:
    score = theme(f"<key><fifths>0</fifths></key>{G_CLEF}", "<key><fifths>2</fifths></key>")
    sheet = exercises(score, parse_plan(DRILLS)).score
    assert signs_in_force(sheet) == [("0", "G", "5")] * 5


def test_a_key_that_only_comes_later_does_not_hold_in_the_next_exercise() -> None:
    sheet = exercises(theme(G_CLEF, "<key><fifths>2</fifths></key>"), parse_plan(DRILLS)).score
    assert signs_in_force(sheet)[1:] == [("0", "G", "5")] * 4


def test_a_clef_that_changes_in_the_theme_is_set_back_for_every_exercise() -> None:
    later = "<clef><sign>F</sign><line>4</line></clef>"
    sheet = exercises(theme(G_CLEF, later), parse_plan(DRILLS)).score
    assert [clef for _, clef, _ in signs_in_force(sheet)] == ["G"] * 5


def test_signs_that_do_not_change_are_written_once() -> None:
    score = theme(f"<key><fifths>1</fifths></key>{G_CLEF}", "")
    data = proven(exercises(score, parse_plan(DRILLS)).score)
    assert data.count(b"<key>") == data.count(b"<clef>") == 1
    data = proven(exercises(score, parse_plan(DRILLS), only="rhythm").score)
    assert data.count(b"<clef>") == data.count(b"<staff-lines>") == 1


def test_drills_on_a_chromatic_pitch_say_its_accidental_in_every_bar() -> None:
    natural = "<accidental>natural</accidental>"
    score = theme(f"<key><fifths>1</fifths></key>{G_CLEF}", "", step="F", sign=natural)
    plan = "[[exercise]]\ndrill = 3\n[[exercise]]\ndrill = 5\n"
    root = etree.fromstring(proven(exercises(score, parse_plan(plan)).score))
    seen = 0
    for measure in root.iter("measure"):
        signed: set[str] = set()
        for note in measure.iter("note"):
            if note.findtext("pitch/step") != "F":
                continue
            octave = note.findtext("pitch/octave") or ""
            tied = any(tie.get("type") == "stop" for tie in note.iterchildren("tie"))
            signed |= {octave} if note.find("accidental") is not None else set()
            assert octave in signed or tied
            seen += 1
    assert seen > 10


def test_two_hands_over_one_staff_have_a_line_each_that_is_hidden_elsewhere() -> None:
    score = theme(f"<key><fifths>1</fifths></key>{G_CLEF}", "")
    plan = parse_plan(
        'order = "plan"\n[[exercise]]\nagainst = "3:2"\n[[exercise]]\nrestate = "4/4"'
    )
    root = etree.fromstring(proven(exercises(score, plan).score))
    second = root.findall("part")[1]
    shown = [details.get("print-object", "yes") for details in second.iter("staff-details")]
    assert shown == ["no", "yes", "no"]
    struck = [bar for bar in second.iter("measure") if bar.find("note/unpitched") is not None]
    assert len(struck) == 2
    lines = [each.text for each in root.find("part").iter("staff-lines")]
    assert lines == ["5", "1", "5"]


def test_a_piano_theme_has_a_hand_to_each_staff_and_no_staff_blank() -> None:
    ferry = rhythm.read(ROOT / "examples/ferry-steps.musicxml")
    sheet = exercises(ferry, parse_plan('[[exercise]]\nagainst = "3:2"\n[[exercise]]\ndrill = 4'))
    two, one = (
        {(note.staff, note.kind) for _, _, event in each.score.events() for note in event.notes}
        for each in sorted(sheet.exercises, key=lambda each: each.recipe.number)
    )
    assert two == {("1", "pitched"), ("2", "pitched")}
    assert one == {("1", "pitched"), ("2", "rest")}
    assert check(sheet.score).is_right
    proven(sheet.score)
