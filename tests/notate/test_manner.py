"""The editor's hand: what is learned from a score, what never is, and what is then written.

The two ways to write each rhythm below are both in use (Read, Music Notation; Gould, Behind Bars);
the scores are common practice, no source.
"""

from __future__ import annotations

import pickle

import pytest
from gmpy2 import mpq
from hypothesis import given, settings
from hypothesis import strategies as st
from lxml import etree

import rhythm
from rhythm.exact.errors import RequestError
from rhythm.exact.metre import Metre
from rhythm.notate.manner import learn, manner
from rhythm.notate.score_notation import spell_score
from rhythm.notate.usage import HOUSE, Answer, Usage
from rhythm.score.model import Note, Piece, Score, Voice
from tests.corpus import pick
from tests.strategies import rhythms
from tests.tiny import melody, written


def _in(answer: tuple[str, str], metre: str, *bars: str, place: str = "") -> Score:
    """Bars as an editor writes them who gives one answer otherwise than the house."""
    usage = Usage((Answer(answer[0], "", place, answer[1]),), None, frozenset({metre}))
    return spell_score(melody(metre, *bars), hints=False, usage=usage)


HABITS = {
    "a rest for each of the first two eighths": (
        ("first two", "8r 8r 8"), "6/8", "r1/4 1/8 3/8", "r:eighth r:eighth eighth quarter.",
    ),
    "a silent dotted beat in two rests": (
        ("silent beat", "4r 8r"), "6/8", "3/8 r3/8", "quarter. r:quarter r:eighth",
    ),
    "no dotted rest in a beat": (
        ("dotted rest", "8r 16r 16"), "2/4", "r3/16 1/16 1/4", "r:eighth r:16th 16th quarter",
    ),
    "six in a beat under one bracket": (
        ("six in a beat", "one 6:4"), "2/4", "1/24 1/24 1/24 1/24 1/24 1/24 1/4",
        "6:4(16th 16th 16th 16th 16th 16th) quarter",
    ),
    "a rest for each of two silent beats": (
        ("half rest", "4r 4r"), "4/4", "1/4 1/4 r1/2", "quarter quarter r:quarter r:quarter",
    ),
    "a quarter over the middle of the bar": (
        ("middle", "whole"), "4/4", "1/8 1/4 1/4 1/4 1/8", "eighth quarter quarter quarter eighth",
    ),
    "three plain beats across dotted ones": (
        ("plain beats", "whole"), "6/8", "1/4 1/4 1/4", "quarter quarter quarter",
    ),
    "a half and a quarter in six eighths": (
        ("plain beats", "whole"), "6/8", "1/2 1/4", "half quarter",
    ),
    "three halves in twelve eighths": (
        ("plain beats", "whole"), "12/8", "1/2 1/2 1/2", "half half half",
    ),
    "three halves in six quarters": (
        ("plain beats", "whole"), "6/4 compound", "1/2 1/2 1/2", "half half half",
    ),
    "dotted eighths for a duplet": (
        ("duplet", "dotted"), "6/8", "3/16 3/16 3/8", "eighth. eighth. quarter.",
    ),
}  # fmt: skip


@pytest.mark.parametrize(("answer", "metre", "bar", "symbols"), HABITS.values(), ids=HABITS)
def test_two_bars_teach_how_the_next_is_written(answer, metre, bar, symbols):
    editor = _in(answer, metre, bar, bar)
    assert written(editor) == f"{symbols} | {symbols}"
    fresh = melody(metre, bar)
    assert written(rhythm.faircopy(fresh, manner=editor)) == symbols
    assert written(rhythm.faircopy(fresh)) != symbols


