"""Mending: what was wrong is right, what was right stays, no note is dropped or shortened."""

from collections import Counter

import pytest
from lxml import etree

from rhythm.check.ledger import check
from rhythm.check.mending import mend
from rhythm.exact.errors import RequestError
from rhythm.formats.musicxml.read.score_reader import read
from rhythm.formats.musicxml.saving import proven
from tests.corpus import music21_folder, pick
from tests.markup import note, partwise
from tests.sheet import bar, sheet
from tests.tiny import written

# bars, way, the bars as written afterwards, the signatures
MENDED = {
    "a short bar gets its signature": (
        ["q q q q", "h q", "w"], "metre",
        "quarter quarter quarter quarter | half quarter | whole", "4/4 3/4 4/4",
    ),
    "a short bar gets a rest": (
        ["q q q q", "h q", "w"], "rests",
        "quarter quarter quarter quarter | half quarter r:quarter | whole", "4/4 4/4 4/4",
    ),
    "a long bar gets its signature": (
        ["w", "q q q q. s", "w"], "metre",
        "whole | quarter quarter quarter quarter. 16th | whole", "4/4 19/16 4/4",
    ),
    "a short bar gets the simplest signature": (
        [bar("q. q.", "6/8"), "h", "h."], "metre",
        "quarter. quarter. | half | half.", "6/8 2/4 6/8",
    ),
    "two long bars in a row share one signature": (
        ["w", "h h q", "h. h", "w"], "metre",
        "whole | half half quarter | half. half | whole", "4/4 5/4 5/4 4/4",
    ),
    "the first bar of all": (
        ["w q", "w", "w"], "metre", "whole quarter | whole | whole", "5/4 4/4 4/4",
    ),
    "readable rests": (
        ["w", "e", "w"], "rests",
        "whole | eighth r:eighth r:quarter r:half | whole", "4/4 4/4 4/4",
    ),
    "readable rests in compound time": (
        [bar("q. q.", "6/8"), "e", "h."], "rests",
        "quarter. quarter. | eighth r:eighth r:eighth r:quarter. | half.", "6/8 6/8 6/8",
    ),
    "rests that are too long are shortened": (
        ["w", "h rh rq", "w"], "rests", "whole | half r:half | whole", "4/4 4/4 4/4",
    ),
    "a triplet that stops midway gets its rest": (
        ["w", "e:3/2 e:3/2 q h", "w"], "rests",
        "whole | 3:2(eighth eighth r:eighth) quarter half | whole", "4/4 4/4 4/4",
    ),
    "rounded durations": (
        ["e:7/4=137 " * 6 + "e:7/4=138 h"], "metre",
        "7:4(eighth eighth eighth eighth eighth eighth eighth) half", "4/4",
    ),
    "a rounded backup": (
        ["w <1919 v2 h h <1921 v3 h h"], "rests", "whole", "4/4",
    ),
    "a value that contradicts its duration": (
        ["q q=240 e q. e"], "metre", "quarter eighth eighth quarter. eighth", "4/4",
    ),
    "a duration that contradicts its value": (
        ["w", "q q=240 q q", "w"], "metre",
        "whole | quarter quarter quarter quarter | whole", "4/4 4/4 4/4",
    ),
    "a duration that contradicts the first of two tied notes": (
        ["w", "C4q~=960 C4q_ D4h", "w"], "rests",
        "whole | quarter~ quarter half | whole", "4/4 4/4 4/4",
    ),
    "a duration that contradicts the second of two tied notes": (
        ["w", "C4q~ C4q_=960 D4h", "w"], "rests",
        "whole | quarter~ quarter half | whole", "4/4 4/4 4/4",
    ),
    "a duration that contradicts a note tied over the bar line": (
        ["h. C4q~", "C4q_=960 D4h.", "w"], "rests",
        "half. quarter~ | quarter half. | whole", "4/4 4/4 4/4",
    ),
    "a backup before the bar": (
        ["q q q q <2400 v2 w", "w"], "rests", "quarter quarter quarter quarter | whole", "4/4 4/4",
    ),
}  # fmt: skip


@pytest.mark.parametrize("bars, how, page, metres", MENDED.values(), ids=MENDED)
def test_mended_scores_pass_and_read(bars, how, page, metres):
    again = read(proven(mend(sheet(list(bars)), how, remarks=True)))
    assert check(again).findings == ()
    assert written(again) == page
    assert " ".join(str(each.metre) for each in again.bars) == metres


@pytest.mark.parametrize("how", ["metre", "rests"])
@pytest.mark.parametrize("rest", ["R", "rw", "r=1920"])
def test_a_whole_bar_rest_stays_as_long_as_its_mended_bar(rest, how):
    score = sheet(["w", rest, "w"], ["w", "q=960 q q q", "w"])
    again = read(proven(mend(score, how)))
    assert check(again).findings == ()
    assert again.length == 3


