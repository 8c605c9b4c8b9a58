"""What a note carried, where several notes are made of it or the line runs backwards."""

from __future__ import annotations

import pytest
from gmpy2 import mpq
from lxml import etree

from rhythm.formats.musicxml.read.score_reader import read
from rhythm.formats.musicxml.saving import proven
from rhythm.verbs import tuplet, vary
from tests.corpus import pick
from tests.markup import note, partwise

START, STOP = ('<slur type="start" number="1"/>', '<slur type="stop" number="1"/>')
FERMATA = "<fermata/>"
STACCATO = "<articulations><staccato/></articulations>"
BREATH = "<articulations><breath-mark/></articulations>"
SUNG = '<lyric number="1"><syllabic>single</syllabic><text>la</text></lyric>'
NAMES = ("slur", "fermata", "staccato", "breath-mark", "lyric", "accidental", "notehead")


def carried(data: bytes) -> list[str]:
    """What each note carries, rests left out, in the order of the names above."""
    found: list[str] = []
    for each in etree.fromstring(data).iter("note"):
        if each.find("rest") is None:
            items = [item for name in NAMES for item in each.iter(name)]
            found.append(" ".join(f"{i.tag} {i.get('type', '')}".strip() for i in items))
    return found


def whole(inside: str = "", after: str = "") -> bytes:
    return partwise(note("C4", 4, "whole", inside=inside, after=after), divisions=1)


@pytest.mark.parametrize(
    ("inside", "after", "first", "last"),
    [
        (FERMATA, "", "", "fermata"),
        (START, "", "slur start", ""),
        (STOP, "", "", "slur stop"),
        (STOP + START, "", "slur start", "slur stop"),
        (STACCATO + FERMATA, "", "staccato", "fermata"),
        (BREATH, "", "", "breath-mark"),
        ("", SUNG, "lyric", ""),
    ],
)  # what begins stands on the first piece of a split note, what ends on the last: common practice
def test_notes_made_of_one_share_what_it_carried(
    inside: str, after: str, first: str, last: str
) -> None:
    theme = read(whole(inside, after))
    assert carried(proven(vary(theme, "embellishment:2"))) == [
        first,
        last,
    ]
    assert carried(proven(tuplet(theme, split=3, span="1"))) == [first, "", last]


def test_notes_made_of_tied_ones_share_what_all_of_those_carried() -> None:
    early = note("C4", 4, "whole", ties="start", inside=START, after=SUNG)
    late = note("C4", 4, "whole", ties="stop", inside=FERMATA)
    result = proven(vary(read(partwise(early, late, divisions=1)), "embellishment:4"))
    assert carried(result) == ["slur start lyric", "", "", "fermata"]
    assert b"<tie" not in result


def test_a_split_of_split_notes_shares_again() -> None:
    theme = read(whole(START + FERMATA))
    twice = carried(proven(vary(theme, ["embellishment:2", "embellishment:2"])))
    assert twice == ["slur start", "", "", "fermata"]


def test_notes_made_of_one_look_like_it() -> None:
    head = note("C4", 4, "whole").replace("</type>", "</type><notehead>diamond</notehead>")
    result = proven(vary(read(partwise(head, divisions=1)), "embellishment:2"))
    assert carried(result) == ["notehead", "notehead"]


def test_a_stroke_that_is_split_is_not_accented_twice() -> None:
    theme = partwise(note("x", 4, "whole", inside=STACCATO), divisions=1)
    assert carried(proven(vary(read(theme), "embellishment:2"))) == ["staccato", ""]


@pytest.mark.parametrize(
    ("by", "expected"),
    [
        (["retrograde", "embellishment:2"], ["slur start", "", "", "slur stop"]),
        (["embellishment:2", "retrograde"], ["slur start", "", "", "slur stop"]),
    ],
)
def test_slurs_hold_over_split_notes_that_run_backwards(by: list[str], expected: list[str]) -> None:
    halves = note("C4", 2, "half", inside=START) + note("D4", 2, "half", inside=STOP)
    assert carried(proven(vary(read(partwise(halves, divisions=1)), by))) == expected


def test_a_slur_that_ended_on_the_last_of_tied_notes_begins_on_their_first_one() -> None:
    early = note("C4", 2, "half", inside=START) + note("D4", 2, "half", ties="start")
    late = note("D4", 2, "half", ties="stop", inside=STOP) + note("E4", 2, "half")
    result = vary(read(partwise(early, late, divisions=1)), "retrograde")
    assert carried(proven(result)) == ["", "slur start", "", "slur stop"]


def test_real_scores_keep_every_fermata_and_slur_when_their_notes_are_split() -> None:
    seen = 0
    for path in pick(10):
        before = path.read_bytes() if path.suffix != ".mxl" else proven(read(path))
        after = etree.fromstring(proven(vary(read(path), "embellishment:2")))
        for tag in ("fermata", "slur", "lyric", "accidental"):
            held = len(list(etree.fromstring(before).iter(tag)))
            assert len(list(after.iter(tag))) >= held
            seen += held
    assert seen > 100


@pytest.mark.parametrize(
    ("inside", "expected"),
    [
        # C off-beat D, E off-beat F: D and F are absorbed
        ((START, "", "", STOP), ["slur start", "slur stop"]),
        (("", START, "", STOP), ["slur start", "slur stop"]),
        ((START, STOP, "", ""), ["", ""]),
        ((START, STOP + START, STOP, ""), ["slur start", "slur stop"]),
        (("", "", "", FERMATA), ["", "fermata"]),
        (("", "", FERMATA, FERMATA), ["", "fermata"]),
    ],
)
def test_what_ended_on_an_absorbed_note_ends_on_the_one_that_took_it_in(
    inside: tuple[str, ...], expected: list[str]
) -> None:
    pitches = ("C4", "D4", "E4", "F4")
    line = "".join(note(p, 1, "eighth", inside=i) for p, i in zip(pitches, inside, strict=True))
    result = vary(read(partwise(line, divisions=2, time="2/4")), "reduction")
    assert carried(proven(result)) == expected


def test_a_note_that_took_others_in_is_tied_to_what_they_were_tied_to() -> None:
    early = note("C4", 3, "quarter", dots=1, ties="")
    chord = note("C4", 1, "eighth", ties="start") + note("E4", 1, "eighth", before="<chord/>")
    late = note("C4", 4, "half", ties="stop") + note("F4", 4, "half", before="<chord/>")
    result = vary(read(partwise(early + chord + late, divisions=2)), "reduction")
    both = [(event.onset, note.tie_out) for _, _, event in result.events() for note in event.notes]
    assert both == [(0, True), (mpq(1, 2), False), (mpq(1, 2), False)]
    proven(result)
