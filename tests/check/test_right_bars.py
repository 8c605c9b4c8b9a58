"""Bars that look wrong and are right: the checker is silent, or says a note and no fault.

Kinds and counts of such bars: read off about 900 real scores.
"""

import re

import pytest

from rhythm.check.ledger import check
from rhythm.formats.musicxml.read.score_reader import read
from tests.sheet import bar, faults, remarks, sheet, source

SILENT = {
    "plain bars": ["q q q q", "h. q", "R"],
    "a second voice for one beat, reached by a short backup": ["q q q q <960 v2 G4e G4e"],
    "a second voice for one beat, reached by a forward with a voice": [
        "w <1920 v2 >480 q <960 >480"
    ],
    "a second voice on the second beat of a triplet that the first voice spells out": [
        "e:3/2 e:3/2 e:3/2 h. <1760 v2 >0 A4e:3/2"
    ],
    "a second voice that stops inside a triplet": [
        "e:3/2 e:3/2 e:3/2 h. <1920 v2 e:3/2 e:3/2"
    ],
    "a voice that crosses staves": ["st1 q q st2 q q", "st1 h h <1920 v5 st2 w"],
    "a second voice that stops early on a staff it shares": ["st1 w <1920 v2 h <960 v5 st2 w"],
    "a voice that goes to the other staff and stops": ["st1 w <1920 v5 st2 q st1 q"],
    "eight voices": [
        "w <1920 v2 w <1920 v3 q <480 v4 q <480 v5 q <480 v6 q <480 v7 q <480 v8 h"
    ],
    "notes with no voice": ["v q q q q"],
    "voices numbered afresh on each staff": ["st1 q q q q <1920 st2 h h"],
    "notes with no voice on two staves": ["v st1 q q q q <1920 st2 h h"],
    "a hidden voice that fits": ["w <1920 v2 q! q! h!"],
    "hidden rests after a visible note": ["q rq! rh!", "w"],
    "cue notes that fit": ["R <1920 v2 q? q? h?"],
    "a grace note": ["g q q q q"],
    "grace notes that close a bar": ["q q q q g g"],
    "a rest with no type": ["r=1920", "q r=1440"],
    "a rest with no type in a bar of three": [bar("r=1440", "3/4"), "r=1920"],
    "a whole rest in a bar of three": [bar("rw=1440", "3/4"), bar("rw", "3/4")],
    "a triplet that the upbeat begins and the last bar ends": [
        bar("e:3/2", number="0", implicit=True), "w", "h. e:3/2 e:3/2",
    ],
    "a triplet in two halves of a split bar": [
        "w", bar("h. e:3/2", right="||"), "e:3/2 e:3/2", "w",
    ],
    "a double tremolo": ["h% h% h"],
    "a chord": ["q q+ q q+ h h+"],
    "a triplet of a quarter and an eighth": ["q:3/2 e:3/2 h."],
    "a triplet with rests": ["e:3/2 re:3/2 e:3/2 h."],
    "a triplet of mixed values": ["e:3/2 s:3/2 s:3/2 e:3/2 h."],
    "half a sextuplet": ["s:6/4 s:6/4 s:6/4 e h."],
    "a septuplet as exact as its divisions": [bar("d420 e:7/4 " + "e:7/4 " * 6 + "h")],
    "a tuplet that changes nothing (6:6)": ["e:6/6 e:6/6 e:6/6 e:6/6 e:6/6 e:6/6 q"],
    "a compounded ratio as one fraction": ["d648 " + "s:81/16 " * 81],
    "a duplet in compound time": [bar("e:2/3 e:2/3 q.", "6/8")],
    "a quadruplet in compound time": [bar("e:4/3 e:4/3 e:4/3 e:4/3 q.", "6/8")],
    "a triplet over the bar line": [bar("h:3/2 q:3/2", "2/4"), bar("q:3/2 h:3/2", "2/4")],
    "a metre of one quarter": [bar("e e", "1/4"), bar("q", "1/4")],
    "a metre of thirty-six quarters": [bar("w " * 9, "36/4")],
    "seven thirty-seconds": [bar("t " * 7, "7/32")],
    "two sixty-fourths": [bar("x x", "2/64")],
    "thirty-one eighths": [bar("w w w q. h", "31/8"), bar("e " * 31, "31/8")],
    "an additive metre": [bar("q. q", "3+2/8"), bar("e e e e e", "3+2/8")],
    "a composite metre": [bar("q. q h.", "3+2/8+3/4")],
    "no metre measured, bars alike": [bar("q q q q", "senza"), *["q q q q"] * 5],
    "no metre measured": [bar("w w q", "senza"), bar("h", "senza")],
    "divisions that change": ["q q q q", "d960 q q q q", "d480 q q d960 h"],
    "an upbeat that the last bar completes": [
        bar("q", number="0", implicit=True), "w", "h.",
    ],
    "an upbeat that nothing completes": [bar("q", number="0", implicit=True), "w", "w"],
    "an upbeat that is numbered like any bar": ["q", "w", "h."],
    "a bar split by a repeat": [
        "w", bar("h", right=":|"), bar("h", number="X1", implicit=True), "w",
    ],
    "a bar split by a double bar": ["w", bar("q", right="||"), "h.", "w"],
    "a bar split with no bar line between": [
        "w", bar("h.", number="2"), bar("q", number="2a"), "w",
    ],
    "a bar split in three": ["w", bar("q", right="||"), "q", bar("h", left="|:"), "w"],
    "halves of two metres": [
        bar("q. q.", "6/8"), bar("q.", right="||"), bar("s s s s s s", "12/16"), "h.",
    ],
    "a bar split where the metre changes to that of both halves together": [
        "w", bar("q", right="||"), bar("h", "3/4"), "h.",
    ],
    "a first bar split, its second half numbered X1": [
        bar("h", number="1"), bar("h", number="X1"), bar("w", number="2"),
    ],
    "a repeat that starts with three beats and ends with the fourth": [
        "w", bar("h.", left="|:"), "w", bar("q", right=":|"), "w",
    ],
    "a piece and a repeat in it that both start with three beats": [
        "h.", "w", bar("h.", left="|:"), "w", bar("q", right=":|"), "w", "q",
    ],
    "an upbeat inside, after a repeat, completed where the repeat ends": [
        bar("q q", "2/4"), bar("h", right=":|"),
        bar("s s s s s s s", left="|:"), bar("h"), bar("s", right=":|"),
    ],
    "a repeat whose last bar completes the upbeat of the piece": [
        bar("q", number="0", implicit=True), "w", bar("h.", right=":|"),
        bar("q", number="X1", implicit=True), "w", "h.",
    ],
    "endings that share the bar before them": [
        "w", "h", bar("h", ending="1", left=" ", right=":|"), bar("h", ending="2", left=" "), "w",
    ],
    "a tie over the bar line": ["h. q~", "q_ h."],
    "a tie into another voice": ["w~ <1920 v2 h h", "v2 w_"],
    "a tie of one chord member": ["q q C4h~ E4h+", "C4h_ F4h+ h"],
    "a tie to the other name of the key": ["h. G#4q~", "Ab4q_ h."],
    "an arpeggio that gathers into its chord": [
        "C4e~ E4e~ G4e~ C4e_ E4e_+ G4e_+ h", "w",
    ],
    "a tie over the hidden notes of an ornament": ["C5q~ D5e! E5e! C5q_ q", "w"],
    "a tie over cue notes": ["C5q~ D5e? E5e? C5q_ q", "w"],
    "a tie that a hidden voice sounds out": ["C5w~ <1920 v2 D5h! C5h!", "C5w_"],
    "a tuplet in a tuplet": ["d1080 e:3/2 s:9/4 s:9/4 s:9/4 e:3/2 h.", "w"],
    "hidden rests that fill the bar before an upbeat": [
        bar("q", number="0", implicit=True), "w", bar("h. rq!", right=":|"),
        bar("q rh.!", left="|:"), "w", bar("h. rq!", right=":|"),
    ],
    "a tie back to the start of a repeat before a bar that starts alike": [
        bar("w_", left="|:"), bar("w~", right=":|"), "w",
    ],
    "a tie into the second ending": [
        "w~", bar("w_", ending="1", left=" ", right=":|"), bar("w_", ending="2", left=" "), "w",
    ],
}  # fmt: skip


