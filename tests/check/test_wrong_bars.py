"""Bars that are wrong: found where they go wrong, named, measured, and said once."""

import pytest
from gmpy2 import mpq

from rhythm.check.ledger import check
from rhythm.check.mending import mend
from rhythm.exact.errors import RequestError
from tests.sheet import bar, faults, remarks, sheet

# bars, then (bar, voice, kind, position, amount, what is said, what would make it right)
WRONG = {
    "a quarter short of 6/4": (
        [bar("h. h.", "6/4"), "h. h", "h. h."],
        ("2", "1", "short", "5/4", "-1/4", "a quarter short of 6/4",
         "holds exactly 5/4; a quarter rest would fill it"),
    ),
    "a dotted eighth too long": (
        ["w", "q q q q. s", "w"],
        ("2", "1", "long", "3/4", "3/16", "a dotted eighth too long for 4/4",
         "holds exactly 19/16; the signature 19/16 would fit"),
    ),
    "a rest of no type that lasts a quarter of the bar": (
        ["w", "r=480", "w"],
        ("2", "1", "short", "1/4", "-3/4", "a dotted half short of 4/4",
         "holds exactly 1/4; a dotted half rest would fill it"),
    ),
    "four notes without a type that miss the bar by a tick of a sixteenth": (
        ["w", "d4 n=3 n=4 n=4 n=4", "d480 w"],
        ("2", "1", "short", "15/16", "-1/16", "a sixteenth short of 4/4",
         "holds exactly 15/16; a sixteenth rest would fill it"),
    ),
    "a lost note behind which a backup counts a whole bar": (
        ["w", "q q q <1920 v2 w", "w"],
        ("2", "1", "short", "3/4", "-1/4", "a quarter short of 4/4",
         "a quarter rest would fill it"),
    ),
    "a rest of no type that lasts two bars": (
        [bar("h.", "3/4"), "r=2880", "h."],
        ("2", "1", "long", "0", "3/4", "a dotted half too long for 3/4",
         "holds exactly 6/4; a bar line is missing after 3/4"),
    ),
    "a bar line lost in 3/8": (
        [bar("q.", "3/8"), "q. q.", "q."],
        ("2", "1", "long", "3/8", "3/8", "a dotted quarter too long for 3/8",
         "holds exactly 6/8; a bar line is missing after 3/8"),
    ),
    "a bar line lost in 2/4": (
        [bar("h", "2/4"), "h h", "h"],
        ("2", "1", "long", "1/2", "1/2", "a half too long for 2/4",
         "holds exactly 4/4; a bar line is missing after 2/4"),
    ),
    "two bar lines lost": (
        ["w", "w w w", "w"],
        ("2", "1", "long", "1", "2", "a breve too long for 4/4",
         "holds exactly 6/2; bar lines are missing, one after every 4/4"),
    ),
    "all voices end together beyond the metre": (
        ["w", "h. h <2400 v2 w q", "w"],
        ("2", "", "long", "3/4", "1/4", "a quarter too long for 4/4",
         "holds exactly 5/4; the signature 5/4 would fit"),
    ),
    "all voices end together before the metre": (
        ["w", "h. <1440 v2 h q", "w"],
        ("2", "", "short", "3/4", "-1/4", "a quarter short of 4/4",
         "holds exactly 3/4; a quarter rest would fill it"),
    ),
    "a voice that starts at 1/2 of 3/4 and lasts 1/2": (
        [bar("h. <480 v2 h", "3/4")],
        ("1", "2", "long", "1/2", "1/4", "stands a quarter too late for 3/4",
         "a quarter earlier it would fit"),
    ),
    "one voice of two too long": (
        ["w", "w <1920 v2 h h q", "w"],
        ("2", "2", "long", "1", "1/4", "a quarter too long for 4/4", "it holds 5/4"),
    ),
    "notes of one voice that overlap though the end is right": (
        [bar("q e <480 s s e", "3/8")],
        ("1", "1", "overlap", "1/8", "1/8",
         "starts an eighth before what stands ahead of it in the voice ends",
         "an eighth later it would follow at once"),
    ),
    "a note of another voice inside this one's stream": (
        ["q q v2 q v1 q q <2400 v2 h >480 q"],
        ("1", "1", "stray", "1/2", "1/4", "a note of voice 2 stands inside this voice's stream",
         "move it to voice 2's own"),
    ),
    "a note of this voice that was given another": (
        ["q v2 q v1 q q <1920 v2 w"],
        ("1", "1", "stray", "1/4", "1/4", "a note of voice 2 stands in the stream of voice 1",
         "give it to voice 1"),
    ),
    "a negative duration that a later note makes good": (
        ["q=-480 q q q q q"],
        ("1", "1", "negative", "0", None, "a note or rest has a negative duration",
         "its type says a quarter"),
    ),
    "a duration of zero": (
        ["q q=0 q q q"],
        ("1", "1", "zero", "1/4", None, "a note or rest has the duration 0",
         "its type says a quarter"),
    ),
    "a duration of zero in the first of two voices": (
        ["q q=0 q q <1920 v2 w"],
        ("1", "1", "zero", "1/4", None, "a note or rest has the duration 0",
         "its type says a quarter"),
    ),
    "a negative duration in the first of two voices": (
        ["q q=-480 q q <1920 v2 w"],
        ("1", "1", "negative", "1/4", None, "a note or rest has a negative duration",
         "its type says a quarter"),
    ),
    "a duration of zero and no type in the first of two voices": (
        ["q n=0 q q <1920 v2 w"],
        ("1", "1", "zero", "1/4", None, "a note or rest has the duration 0",
         "a duration above 0 or a type would say how long it is"),
    ),
    "half a duration in the first of two voices": (
        ["q q=240 q q <1920 v2 w"],
        ("1", "1", "contradiction", "1/4", "-1/8",
         "written as a quarter, but its duration is an eighth",
         "the written value is believed: with it the bar adds up"),
    ),
    "a backup before the start of the bar": (
        ["q q q q <2400 v2 w"],
        ("1", "", "before-start", "0", "1/4", "a backup goes before the start of the bar",
         "a quarter less would reach the bar's start"),
    ),
    "a backup of hundreds of thousands of ticks that a forward repairs": (
        ["q q q q <400000 >398080 v2 w"],
        ("1", "", "far-backup", "0", "622/3", "a backup goes back by more than the bar holds",
         "about 207 whole notes less would reach the bar's start"),
    ),
    "a value that contradicts its duration, with which the bar adds up": (
        ["q q=240 e q. e"],
        ("1", "1", "contradiction", "1/4", "-1/8",
         "written as a quarter, but its duration is an eighth",
         "the duration is believed: with it the bar adds up"),
    ),
    "a duration that contradicts its value, with which the bar adds up": (
        ["w", "q q=240 q q", "w"],
        ("2", "1", "contradiction", "1/4", "-1/8",
         "written as a quarter, but its duration is an eighth",
         "the written value is believed: with it the bar adds up"),
    ),
    "a duration that contradicts its value and displaces the next voice": (
        ["w", "q=960 q h <1920 v2 E4w", "w"],
        ("2", "1", "contradiction", "0", "1/4",
         "written as a quarter, but its duration is a half",
         "the written value is believed: with it the bar adds up"),
    ),
    "a tie that leads to another pitch": (
        ["h. C4q~", "D4h. q"],
        ("1", "1", "tie", "3/4", None, "the tie of C4 leads nowhere: D4 follows",
         "end it on another C4 that follows at once, or take it off"),
    ),
    "a tie whose second note lost its flat": (
        ["h. Bb4q~", "B4h. q"],
        ("1", "1", "tie", "3/4", None, "the tie of Bb4 leads nowhere: B4 follows: a flat lost?",
         "end it on another Bb4 that follows at once, or take it off"),
    ),
    "a tie that leads to a rest": (
        ["h. q~", "rq h."],
        ("1", "1", "tie", "3/4", None, "the tie of C4 leads nowhere: a rest follows",
         "end it on another C4 that follows at once, or take it off"),
    ),
    "a tie whose stop stands later": (
        ["q~ D4q C4h_", "w"],
        ("1", "1", "tie", "0", None, "the tie of C4 leads nowhere: D4 follows",
         "its stop stands later, in bar 1"),
    ),
    "a triplet that stops midway": (
        ["w", "e:3/2 e:3/2 q q q e", "w"],
        ("2", "1", "tuplet", "0", "-1/12",
         "a tuplet stops midway after a triplet quarter",
         "a triplet eighth more would complete it; the voice would then hold 9/8"),
    ),
    "a triplet that stops midway beside a voice that goes on": (
        ["h. e:3/2 e:3/2 <1760 v2 w"],
        ("1", "1", "tuplet", "3/4", "-1/12",
         "a tuplet stops midway after a triplet quarter",
         "a triplet eighth more would complete it"),
    ),
    "a triplet that the end of the bar cuts off": (
        ["w", "h. e:3/2 e:3/2", "w"],
        ("2", "1", "tuplet", "3/4", "-1/12",
         "a tuplet stops midway after a triplet quarter",
         "a triplet eighth more would complete it"),
    ),
    "an upbeat followed by a bar that lacks as much": (
        [
            bar("q", number="0", implicit=True), bar("h.", number="1"), bar("w", number="2"),
            bar("h.", number="3"),
        ],
        ("1", "1", "short", "3/4", "-1/4", "a quarter short of 4/4",
         "holds exactly 3/4; a quarter rest would fill it"),
    ),
    "a sudden metre that is not filled": (
        ["w", bar("h. h", "6/4"), bar("w", "4/4")],
        ("2", "1", "short", "5/4", "-1/4", "a quarter short of 6/4",
         "holds exactly 5/4; a quarter rest would fill it"),
    ),
    "a score of one bar that is short": (
        ["h."],
        ("1", "1", "short", "3/4", "-1/4", "a quarter short of 4/4",
         "holds exactly 3/4; a quarter rest would fill it"),
    ),
}  # fmt: skip


