"""Accidentals where bar lines moved: each note reads as it sounded, and none has a sign too many.

An accidental holds to the end of its bar, on its line and staff alone; a note tied over a bar line
needs none and sets none (Gould, Behind Bars, from memory).
"""

from __future__ import annotations

import pytest
from lxml import etree

import rhythm
from rhythm.formats.musicxml.read.score_reader import read
from tests.markup import note, partwise

SIGN = {"#": "sharp", "n": "natural", "b": "flat"}


def line(text: str) -> str:
    """Notes such as ``F#5:1~``: quarters behind the colon, ``!`` its sign is written, ``~`` tied.

    ``_`` says that a tie stops here.
    """
    made = []
    for token in text.split():
        pitch, _, rest = token.partition(":")
        value = int(rest.strip("!~_"))
        ties = " ".join(["stop"] * ("_" in rest) + ["start"] * ("~" in rest))
        sign = SIGN.get(pitch[1], "natural")
        after = f"<accidental>{sign}</accidental>" if "!" in rest else ""
        type = {1: "quarter", 2: "half", 4: "whole"}[value]
        xml = note(pitch, value, type, ties=ties)
        made.append(xml.replace("</type>", f"</type>{after}"))
    return "".join(made)


def signs(score: rhythm.Score, tmp_path) -> list[list[str]]:
    """The notes of each bar as they are written: step, octave, and the sign in front, if any."""
    rhythm.write(score, tmp_path / "out.musicxml")
    root = etree.parse(tmp_path / "out.musicxml").getroot()
    names = {"sharp": "#", "natural": "n", "flat": "b"}
    return [
        [
            names.get(each.findtext("accidental") or "", "")
            + (each.findtext("pitch/step") or "")
            + (each.findtext("pitch/octave") or "")
            for each in bar.iter("note")
            if each.find("rest") is None
        ]
        for bar in root.iter("measure")
    ]


CASES = {
    "a note that loses the sign before it gets one": (
        "4/4", ["F#5:1! F#5:1 F#5:1 F#5:1"], "2/4", [["#F5", "F5"], ["#F5", "F5"]],
    ),
    "a note behind a sign of the bar that was takes a natural": (
        "2/4", ["F#5:2!", "F5:2"], "4/4", [["#F5", "nF5"]],
    ),
    "a note tied over the new bar line has no sign, and the next one has": (
        "4/4", ["G5:1 F#5:2! F#5:1"], "2/4", [["G5", "#F5"], ["F5", "#F5"]],
    ),
    "a note tied over a bar line sets no sign for the natural behind it": (
        "4/4", ["G5:1 F#5:2! F5:1!"], "2/4", [["G5", "#F5"], ["F5", "nF5"]],
    ),
    "a sign does not hold in another octave": (
        "2/4", ["F#5:2!", "F4:2"], "4/4", [["#F5", "F4"]],
    ),
    "a sign that stands is left where it says again what holds": (
        "2/4", ["F#5:2!", "F#5:2!"], "4/4", [["#F5", "#F5"]],
    ),
    "a note that read wrong in the file is left": (
        "4/4", ["F#5:1 F#5:1 F#5:1 F#5:1"], "2/4", [["F5", "F5"], ["F5", "F5"]],
    ),
}  # fmt: skip


@pytest.mark.parametrize(("metre", "bars", "to", "expected"), CASES.values(), ids=CASES)
def test_where_bar_lines_move(metre, bars, to, expected, tmp_path) -> None:
    theme = read(partwise(*map(line, bars), divisions=1, time=metre))
    assert signs(rhythm.rebar(theme, to), tmp_path) == expected


def test_the_key_needs_no_sign_and_a_note_outside_it_does(tmp_path) -> None:
    source = partwise(line("F#5:1 F5:1! F5:1 F#5:1!"), divisions=1)
    key = b"</divisions><key><fifths>1</fifths></key>"
    theme = read(source.replace(b"</divisions>", key))
    assert signs(rhythm.rebar(theme, "2/4"), tmp_path) == [["F5", "nF5"], ["nF5", "#F5"]]


def test_a_grace_note_s_sign_holds_for_the_notes_behind_it(tmp_path) -> None:
    grace = note("F#5", type="eighth", before="<grace/>")
    grace = grace.replace("</type>", "</type><accidental>sharp</accidental>")
    theme = read(partwise(line("G5:2") + grace + line("G5:1 F#5:1"), divisions=1))
    found = signs(rhythm.rebar(theme, "2/4"), tmp_path)
    assert found == [["G5"], ["#F5", "G5", "F5"]]