def test_an_editor_who_counts_three_in_six_eighths_does_so_in_rhythms_that_are_new(tmp_path):
    editor = _in(("plain beats", "whole"), "6/8", *["1/4 1/4 1/4"] * 3)
    fresh = melody("6/8", "1/2 1/4", "1/8 1/8 1/4 1/8 1/8", "1/4 1/8 1/4 1/8", "5/8 1/8", "3/4")
    rhythm.write(rhythm.faircopy(fresh, manner=editor), tmp_path / "copy.musicxml")
    copy = rhythm.read(tmp_path / "copy.musicxml")
    assert written(copy) == (
        "half quarter | eighth eighth quarter eighth eighth | "
        "quarter eighth quarter eighth | quarter.~ quarter eighth | half."
    )
    assert _beams(copy)[1] == "().()"
    assert written(rhythm.faircopy(fresh)).startswith("quarter.~ eighth quarter | ")


def test_who_ties_over_dotted_beats_as_often_as_not_is_no_judge_of_them():
    whole = _in(("plain beats", "whole"), "6/8", *["1/4 1/4 1/4"] * 2)
    tied = melody("6/8", *["1/2 1/4"] * 2)
    both = whole.replace(parts=(*whole.parts, *tied.parts))
    (habit,) = [each for each in manner(both) if each.question == "plain beats"]
    assert (habit.answer, habit.votes, habit.asked) == ("", 2, 4)
    copy = rhythm.faircopy(melody("6/8", "1/8 1/8 1/4 1/4"), manner=both)
    assert written(copy) == "eighth eighth eighth~ eighth quarter"


def test_a_bar_that_is_written_a_third_way_says_nothing_about_plain_beats():
    answers = (Answer("plain beats", "", "", "whole"), Answer("two for one", "", "half", "two"))
    usage = Usage(answers, None, frozenset({"12/8", "3/2"}))
    page = spell_score(melody("12/8", *["1/2 1/2 1/2"] * 3), hints=False, usage=usage)
    assert written(page).startswith("quarter~ quarter quarter~ quarter quarter~ quarter | ")
    assert not [habit for habit in manner(page) if habit.question == "plain beats"]


def test_two_tied_eighths_for_a_quarter_are_written_so_in_rhythms_that_are_new(tmp_path):
    """As the first fugue of Beethoven's op. 133 is written: 4 8~ 8 | 8~ 8 4 (from memory)."""
    habit = ("two for one", "two")
    editor = _in(habit, "4/4", *["r1/4 1/4 r1/4 1/4", "1/4 1/4 1/2"] * 2, place="quarter")
    fresh = melody("4/4", "1/4 r1/4 r1/4 1/4", "1/8 1/4 1/8 1/2")
    rhythm.write(rhythm.faircopy(fresh, manner=editor), tmp_path / "copy.musicxml")
    copy = rhythm.read(tmp_path / "copy.musicxml")
    assert written(copy) == (
        "eighth~ eighth r:quarter r:quarter eighth~ eighth | eighth quarter eighth half"
    )
    (asked,) = [each for each in manner(editor) if each.question == "two for one"]
    assert (asked.metre, asked.place, asked.votes, asked.asked) == ("4/4", "quarter", 4, 4)


def test_other_habits_leave_dotted_beats_as_they_are():
    editor = _in(("first two", "8r 8r 8"), "6/8", *["r1/4 1/8 3/8"] * 2)
    copy = rhythm.faircopy(melody("6/8", "1/4 1/4 1/4"), manner=editor)
    assert written(copy) == "quarter eighth~ eighth quarter"


def test_one_tied_pair_among_whole_quarters_stays_where_it_is():
    pair = _in(("two for one", "two"), "2/4", *["1/4 1/4"] * 2, place="quarter")
    page = pair.replace(parts=(*pair.parts, *melody("2/4", *["1/4 1/8 1/8", "1/2"] * 2).parts))
    assert written(rhythm.faircopy(melody("2/4", "1/8 1/8 1/4"), manner=page)) == (
        "eighth eighth quarter"
    )
    kept = rhythm.faircopy(page, manner="source")
    assert written(kept) == written(page)


def test_one_bar_teaches_nothing():
    editor = _in(("first two", "8r 8r 8"), "6/8", "r1/4 1/8 3/8", "3/8 3/8")
    copy = rhythm.faircopy(melody("6/8", "r1/4 1/8 3/8"), manner=editor)
    assert written(copy) == "r:quarter eighth quarter."