@pytest.mark.parametrize("bars, said", WRONG.values(), ids=WRONG)
def test_what_is_wrong_is_found_and_said_once(bars, said):
    ledger = check(sheet(list(bars)))
    found = [
        (
            each.number, each.voice, each.kind, str(each.position),
            None if each.amount is None else str(each.amount), each.message, each.fix,
        )
        for each in ledger.findings
    ]  # fmt: skip
    assert found == [said]
    assert ledger.faults and not ledger.is_right


# One part of several: parts, then (part, bar, voice, kind).
PARTS = {
    "a part shorter than the others": (
        (["w", "w"], ["w", "h."], ["w", "w"]), ("P2", "2", "1", "short"),
    ),
    "a part longer than the others": (
        (["w", "w"], ["w", "w"], ["w", "w q"]), ("P3", "2", "1", "long"),
    ),
    "two whole-bar rests in one bar of one part": (
        (["w", "w"], ["w", "r=1920 r=1920"], ["w", "rw"]), ("P2", "2", "1", "long"),
    ),
    "a part that differs where no part fills the metre": (
        (["w", "h.", "w"], ["w", "h", "w"], ["w", "h.", "w"]), ("P2", "2", "1", "short"),
    ),
}  # fmt: skip


@pytest.mark.parametrize("parts, said", PARTS.values(), ids=PARTS)
def test_the_part_that_disagrees_is_named(parts, said):
    ledger = check(sheet(*map(list, parts)))
    found = [(each.part, each.number, each.voice, each.kind) for each in ledger.faults]
    assert said in found
    assert {each[1] for each in found} == {said[1]}
    assert len([each for each in found if each[0] == said[0] and each[2]]) == 1