@pytest.mark.parametrize("how", ["metre", "rests"])
def test_a_voice_that_a_wrong_duration_displaced_goes_back_to_its_place(how):
    score = sheet(["w <1920 v2 w", "q=960 q h <1920 v2 E4h F4h", "w <1920 v2 w"])
    again = read(proven(mend(score, how)))
    assert check(again).findings == ()
    assert written(again) == "whole | quarter quarter half | whole"
    assert written(again, voice=1) == "whole | half half | whole"


TRIPLET = {"ratio": "3:2"}
MARKED = {
    "a value believed before it": (
        [note("C4", 8, "quarter"), "dir", note("D4", 4, "quarter"), note("E4", 8, "half")],
        "C dir D E",
    ),
    "a value believed before the bar's end": (
        [note("C4", 8, "quarter"), note("D4", 4, "quarter"), note("E4", 8, "half"), "dir"],
        "C D E dir",
    ),
    "a rest in the tuplet before it": (
        [
            note("C4", 2, "eighth", **TRIPLET), note("D4", 2, "eighth", **TRIPLET), "dir",
            note("E4", 6, "quarter"), note("F4", 12, "half"),
        ],
        "C D rest dir E F",
    ),
}  # fmt: skip


@pytest.mark.parametrize("tokens, order", MARKED.values(), ids=MARKED)
def test_a_mark_stays_on_its_note_when_mending_moves_it_by(tokens, order):
    words = "<direction><direction-type><words>dir</words></direction-type></direction>"
    text = "".join(words if token == "dir" else token for token in tokens)
    divisions = 6 if "rest" in order else 4
    whole = note("G4", 4 * divisions, "whole")
    score = read(partwise(whole, text, whole, divisions=divisions))
    again = read(proven(mend(score, "rests")))
    assert check(again).findings == ()
    assert _order(again.source.tree.findall(".//measure")[1]) == order


def _order(measure):
    names = {"words": lambda _: "dir", "step": lambda each: each.text, "rest": lambda _: "rest"}
    return " ".join(names[each.tag](each) for each in measure.iter(*names))


@pytest.mark.parametrize("how", ["metre", "rests"])
def test_a_part_that_is_short_is_filled_whichever_way(how):
    again = read(proven(mend(sheet(["w", "w", "w"], ["w", "h q", "w"]), how)))
    assert check(again).findings == ()
    assert written(again, part=1) == "whole | half quarter r:quarter | whole"


@pytest.mark.parametrize("how", ["metre", "rests"])
def test_a_rest_written_twice_in_one_part_is_taken_back(how):
    score = sheet(["w", "w", "w~", "w_"], ["w", "r=1920 r=1920", "w", "w"])
    again = read(proven(mend(score, how)))
    assert check(again).findings == ()
    assert again.length == 4


@pytest.mark.parametrize("how", ["metre", "rests"])
def test_a_tie_of_a_part_without_fault_is_left_as_it_is(how):
    score = sheet(["w", "h. q rq", "w", "w"], ["w", "h. E4q~", "E4q_ E4h.", "w"])
    again = read(proven(mend(score, how)))
    assert check(again).findings == ()
    assert _bars(again)[4:] == _bars(score)[4:]


def test_a_tie_that_leads_nowhere_is_taken_off_and_one_without_a_stop_gets_it():
    score = sheet(["h. C4q~", "D4w~", "D4w"])
    again = read(proven(mend(score, remarks=True)))
    assert check(again).findings == ()
    assert written(again) == "half. quarter | whole~ | whole"


@pytest.mark.parametrize(
    "bars", [["q~ D4q C4h_", "w"], ["D4h. C4q~", "D4q C4h._", "w"]], ids=["same bar", "next bar"]
)
def test_both_ends_of_a_tie_whose_stop_comes_later_are_taken_off(bars):
    again = read(proven(mend(sheet(bars))))
    assert check(again).findings == ()
    assert not list(again.source.tree.iter("tie", "tied"))


def test_a_bracket_without_its_other_end_is_completed():
    again = read(proven(mend(sheet(["e:3/2[ e:3/2 e:3/2 h."]), remarks=True)))
    assert check(again).findings == ()
    types = [each.get("type") for each in again.source.tree.iter("tuplet")]
    assert types == ["start", "stop"]


LEFT = {
    "an overfull bar under rests": (
        ["w", "w q", "w"], "rests", "2", "1", "rests cannot shorten it",
    ),
    "one voice of two too long": (
        ["w", "w <1920 v2 h h q", "w"], "least", "2", "2", "only by hand",
    ),
    "a length that no signature holds": (
        ["w", "q q q n=467", "w"], "metre", "2", "1", "only by hand",
    ),
    "notes of one voice that overlap": (
        ["w", "q q q q <1680 h. >0"], "metre", "2", "1", "only by hand",
    ),
    "a note of which nothing says how long it is": (
        ["w", "q n=0 q q q", "w"], "rests", "2", "1", "give it one of the two by hand",
    ),
    "a note of negative duration and no type": (
        ["w", "q n=-480 q q q", "w"], "metre", "2", "1", "give it one of the two by hand",
    ),
    "a note tied over the end of a short bar": (
        ["w", "h C4q~", "C4q_ h.", "w"], "rests", "2", "1",
        "tied on, so no rest can stand after it",
    ),
}  # fmt: skip