def test_bars_that_disagree_leave_the_answer_to_the_house():
    one = _in(("first two", "8r 8r 8"), "6/8", *["r1/4 1/8 3/8"] * 2)
    other = melody("6/8", *["r1/4 1/8 3/8"] * 2)
    both = one.replace(parts=(*one.parts, *other.parts))
    (habit,) = [each for each in manner(both) if each.question == "first two"]
    assert (habit.answer, habit.votes, habit.asked) == ("", 2, 4)
    assert written(rhythm.faircopy(other, manner=both)) == written(other)


def _beams(score: Score) -> list[str]:
    return [
        "".join(
            {"begin": "(", "end": ")", "continue": "-"}.get(piece.beams[0], "h")
            if piece.beams
            else "."
            for event in score.parts[0].voices[0].events
            for piece in event.pieces
            if piece.bar == bar.index
        )
        for bar in score.parts[0].bars
    ]


def test_eighths_under_one_beam_stay_under_one_where_the_bar_is_new():
    place = "bar of 1/2, eighths 2+2"
    editor = _in(("joined", "joined"), "2/4", *["1/8 1/8 1/8 1/8"] * 3, place=place)
    assert _beams(editor) == ["(--)"] * 3
    assert _beams(rhythm.faircopy(melody("2/4", "1/8 1/8 1/8 1/8"), manner=editor)) == ["(--)"]
    assert _beams(rhythm.faircopy(melody("2/4", "1/8 1/8 1/8 1/8"))) == ["()()"]


def test_sixteenths_that_two_beats_share_a_beam_for_show_the_beat_by_their_inner_beams(tmp_path):
    place = "bar of 1/2, shorter notes"
    bar = " ".join(["1/16"] * 8)
    editor = _in(("joined", "joined"), "2/4", *[bar] * 3, place=place)
    rhythm.write(rhythm.faircopy(melody("2/4", bar), manner=editor), tmp_path / "copy.musicxml")
    copy = rhythm.read(tmp_path / "copy.musicxml")
    beams = [piece.beams for _, _, event in copy.events() for piece in event.pieces]
    assert [outer for outer, _ in beams] == ["begin", *["continue"] * 6, "end"]
    assert [inner for _, inner in beams] == ["begin", "continue", "continue", "end"] * 2


def test_a_bracket_s_inner_beams_run_through_where_those_of_plain_notes_are_parted():
    answers = (
        Answer("six in a beat", "", "", "one 6:4"),
        Answer("at the eighth", "", "sixteenths in a beat", "parted"),
    )
    sextuplet, plain = " ".join(["1/24"] * 6 + ["1/4"]), " ".join(["1/16"] * 8)
    usage = Usage(answers, None, frozenset({"2/4"}))
    editor = spell_score(melody("2/4", *[sextuplet, plain] * 3), hints=False, usage=usage)
    copy = rhythm.faircopy(melody("2/4", sextuplet, plain), manner=editor)
    inner = [p.beams[1] for _, _, event in copy.events() for p in event.pieces if p.beams]
    assert inner[:6] == ["begin", *["continue"] * 4, "end"]
    assert inner[6:] == ["begin", "end"] * 4


def test_what_is_learned_about_a_bar_is_not_carried_to_another_metre():
    place = "bar of 1/2, eighths 2+2"
    editor = _in(("joined", "joined"), "2/4", *["1/8 1/8 1/8 1/8"] * 3, place=place)
    for other in (melody("C|", "1/8 1/8 1/8 1/8 1/2"), melody("4/8", "1/8 1/8 1/8 1/8")):
        assert _beams(rhythm.faircopy(other, manner=editor)) == _beams(other)


def test_what_is_learned_about_a_dotted_beat_is_carried_from_metre_to_metre():
    editor = _in(("first two", "8r 8r 8"), "6/8", *["r1/4 1/8 3/8"] * 2)
    copy = rhythm.faircopy(melody("9/8", "3/8 r1/4 1/8 3/8"), manner=editor)
    assert written(copy) == "quarter. r:eighth r:eighth eighth quarter."