def test_a_bar_line_that_one_part_lacks_is_told_where_it_is_missing():
    ledger = check(sheet(["w", "w w", "w", "w"], ["w", "w", "w", "w", "w"]))
    assert [(each.part, each.number, each.kind) for each in ledger.findings] == [
        ("P1", "2", "bar-line")
    ]


def test_where_no_part_fills_its_metre_the_length_nearest_to_it_is_the_bar_s():
    ledger = check(sheet(["w", "q", "w"], ["w", "h.", "w"]))
    assert [(each.part, str(each)) for each in ledger.findings] == [
        ("P1", "a half short of a bar of 3/4; a half rest would fill it"),
        ("P1", "a quarter short of 4/4; holds exactly 3/4; a quarter rest would fill it"),
    ]


def test_a_tie_beside_a_voice_that_is_too_long_is_right():
    ledger = check(sheet(["w", "h. E4q~ <1920 v2 w q", "E4q_ h. <1920 v2 w", "w"]))
    assert [(each.voice, each.kind) for each in ledger.findings] == [("2", "long")]


def test_a_voice_that_another_pushes_over_the_end_is_not_told_beside_it():
    ledger = check(sheet(["w", "q q q q e <1920 v2 h h <1920 v3 h h", "w"], ["w", "w", "w"]))
    assert [(each.voice, each.kind) for each in ledger.findings] == [("1", "long")]