@pytest.mark.parametrize("bars, how, bar, voice, said", LEFT.values(), ids=LEFT)
def test_what_cannot_be_mended_so_is_left_as_it_is_with_the_reason(bars, how, bar, voice, said):
    score = sheet(list(bars))
    done = mend.outcome(score, how)
    assert done.score is score
    assert [(each.fault.number, each.fault.voice) for each in done.report.left] == [(bar, voice)]
    assert said in done.report.left[0].done


def test_one_bad_bar_does_not_stop_the_others():
    score = sheet(["w", "q q q q <1680 h. >0", "h q", "w"])
    done = mend.outcome(score)
    again = read(proven(done.score))
    assert [each.number for each in check(again).faults] == ["2"]
    assert [(each.fault.number, each.done) for each in done.report.deeds] == [
        ("3", "a quarter rest put in at its end")
    ]
    assert mend.outcome(again).score is again


def test_there_are_three_ways_to_mend():
    with pytest.raises(RequestError, match="cannot mend by 'magic'; mend by least or metre"):
        mend(sheet(["w"]), "magic")


def test_a_right_score_is_given_back_as_it_is():
    score = sheet(["w", "h h"])
    assert mend(score) is score


def _bars(score):
    return [
        etree.tostring(each.source, method="c14n") for part in score.parts for each in part.bars
    ]


def _notes(score):
    return Counter(
        (part.id, voice.name, note.pitch)
        for part, voice, event in score.events()
        for note in event.notes
        for _ in note.sources
        if note.kind != "rest"
    )


def _touched(score):
    found = {each.index for each in check(score).findings}
    return found | {index + 1 for index in found}


@pytest.mark.parametrize("how", ["metre", "rests"])
@pytest.mark.parametrize(
    "name", ["mozart/k156/movement3", "monteverdi/madrigal.3.4", "haydn/opus1no1/movement4"]
)
def test_real_scores_are_mended_and_their_right_bars_stay_as_they_were(name, how):
    score = read(music21_folder() / "corpus" / f"{name}.mxl")
    assert not check(score).is_right
    again = read(proven(mend(score, how)))
    assert check(again).faults == ()
    assert _notes(again) == _notes(score)
    count = len(score.bars)
    for place, (old, new) in enumerate(zip(_bars(score), _bars(again), strict=True)):
        assert old == new or place % count in _touched(score)


def test_mending_a_sample_of_the_corpus_makes_nothing_worse():
    paths = pick(6, most_bytes=25_000, accept=lambda score: not check(score).is_right)
    for path in paths:
        score = read(path)
        done = mend.outcome(score)
        again = read(proven(done.score))
        assert len(check(again).faults) == len(done.report.left) <= len(check(score).faults)
        assert _notes(again) == _notes(score)
        assert mend.outcome(again).score is again


def test_a_hole_inside_a_tuplet_is_filled_with_a_rest_of_the_tuplet():
    done = mend.outcome(sheet(["w", "e:3/2 >160 e:3/2 q h", "w"]))
    again = read(proven(done.score))
    assert written(again).split(" | ")[1] == "3:2(eighth r:eighth eighth) quarter half"
    assert check(again).is_right


def test_a_note_of_a_tuplet_goes_back_to_its_voice_and_under_its_bracket():
    score = sheet([*["q q q q"] * 6, "e:3/2 v2 e:3/2 v1 e:3/2 q h", "w"])
    again = read(proven(mend(score)))
    assert [voice.name for voice in again.parts[0].voices] == ["1"]
    assert written(again).split(" | ")[6] == "3:2(eighth eighth eighth) quarter half"


def test_a_rest_that_lasts_over_a_lost_bar_line_is_written_as_two():
    score = sheet(["w", "w w w", "w"], ["w", "r=5760", "w"])
    again = read(proven(mend(score)))
    assert check(again).is_right
    assert [str(event.duration) for event in again.parts[1].voices[0].events] == ["1"] * 5


def test_an_upbeat_of_rests_stays_one_when_its_signature_is_put_right():
    up = bar("rq", "3/4", number="0", implicit=True)
    done = mend.outcome(sheet([up, *["q q q q"] * 8]))
    assert [deed.done for deed in done.report.deeds] == ["the signature 3/4 is now 4/4"]
    assert str(read(proven(done.score)).bars[0].length) == "1/4"


def test_behind_a_bar_with_a_signature_of_its_own_the_old_one_is_shown_again():
    right = mend(sheet(["w", "h. h", "w", "w"]), "metre")
    assert [(str(b.metre), b.shows_metre) for b in right.bars] == [
        ("4/4", True), ("5/4", True), ("4/4", True), ("4/4", False),
    ]  # fmt: skip