def test_a_half_rest_in_three_four_is_never_learned():
    page = melody("3/4", *["1/4 r1/2"] * 4)
    voice = page.parts[0].voices[0]
    events = []
    for event in voice.events:
        if not event.is_rest:
            half = Piece(event.bar, mpq(1, 4), mpq(1, 2), "half")
            silence = event.replace(
                onset=event.end, duration=mpq(1, 2), notes=(Note("rest"),), pieces=(half,)
            )
            events += [event, silence]
    part = page.parts[0].replace(voices=(Voice("1", tuple(events)),))
    editor = page.replace(parts=(part,))
    assert written(editor).startswith("quarter r:half | ")
    assert written(rhythm.faircopy(editor, manner=editor)) == written(page)


def test_a_restatement_is_written_in_the_manner_of_its_source(tmp_path):
    """Through a file: the beats of 6/8 become those of 9/8, each silence in two rests as before."""
    theme = _in(("first two", "8r 8r 8"), "6/8", *["r1/4 1/8 r1/4 1/8"] * 4)
    rhythm.write(theme, tmp_path / "theme.musicxml")
    back = rhythm.restate(tmp_path / "theme.musicxml", "9/8", lilt="even", by="beat")
    rhythm.write(back, tmp_path / "nine.musicxml")
    page = written(rhythm.read(tmp_path / "nine.musicxml"))
    assert "r:eighth r:eighth eighth" in page
    assert "r:quarter eighth" not in page
    house = rhythm.restate(theme, "9/8", lilt="even", by="beat", manner="house")
    assert "r:quarter eighth" in written(house)


def test_a_bar_that_wavers_follows_those_near_it():
    """Four eighths in 2/4, first under one beam and later under two: a bar between goes along."""
    together = ("joined", "joined")
    place = "bar of 1/2, eighths 2+2"
    early = _in(together, "2/4", *["1/8 1/8 1/8 1/8"] * 8, place=place)
    page = _beamed_alike(early, melody("2/4", *["1/8 1/8 1/8 1/8"] * 8), range(4, 8))
    assert _beams(page) == ["(--)"] * 4 + ["()()"] * 4
    for odd in (0, 1):
        taught = learn(page, [i for i in range(8) if i % 2 == odd])
        copy = _beams(spell_score(page, hints=False, usage=taught))
        assert copy[:3] + copy[5:] == ["(--)"] * 3 + ["()()"] * 3
    assert _beams(rhythm.faircopy(page, manner="source")) == _beams(page)


def _beamed_alike(score: Score, other: Score, bars: range) -> Score:
    """The score with these bars as the house beams them in the other."""
    house = spell_score(other, hints=False)
    events = tuple(
        two if one.bar in bars else one
        for one, two in zip(
            score.parts[0].voices[0].events, house.parts[0].voices[0].events, strict=True
        )
    )
    return score.replace(parts=(score.parts[0].replace(voices=(Voice("1", events),)),))


def test_a_bar_that_is_there_is_written_as_it_was():
    """One slip among eight bars stays where it is, and goes nowhere else."""
    place = "bar of 1/2, eighths 2+2"
    together = _in(("joined", "joined"), "2/4", *["1/8 1/8 1/8 1/8"] * 8, place=place)
    page = _beamed_alike(together, melody("2/4", *["1/8 1/8 1/8 1/8"] * 8), range(4, 5))
    assert _beams(rhythm.faircopy(page, manner="source")) == _beams(page)
    assert _beams(rhythm.faircopy(page, manner=page.replace(title="other"))) == ["(--)"] * 8


def test_a_beam_that_parts_at_slurs_is_no_habit_of_the_bar():
    page = melody("2/4", *["1/8 1/8 1/8 1/8"] * 6)
    voice = page.parts[0].voices[0]
    begins = [e.replace(slurred=e.onset % mpq(1, 4) == 0) for e in voice.events]
    page = page.replace(parts=(page.parts[0].replace(voices=(Voice("1", tuple(begins)),)),))
    slurred = spell_score(page, hints=False)
    assert not [habit for habit in manner(slurred) if habit.question == "joined"]