def test_a_backup_that_no_wrong_duration_explains_is_told_beside_it():
    ledger = check(sheet(["q q=0 q q <1440 v2 w <2600 v3 w"]))
    assert [each.kind for each in ledger.findings] == ["zero", "before-start"]


def test_a_tie_beside_a_part_that_is_too_long_is_right():
    score = sheet(["w", "h. q rq", "w", "w"], ["w", "h. E4q~", "E4q_ E4h.", "w"])
    assert [(each.part, each.kind) for each in check(score).findings] == [("P1", "long")]


def test_a_tie_beside_a_whole_bar_rest_written_twice_is_right():
    score = sheet(["w", "R R", "w", "w"], ["w", "h. E4q~", "E4q_ E4h.", "w"])
    assert [(each.part, each.kind) for each in check(score).findings] == [("P1", "long")]


def test_a_type_that_an_exporter_guessed_is_told_from_its_duration():
    # 5/96 written as 15/256: a triple-dotted thirty-second for 100 ticks at 480 divisions.
    ledger = check(sheet(["t...=100 n=140 e q h", "n=961 n=959"]))
    assert [(each.kind, each.name) for each in ledger.faults] == [("contradiction", "5/768")]
    assert "written as a triple dotted thirty-second" in ledger.faults[0].message


def test_values_of_a_voice_that_contradict_their_durations_alike_are_told_once():
    """Divisions of one a quarter: a dotted quarter cannot be said in them."""
    ledger = check(sheet(["h h", "q.=2 e=0 h", "q.=2 q.=2 q=1"], divisions=1))
    last = [each for each in ledger.faults if each.number == "3"]
    assert [(each.kind, each.message) for each in last] == [
        ("contradiction", "2 notes are written as a dotted quarter, but their durations are a half")
    ]


def test_one_part_that_holds_its_last_note_too_long_is_the_one_that_is_wrong():
    """Bach, BWV 130.6, as music21 ships it: an upbeat, and a last bar of two beats in all but one.

    A dot too many in one horn; the other parts complete the upbeat.
    """
    up, last = bar("q", "3/4", number="0", implicit=True), bar("h", right="|]")
    rest = [up, "h.", "h.", last]
    ledger = check(sheet(rest, [up, "h.", "h.", bar("h.", right="|]")], rest, rest))
    assert [(each.part, each.number, each.kind, each.name) for each in ledger.faults] == [
        ("P2", "4", "long", "quarter")
    ]
    two = check(sheet(rest, [up, "h.", "h.", bar("h.", right="|]")]))
    assert [(each.part, each.kind) for each in two.faults] == [("P1", "short")]