@pytest.mark.parametrize("bars", SILENT.values(), ids=SILENT)
def test_nothing_is_said_about(bars):
    ledger = check(sheet(list(bars)))
    assert [str(finding) for finding in ledger.findings] == []


DAMAGED = {
    "a far backup that a forward makes good": ["q q <400000 >400000 q q", "w"],
    "a far backup and a forward to the start": ["q q q q <400000 >398080 v2 w", "w"],
    "durations of twice the divisions": ["q=960 q=960 q=960 q=960 <3840 v2 h=1920 h=1920", "w"],
    "a hidden rest that reaches over the bar line": ["w <1920 v2 h rh! rq!", "w"],
    "hidden notes past the bar line": ["w", "w q!", "w"],
    "cue notes past the bar line": ["w", "w <960 v2 q? q? q? q?", "w"],
}


@pytest.mark.parametrize("bars", DAMAGED.values(), ids=DAMAGED)
def test_no_length_is_at_fault_where_the_page_shows_none(bars):
    """What is wrong in the file alone is told as that, whatever its divisions are."""
    data = source(list(bars))
    twice = re.sub(
        rb"<(divisions|duration)>(\d+)<", lambda m: b"<%b>%d<" % (m[1], 2 * int(m[2])), data
    )
    for each in (data, twice):
        said = faults(check(read(each)))
        assert {kind for _, _, kind in said} <= {"contradiction", "far-backup"}