def test_what_is_mended_is_written_in_the_manner_of_the_score(tmp_path):
    """A dotted beat is missing; the editor writes such a silence in two rests."""
    editor = _in(("silent beat", "4r 8r"), "6/8", *["3/8 r3/8"] * 4)
    rhythm.write(editor, tmp_path / "whole.musicxml")
    page = etree.parse(tmp_path / "whole.musicxml")
    for note in page.findall(".//measure")[1].findall("note")[-2:]:
        note.getparent().remove(note)
    page.write(tmp_path / "short.musicxml")
    short = rhythm.read(tmp_path / "short.musicxml")
    for whose, last in (
        ("source", "quarter. r:quarter r:eighth"),
        ("house", "quarter. r:quarter."),
    ):
        done = rhythm.mend(short, "rests", manner=whose)
        rhythm.write(done, tmp_path / f"{whose}.musicxml")
        assert written(rhythm.read(tmp_path / f"{whose}.musicxml")).split(" | ")[1] == last


def test_exercises_are_written_in_the_manner_of_the_theme(tmp_path):
    editor = _in(("first two", "8r 8r 8"), "6/8", *["r1/4 1/8 3/8", "r1/4 1/8 r1/4 1/8"] * 2)
    plan = tmp_path / "plan.toml"
    plan.write_text('[[exercise]]\nrebar = "9/8"\n')
    for whose, silence in (("source", "r:eighth r:eighth eighth"), ("house", "r:quarter eighth")):
        sheet = rhythm.exercises(editor, plan, bars="1-", manner=whose)
        assert silence in written(sheet.exercises[0].score)


def test_every_habit_is_told_with_its_votes_and_two_bars():
    editor = _in(("first two", "8r 8r 8"), "6/8", *["r1/4 1/8 3/8"] * 3)
    (habit,) = [each for each in manner(editor) if each.question == "first two"]
    assert (habit.metre, habit.answer) == ("6/8", "two rests")
    assert (habit.votes, habit.asked, habit.house) == (3, 3, False)
    assert habit.bars == (("Theme", "1"), ("Theme", "2"))
    assert habit.to_dict()["bars"] == [{"part": "Theme", "bar": "1"}, {"part": "Theme", "bar": "2"}]


@pytest.mark.parametrize("given", ["fair", ""])
def test_another_word_for_a_manner_is_refused(given):
    with pytest.raises((RequestError, rhythm.FileError)):
        rhythm.restate(melody("2/4", "1/4 1/4"), "compound", manner=given)


def test_a_score_in_some_manner_can_be_pickled():
    editor = _in(("first two", "8r 8r 8"), "6/8", *["r1/4 1/8 3/8"] * 2)
    copy = rhythm.rebar(editor, "3/8")
    assert pickle.loads(pickle.dumps(copy)) == copy


# Laws


def test_a_hand_that_brackets_six_leaves_a_plain_half_of_a_beat_plain():
    """Found by the property below: a dotted eighth stood inside a sextuplet."""
    copy = spell_score(melody("4/4", *["1/24 1/24 1/24 1/8 1/24 1/24 1/24 1/12 13/24"] * 2))
    hand = learn(copy)
    assert ("sixths", "one 6:4") in {(each.question, each.answer) for each in hand.answers}
    assert _pieces(spell_score(copy, hints=False, usage=hand)) == _pieces(copy)


@st.composite
def pages(draw):
    """A voice of some bars, of which several have the same rhythm."""
    metre = draw(st.sampled_from(["4/4", "3/4", "2/4", "6/8", "9/8", "2/2"]))
    length = Metre.parse(metre).length
    bars = []
    for _ in range(draw(st.integers(1, 3))):
        onsets = draw(rhythms(length))
        ends = (*onsets[1:], length)
        values = [
            ("r" if draw(st.booleans()) else "") + str(end - start)
            for start, end in zip(onsets, ends, strict=True)
        ]
        bars.append(" ".join(([f"r{onsets[0]}"] if onsets[0] else []) + values))
    return melody(metre, *draw(st.lists(st.sampled_from(bars), min_size=1, max_size=6)))