def test_a_tuplet_that_lost_a_note_is_told_where_the_backup_behind_it_goes_too_far():
    whole = "e:3/2 e:3/2 e:3/2 q h <1920 v2 h h"
    ledger = check(sheet([whole, "e:3/2 e:3/2 q h <1920 v2 h h", whole]))
    assert [(each.number, each.voice, each.kind, each.name) for each in ledger.faults] == [
        ("2", "1", "tuplet", "triplet eighth")
    ]
    done = mend.outcome(sheet([whole, "e:3/2 e:3/2 q h <1920 v2 h h", whole]))
    assert check(done.score).is_right


def test_a_plan_of_mixed_bars_is_held():
    bars = [bar("q q q.", "7/8"), "q q q.", bar("q q.", "5/8"), bar("q q q.", "7/8"), "q q q."]
    ledger = check(sheet([*bars, bar("h", "4/8")]), against="7/8 7/8 5/8")
    assert [(each.number, each.fix) for each in ledger.faults] == [("6", "the first departure")]
    assert ledger.faults[0].message == "holds 2/4 where the plan has 5/8"


def test_the_first_departure_and_every_later_one_is_told():
    ledger = check(sheet(["h.", "h.", "w", "h."], time="3/4"), against="3/4")
    assert ledger.findings[0].message == "holds 4/4 where the plan has 3/4"
    ledger = check(sheet(["w", "h.", "w", "h."]), against="4/4")
    assert [(each.number, each.fix) for each in ledger.faults] == [
        ("2", "the first departure"), ("4", "a further departure"),
    ]  # fmt: skip


def test_a_departure_of_one_part_is_one():
    parts = (["w", "w", "w", "w"], ["w", "w", "h.", "w"])
    ledger = check(sheet(*parts), against="4/4 4/4 3/4 3/4")
    assert [(each.part, each.number, each.kind, str(each)) for each in ledger.faults] == [
        ("P1", "3", "plan", "a quarter too long for 3/4; it holds 4/4; the first departure"),
        ("P1", "4", "plan", "holds 4/4 where the plan has 3/4; a further departure"),
    ]


def test_rests_for_a_bar_of_another_signature_depart_from_the_plan():
    ledger = check(sheet(["w", bar("rw", "3/4"), bar("w", "4/4")]), against="4/4")
    assert [(each.number, str(each)) for each in ledger.findings] == [
        ("2", "rests for a bar of 3/4 where the plan has 4/4; the first departure")
    ]


def test_with_a_plan_the_signature_is_only_noted():
    ledger = check(sheet(["q q q.", "q q q.", "q q."]), against="7/8 7/8 5/8")
    assert faults(ledger) == []
    assert remarks(ledger)[0] == ("1", "", "signature")


LENGTHS = {"7/8": "q q q.", "5/8": "q q.", "4/4": "w"}
STRAYS = {
    "a bar missing": (
        "7/8 7/8 5/8 7/8 5/8 7/8 7/8 5/8 7/8 7/8", {},
        ["bar 4: a bar is missing after bar 4: the plan has 7/8 there"],
    ),
    "a bar missing where the numbers jump": (
        "7/8 7/8 5/8 7/8 5/8 7/8 7/8 5/8 7/8 7/8", {4: "5", 5: "6", 6: "7", 7: "8", 8: "9"},
        ["bar 3: a bar is missing after bar 3: the plan has 7/8 there"],
    ),
    "two bars missing": (
        "7/8 7/8 5/8 5/8 7/8 7/8 5/8", {4: "6", 5: "7", 6: "8", 7: "9"},
        ["bar 3: 2 bars are missing after bar 3: the plan has 7/8 7/8 there"],
    ),
    "a bar too many": (
        "7/8 7/8 5/8 7/8 4/4 7/8 5/8 7/8 7/8 5/8", {},
        ["bar 5: is a bar too many: the plan has no bar here"],
    ),
    "a bar of another length": (
        "7/8 7/8 5/8 4/4 7/8 5/8 7/8 7/8 5/8", {},
        ["bar 4: holds 4/4 where the plan has 7/8; the first departure"],
    ),
    "one of two like bars missing": (
        "7/8 5/8 7/8 7/8 5/8 7/8 7/8", {},
        ["bar 1: a bar is missing after bar 1: the plan has 7/8 there"],
    ),
}  # fmt: skip


