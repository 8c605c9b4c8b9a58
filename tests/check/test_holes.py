"""What a voice lacks, which hand it is, and what is said beside it: two-staff music."""

from rhythm.check.digest import runs
from rhythm.check.ledger import check
from rhythm.check.mending import mend
from rhythm.check.phrasing import a_value, bar_name
from rhythm.exact.values import value
from rhythm.formats.musicxml.read.score_reader import read
from rhythm.formats.musicxml.saving import proven
from tests.sheet import bar, faults, remarks, sheet, source
from tests.tiny import written

HANDS = "q q q q <1920 v5 st2 h h"


def lines(score):
    return [f"{each.place}: {each.message}" for each in check(score).faults]


def test_a_value_lost_in_the_left_hand_is_told_of_the_left_hand():
    score = sheet([HANDS, HANDS, "q q q q <1920 v5 st2 h q e", HANDS])
    assert lines(score) == ["Part 1, left hand, bar 3: an eighth short of 4/4"]
    assert check(score).faults[0].beat == "after beat 4"


def test_a_value_lost_ahead_of_a_backup_is_told_of_its_voice_and_not_of_the_backup():
    score = sheet([HANDS, "q e q q <1920 v5 st2 h h", HANDS])
    assert lines(score) == ["Part 1, right hand, bar 2: an eighth short of 4/4"]


def test_a_hole_of_a_quarter_on_a_staff_is_remarked_unless_its_voice_fills_all_other_bars():
    short = "q q q q <1920 v5 st2 h q"
    assert remarks(check(sheet([HANDS, short, HANDS]))) == [("2", "5", "staff")]
    assert faults(check(sheet([*[HANDS] * 12, short, HANDS]))) == [("13", "5", "short")]


def test_a_hole_that_a_forward_passes_over_is_a_fault_where_it_is_short():
    assert faults(check(sheet(["w", "q >240 e h", "w"]))) == [("2", "1", "short")]
    assert remarks(check(sheet(["w", "q >480 h", "w"]))) == [("2", "1", "gap")]


def test_the_rest_before_an_upbeat_need_not_be_written():
    assert faults(check(sheet([bar(">240 e", implicit=True), "w", "w"]))) == []


def test_a_note_with_another_number_goes_back_to_the_voice_whose_hole_it_fits():
    score = sheet([*["q q q q"] * 6, "q v2 q v1 q q", "w"])
    assert faults(check(score)) == [("7", "1", "stray")]
    done = mend.outcome(score)
    assert check(done.score).is_right
    assert [voice.name for voice in done.score.parts[0].voices] == ["1"]


def test_a_voice_that_stands_too_late_is_moved_to_its_place():
    score = sheet(["w <1920 v2 w", "w <1680 v2 w", "w <1920 v2 w"])
    done = mend.outcome(score)
    assert [deed.done for deed in done.report.deeds] == ["moved an eighth earlier"]
    assert check(done.score).is_right


def test_a_jump_of_the_numbers_is_remarked():
    score = sheet(["w", bar("w", number="2"), bar("w", number="4")])
    assert faults(check(score)) == []
    assert remarks(check(score)) == [("4", "", "number")]


def test_a_tie_that_another_slip_of_the_bar_may_have_broken_is_not_told_beside_it():
    score = sheet(["h. C4q~", "D4q q", "w"])
    assert {kind for _, _, kind in faults(check(score))} == {"short"}


def test_amounts_and_bars_are_said_so_that_they_can_be_read():
    assert a_value(value("1/8192")) == "less than a 256th"
    assert a_value(value("85/4096")).startswith("about a ")
    assert bar_name("X0") == "0"
    score = sheet(["w", *["h q"] * 3, "w", "h q", "w"])
    assert runs(check(score).faults) == "2-4, 6"


def test_voices_that_one_backup_puts_off_are_told_and_moved_together():
    three = "w <1920 v2 w <1920 v3 h h"
    late = "w <1680 v2 w <1920 v3 h h"
    score = sheet([three, late, three])
    (fault,) = check(score).faults
    assert (fault.voice, fault.message) == (
        "2", "stands an eighth too late for 4/4, and voice 3 with it",
    )  # fmt: skip
    done = mend.outcome(score)
    assert len(done.report.deeds) == 1
    assert check(done.score).is_right


def test_a_signature_whose_sign_contradicts_it_is_called_by_its_numbers():
    data = source([bar("h.", "3/4"), "h", "h."]).replace(b"<time>", b'<time symbol="common">')
    (fault,) = check(read(data)).faults
    assert fault.message == "a quarter short of 3/4"


def test_a_note_with_another_ratio_than_its_tuplet_gets_that_of_the_others():
    whole = "s:3/2 s:3/2 s:3/2 e q h"
    for ratio in ("7/4", "5/4"):
        wrong = whole.replace("s:3/2 s:3/2", f"s:3/2 s:{ratio}=80", 1)
        score = sheet([whole, wrong, whole])
        (fault,) = check(score).faults
        assert (fault.number, fault.kind) == ("2", "tuplet")
        assert fault.fix == "one note lacks the ratio 3:2 of the others, which would complete it"
        done = mend.outcome(score)
        assert [deed.done for deed in done.report.deeds] == [
            "a note given the ratio 3:2 of the others of its tuplet"
        ]
        assert not done.report.left
        bars = written(read(proven(done.score))).split(" | ")
        assert bars[1] == bars[0]


def test_a_tuplet_whose_ratios_are_wrong_is_not_completed_with_what_nobody_can_write():
    whole = "s:3/2 s:3/2 s:3/2 e q h"
    wrong = "s:3/2 s:7/4=80 s:5/4=80 e q h"
    (fault,) = check(sheet([whole, wrong, whole])).faults
    assert (fault.number, fault.kind, fault.remedy) == ("2", "tuplet", None)
    assert fault.fix == "its notes make no whole tuplet: is one of its ratios wrong?"