def test_without_evidence_the_hand_is_the_house():
    assert learn(Score(())) == HOUSE
    assert learn(melody("4/4", "1", "1/2 1/2")).answers == ()


@given(pages(), st.booleans())
@settings(max_examples=40, deadline=None)
def test_a_fair_copy_teaches_nothing_but_what_made_it(score, own):
    """Neither as the score's own hand, whose bars are there, nor as that of another score."""
    copy = spell_score(score, hints=False)
    again = spell_score(copy, hints=False, usage=learn(copy, own=own))
    assert _pieces(again) == _pieces(copy)


@given(pages(), pages())
@settings(max_examples=40, deadline=None)
def test_no_hand_changes_a_duration(score, other):
    copy = spell_score(score, hints=False, usage=learn(other))
    assert _sounding(copy) == _sounding(score)


def _pieces(score: Score) -> list[object]:
    return [event.pieces for _, _, event in score.events()]


def _sounding(score: Score) -> list[tuple[mpq, mpq]]:
    return [(e.onset, e.duration) for _, _, e in score.events() if not e.is_rest]


ANSWERS = st.lists(
    st.sampled_from(
        [
            Answer("silent beat", "", "", "4r 8r"),
            Answer("first two", "", "", "8r 8r 8"),
            Answer("dotted rest", "", "", "8r 16r 16"),
            Answer("syncopation", "", "group", "tied"),
            Answer("syncopation", "", "beat", "tied"),
            Answer("dotted syncopation", "", "beat", "tied"),
            Answer("plain beats", "", "", "whole"),
            Answer("two for one", "", "quarter", "two"),
            Answer("six in a beat", "", "", "one 6:4"),
            Answer("sixths", "", "", "two 3:2"),
            Answer("duplet", "", "", "dotted"),
            Answer("over rests", "", "elsewhere", "joined"),
            Answer("triplets", "", "", "joined"),
        ]
    ),
    unique=True,
).map(lambda rows: Usage(tuple(rows), None, frozenset({"4/4", "3/4", "6/8", "2/4"})))


@given(pages(), ANSWERS)
@settings(max_examples=60, deadline=None)
def test_no_usage_makes_a_ratio_that_the_house_would_not(score, usage):
    house = _ratios(spell_score(score, hints=False))
    assert _ratios(spell_score(score, hints=False, usage=usage)) <= house | {mpq(1)}


@given(pages(), pages(), ANSWERS, st.booleans())
@settings(max_examples=40, deadline=None)
def test_no_editor_makes_a_ratio_that_the_house_would_not(score, other, answers, own):
    """Whoever is learned from, in whatever way that editor answers."""
    editor = spell_score(other, hints=False, usage=answers)
    house = _ratios(spell_score(score, hints=False))
    taught = spell_score(score, hints=False, usage=learn(editor, own=own))
    assert _ratios(taught) <= house | {mpq(1)}
    assert _sounding(taught) == _sounding(score)


def _ratios(score: Score) -> set[mpq]:
    return {mpq(*piece.ratio) for _, _, e in score.events() for piece in e.pieces}


def test_real_scores_copied_in_their_own_hand_teach_the_same_again():
    """All but a few symbols in a thousand: what went with the editor's own slips."""
    changed = among = 0
    for path in pick(4):
        score = rhythm.read(path)
        copy = spell_score(score, hints=False, usage=learn(score))
        again = spell_score(copy, hints=False, usage=learn(copy))
        pairs = list(zip(_pieces(copy), _pieces(again), strict=True))
        changed += sum(one != other for one, other in pairs)
        among += len(pairs)
    assert among > 200
    assert changed * 200 <= among


def test_what_two_readings_of_a_page_teach_is_not_compared_bar_by_bar():
    """It would be at every bar that is spelled, and restating a score again would take for ever."""
    one, other = (learn(melody("4/4", *["1/8 1/8 1/4 1/2"] * 2, "1/4 1/4 1/2")) for _ in range(2))
    assert one.answers == other.answers
    assert one.memory is not None and one != other and one == one.__class__(*_fields(one))


def _fields(usage):
    return usage.answers, usage.memory, usage.metres