@pytest.mark.parametrize("metres, numbers, said", STRAYS.values(), ids=STRAYS)
def test_a_plan_is_laid_along_the_bars_and_what_is_missing_is_told_once(metres, numbers, said):
    last, bars = "", []
    for count, metre in enumerate(metres.split(), 1):
        number = numbers.get(count, "")
        bars.append(bar(LENGTHS[metre], metre if metre != last else "", number=number))
        last = metre
    ledger = check(sheet(bars, bars), against="7/8 7/8 5/8")
    assert [f"{each.place}: {each}" for each in ledger.faults] == [
        f"all parts, {each}" for each in said
    ]


def test_a_bar_in_two_halves_takes_one_metre_of_the_plan():
    halves = [bar("q e", "7/8", right="||"), bar("h")]
    bars = [bar("q q q.", "7/8"), *halves, bar("q q.", "5/8"), bar("q q q.", "7/8")]
    assert faults(check(sheet(bars), against="7/8 7/8 5/8")) == []


def test_an_upbeat_stands_before_the_plan():
    bars = [bar("e", "7/8", number="0", implicit=True), bar("q q q.", number="1")]
    last = bar("q e", "5/8", number="2")
    assert faults(check(sheet([*bars, last]), against="7/8 5/8")) == [("2", "", "plan")]


def test_the_ledger_has_a_row_for_every_part_bar_and_voice():
    ledger = check(sheet(["w <1920 v2 h h", "h h"], ["R", "q h"]))
    assert [(row.index, row.part, row.voice, row.verdict) for row in ledger.rows] == [
        (0, "P1", "1", "right"), (0, "P1", "2", "right"), (0, "P2", "1", "right"),
        (1, "P1", "1", "right"), (1, "P2", "1", "short"),
    ]  # fmt: skip
    last = ledger.rows[-1]
    assert (last.length, last.difference) == (1, mpq(-1, 4))
    assert (last.written, last.ticks) == (mpq(3, 4), mpq(3, 4))


def test_what_concerns_all_parts_is_told_of_the_part_that_is_asked_for():
    ledger = check(sheet(["w", "h.", "w"], ["w", "h q", "w"]), part="P2")
    assert [(each.part, each.kind) for each in ledger.faults] == [("P2", "short")]
    assert [row.findings for row in ledger.rows if row.number == "2"] == [ledger.faults]


def test_the_ledger_may_be_narrowed():
    score = sheet(["w <1920 v2 h h", "h"], ["R", "q h"])
    rows = check(score, bars="1").rows
    assert [(row.number, row.part) for row in rows] == [("1", "P1"), ("1", "P1"), ("1", "P2")]
    assert {row.voice for row in check(score, voice="2").rows} == {"2"}
    assert {row.part for row in check(score, part="Part 2").rows} == {"P2"}
    with pytest.raises(RequestError, match="there is no part 'Viola'; there are Part 1, Part 2"):
        check(score, part="Viola")
    with pytest.raises(RequestError, match="there is no voice '9'; there are 1, 2"):
        check(score, voice="9")


def test_the_summary_counts_and_times_exactly():
    score = sheet([bar("h.", "3/4"), "h.", bar("q q.", "5/8")])
    summary = check(score).summary
    assert (summary.bars, summary.voices, summary.length) == (3, 1, mpq(17, 8))
    assert summary.metres == (("3/4", 2), ("5/8", 1))
    assert summary.seconds is None