def test_a_tie_may_stop_on_a_grace_note_and_may_ring():
    tied = source(["C4h. D4q~", "g E4w"])
    assert faults(check(read(tied))) == [("1", "1", "tie")]
    stop = b'<grace/><pitch><step>D</step><octave>4</octave></pitch><tie type="stop"/>'
    start = tied.index(b"<grace/>")
    graced = tied[:start] + stop + tied[tied.index(b"</pitch>", start) + len(b"</pitch>") :]
    assert check(read(graced)).findings == ()
    ringing = tied.replace(b'<tie type="start"/>', b"").replace(b'"start"', b'"let-ring"')
    assert b'<tied type="let-ring"/>' in ringing
    assert check(read(ringing)).findings == ()
    beside = tied.replace(b'<tied type="start"/>', b'<tied type="let-ring"/>')
    assert b'<tie type="start"/>' in beside and b'<tied type="start"/>' not in beside
    assert check(read(beside)).findings == ()


NOTED = {
    "a hidden voice longer than the bar": (["w <1920 v2 h! w!"], [("1", "2", "hidden")]),
    "a cue voice longer than the bar": (["w <1920 v2 h? w?"], [("1", "2", "hidden")]),
    "a last bar short though the first is full": (["w", "w", "h."], [("3", "1", "last")]),
    "an upbeat and a last bar that make less than a bar": (
        [bar("q", number="0", implicit=True), "w", "h"], [("3", "1", "last")],
    ),
    "an upbeat and a last bar that make more than a bar": (
        [bar("h.", number="0", implicit=True), "w", "h"], [("3", "1", "last")],
    ),
    "a last bar that mirrors the upbeat": (
        [bar("q", number="0", implicit=True), "w", "q"], [("3", "1", "last")],
    ),
    "a cadenza": (["w", "w w w h.", "w"], [("2", "", "cadenza")]),
    "a cadenza of whole bars with a note over their border": (
        ["w", "h. h h.", "w"], [("2", "", "cadenza")],
    ),
    "a breve that ends a piece in 4/4": (["w", "w", "b"], [("3", "", "cadenza")]),
    "a chord member of another length": (["q q+=240 h."], [("1", "1", "member")]),
    "seven notes rounded to 480 divisions": (
        [bar("e:7/4=137 " * 6 + "e:7/4=137 h")], [("1", "1", "rounded")],
    ),
    "notes without a type that end before the bar by rounding": (
        ["w", "d30 n=29 n=30 n=30 n=30", "d480 w"], [("2", "1", "rounded")],
    ),
    "notes without a type that end after the bar by rounding": (
        [bar("d96 q q n=97", "3/4"), "d96 h."], [("1", "1", "rounded")],
    ),
    "a backup one tick too short": (["w", "w <1919 v2 w", "w"], [("2", "", "rounded")]),
    "a backup one tick too long": (["w", "w <1921 v2 w", "w"], [("2", "", "rounded")]),
    "a backup one tick beside a note inside the bar": (
        ["q q h <961 v2 h", "w"], [("1", "", "rounded")],
    ),
    "rounding repaired by a forward": (
        [bar("e:7/4=137 " * 7 + ">1 h")], [("1", "1", "rounded")],
    ),
    "no divisions yet": (["q=1 q=1 h=2"], [("1", "1", "no-divisions")]),
    "a forward in place of a rest": (["q >480 h"], [("1", "1", "gap")]),
    "a forward in place of the last rest": (["h. >480", "w"], [("1", "1", "gap")]),
    "a tie met by the right note without its stop": (["w~", "w"], [("1", "1", "tie-mark")]),
    "a tie that only stops": (["w", "w_"], [("2", "1", "tie-mark")]),
    "a tuplet's bracket that does not end": (
        ["e:3/2[ e:3/2 e:3/2 h."], [("1", "1", "bracket")],
    ),
    "most of a first bar": (["h.", "w", "w"], [("1", "1", "upbeat")]),
    "a section that starts with an upbeat": (
        ["w", bar("w", right="||"), "q", "w"], [("3", "1", "upbeat")],
    ),
    "an uncounted bar that nothing completes": (
        ["w", bar("h", implicit=True, number="X1"), "w"], [("X1", "1", "implicit")],
    ),
    "a staff whose only voice stops early": (
        ["st1 q q q q <1920 v5 st2 h q", "st1 w <1920 v5 st2 w"], [("1", "5", "staff")],
    ),
    "an empty bar": (["w", "", "w"], [("2", "", "empty")]),
}  # fmt: skip


