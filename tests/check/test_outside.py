"""The checker against music21: its test files, named for what they hold, and its corpus."""

import pytest

from rhythm.check.ledger import check
from rhythm.formats.musicxml.read.score_reader import read
from tests.corpus import music21_folder, pick
from tests.sheet import faults, remarks


def named(pattern):
    """The one test file of the music21 package whose name starts so."""
    found = sorted(music21_folder().glob(f"musicxml/*/{pattern}"))
    assert len(found) == 1, pattern
    return found[0]


# Files of the MusicXML test collection that music21 ships; what their names and headers state.
RIGHT = (
    "03c-Rhythm-DivisionChange*", "02a-Rests-Durations*", "02c-Rests-MultiMeasureRests*",
    "03aa-Rhythm-Durations*", "11a-TimeSignatures*", "11c-TimeSignatures-CompoundSimple*",
    "11d-TimeSignatures-CompoundMultiple*", "11e-TimeSignatures-CompoundMixed*",
    "11h-TimeSignatures-SenzaMisura*", "21e-Chords-PickupMeasures*", "23a-Tuplets.xml",
    "23b-Tuplets-Styles*", "23c-Tuplet-Display-NonStandard*", "23d-Tuplets-Nested*",
    "23e-Tuplets-Tremolo*", "23f-Tuplets-DurationButNoBracket*", "24c-GraceNote-MeasureEnd*",
    "24d-AfterGrace*", "33b-Spanners-Tie*", "42a-MultiVoice-TwoVoicesOnStaff-Lyrics*",
    "43d-MultiStaff-StaffChange*", "45a-SimpleRepeat*", "46d-PickupMeasure-ImplicitMeasures*",
    "46e-PickupMeasure-SecondVoiceStartsLater*", "46g-PickupMeasure-Chordnames-FiguredBass*",
)  # fmt: skip


@pytest.mark.parametrize("pattern", RIGHT)
def test_a_test_file_named_for_something_legal_has_no_fault(pattern):
    assert faults(check(read(named(pattern)))) == []


def test_the_file_of_incomplete_measures_has_one():
    ledger = check(read(named("46f-IncompleteMeasures*")))
    assert faults(ledger) == [("3", "1", "short")]
    assert [row.verdict for row in ledger.rows] == ["upbeat", "right", "short", "right"]


def test_the_file_of_implicit_measures_has_an_upbeat_and_a_split_bar():
    ledger = check(read(named("46d-PickupMeasure-ImplicitMeasures*")))
    assert [row.verdict for row in ledger.rows] == ["upbeat", "split", "split", "last"]


def test_the_file_of_a_backup_finds_its_one_bar_short_and_no_fault_in_the_backup():
    assert faults(check(read(named("03b-Rhythm-Backup*")))) == [("1", "", "short")]


def test_the_file_of_ties_that_do_not_end_is_noted():
    ledger = check(read(named("33i-Ties-NotEnded*")))
    assert faults(ledger) == []
    assert {kind for _, _, kind in remarks(ledger)} == {"tie-mark"}


def test_the_corpus_demonstration_of_wrong_signatures_is_found_wrong():
    path = music21_folder() / "corpus/demos/incorrect_time_signature_pv.mxl"
    assert {kind for _, _, kind in faults(check(read(path)))} == {"long"}


# Places in the corpus that shaped the checker; each was looked up in the file.
CORPUS = {
    "bach/bwv264.mxl": [],  # bars 8 and 8a, 3/4 and 1/4 with no bar line between
    "bach/bwv120.6.mxl": [],  # the last bar completes the upbeat, a forward fills it up
    "bach/bwv171.6.mxl": [],  # bar 24 of C goes on in X1 of 3/4
    "schumann_robert/opus41no1/movement4.mxl": [],  # untyped notes, 10 of 3072 ticks lost
    "bach/bwv374.mxl": [("19", "", "short")],
    "mozart/k156/movement3.mxl": [("40", "1", "short"), ("56", "1", "short")],
}


@pytest.mark.parametrize("name", CORPUS)
def test_a_known_place_in_the_corpus(name):
    assert faults(check(read(music21_folder() / "corpus" / name))) == CORPUS[name]


def test_the_whole_bar_rests_written_twice_in_a_madrigal_are_found():
    ledger = check(read(music21_folder() / "corpus/monteverdi/madrigal.3.4.mxl"))
    assert [each.message for each in ledger.faults if each.number == "32"] == [
        "a whole too long for C"
    ]


def test_on_a_sample_of_the_corpus_every_fault_in_a_bar_is_one_for_music21_too():
    """music21 is asked for the length of every bar in which a length is called wrong."""
    from music21 import converter

    asked = 0
    for path in pick(4, most_bytes=40_000, accept=_has_wrong_length):
        ledger = check(read(path))
        score = converter.parse(path, forceSource=True)
        parts = {part.id: list(part.getElementsByClass("Measure")) for part in score.parts}
        for fault in ledger.faults:
            if fault.kind not in ("short", "long"):
                continue
            measure = _measure(parts, ledger, fault)
            asked += 1
            assert measure.duration.quarterLength != measure.barDuration.quarterLength, (
                path, fault,
            )  # fmt: skip
    assert asked


def _has_wrong_length(score):
    return any(each.kind in ("short", "long") for each in check(score).faults)


def _measure(parts, ledger, fault):
    names = [name for name, _ in ledger.parts]
    return list(parts.values())[names.index(fault.part)][fault.index]


def test_the_bars_that_music21_calls_right_are_not_called_wrong():
    from music21 import converter

    agreed = 0
    for path in pick(4, most_bytes=12_000):
        ledger = check(read(path))
        wrong = {(each.part, each.index) for each in ledger.faults if each.kind != "tie"}
        score = converter.parse(path, forceSource=True)
        names = [name for name, _ in ledger.parts]
        for name, part in zip(names, score.parts, strict=True):
            for index, measure in enumerate(part.getElementsByClass("Measure")):
                if measure.duration.quarterLength == measure.barDuration.quarterLength:
                    agreed += 1
                    assert (name, index) not in wrong
    assert agreed > 100