@pytest.mark.parametrize("bars, said", NOTED.values(), ids=NOTED)
def test_a_note_and_no_fault_is_said_about(bars, said):
    divisions = 0 if "q=1 q=1 h=2" in bars else 480
    ledger = check(sheet(list(bars), divisions=divisions))
    assert faults(ledger) == []
    assert remarks(ledger) == said


@pytest.mark.parametrize("ticks", [1919, 1921])
def test_a_rounded_backup_leads_to_the_start_of_the_bar(ticks):
    row = check(sheet(["w", f"w <{ticks} v2 h h", "w"])).rows[2]
    assert (row.voice, row.verdict, row.difference) == ("2", "right", 0)


def test_a_backup_of_more_than_a_tick_too_much_is_no_rounding():
    assert faults(check(sheet(["w <1925 v2 w", "n=961 n=959"]))) == [("1", "", "before-start")]


def test_a_part_without_a_signature_takes_the_first_parts():
    score = sheet([bar("h.", "3/4")], [bar("q q q")], time="")
    assert list(check(score).findings) == []


def test_whole_bar_rests_fit_the_bar_that_the_other_parts_hold():
    upbeat = {"number": "0", "implicit": True}
    score = sheet([bar("q", **upbeat), "w"], [bar("R", **upbeat), "w"], [bar("rw", **upbeat), "w"])
    assert list(check(score).findings) == []


def test_parts_in_two_metres_may_share_their_bars():
    score = sheet([bar("q. q.", "6/8"), "q. q."], [bar("q q q", "3/4"), "h."], time="")
    assert list(check(score).findings) == []


def test_seventeen_divisions_are_read_as_the_values_they_stand_for():
    text = "d17 e=8 e=9 e=8 e=9 e=8 e=9"
    ledger = check(sheet([bar(text, "6/8")]))
    assert faults(ledger) == []
    assert [row.written == row.length for row in ledger.rows] == [True]
