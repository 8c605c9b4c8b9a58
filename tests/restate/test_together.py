"""What is struck together stays together, in all voices of all parts.

The worked rows are this project's choice; common practice, no source.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from gmpy2 import mpq
from lxml import etree

from rhythm.formats.musicxml.read.score_reader import read
from rhythm.formats.musicxml.saving import proven
from rhythm.formats.musicxml.write.score_writer import to_bytes
from rhythm.notate.score_notation import spell_score
from rhythm.restate.restate import restated
from rhythm.score.model import Score, Voice
from rhythm.verbs import restate
from tests.corpus import corpus_files
from tests.markup import forward, note, partwise
from tests.tiny import durations, melody
from tests.together import LILTS, TARGETS, has_voices, lines_of, measure, together

ROWS = [
    ("1/16 1/16 1/16 1/16", "3/16 1/16", "1/8 1/16 1/16 1/8", "1/4 1/8"),
    (" ".join(["1/24"] * 6), "1/8 1/8", " ".join(["1/16"] * 6), "3/16 3/16"),
    ("1/12 1/12 1/12", "1/8 1/8", "1/8 1/8 1/8", "1/4 1/8"),
    ("1/16 1/16 1/16 1/16", "1/8 1/8", "1/8 1/8 1/16 1/16", "1/4 1/8"),
    # An even pair keeps its foot, though short and long would save a tie.
    ("1/8 1/8", "3/16 1/16", "1/4 1/8", "5/16 1/16"),
]


def two_voices(metre: str, one: str, other: str, *more: str) -> Score:
    """Voices of one part, each given as one bar."""
    scores = [melody(metre, text) for text in (one, other, *more)]
    voices = tuple(
        Voice(str(n), score.parts[0].voices[0].events) for n, score in enumerate(scores, 1)
    )
    part = scores[0].parts[0].replace(voices=voices)
    return spell_score(scores[0].replace(parts=(part,)))


def written(score: Score) -> Score:
    """What stands in the file."""
    return read(to_bytes(score))


@pytest.mark.parametrize(
    ("one", "other", "first", "second"), ROWS, ids=[f"{r[0]} against {r[1]}" for r in ROWS]
)
def test_two_voices_are_fitted_together(one: str, other: str, first: str, second: str) -> None:
    score = two_voices("2/4", f"{one} 1/4", f"{other} 1/4")
    result = written(restate(written(score), "6/8"))
    assert durations(result, voice=0) == f"{first} 3/8"
    assert durations(result, voice=1) == f"{second} 3/8"


def test_two_parts_are_fitted_together_like_two_voices() -> None:
    one, other = melody("2/4", "1/16 1/16 1/16 1/16 1/4"), melody("2/4", "3/16 1/16 1/4")
    second = other.parts[0].replace(id="P2")
    result = written(restate(one.replace(parts=(one.parts[0], second)), "6/8"))
    assert durations(result) == "1/8 1/16 1/16 1/8 3/8"
    assert durations(result, part=1) == "1/4 1/8 3/8"


def test_explain_says_with_what_a_beat_was_kept_together() -> None:
    score = two_voices("2/4", "1/16 1/16 1/16 1/16 1/4", "3/16 1/16 1/4")
    beats = {beat.source: beat.why for beat in restated(score, "6/8").report.beats}
    assert beats["1/16 1/16 1/16 1/16"] == "kept together with 3/16 1/16"


def test_a_hidden_voice_follows_the_others_and_costs_nothing() -> None:
    score = two_voices("2/4", "3/16 1/16 1/4", "1/8 1/8 1/4", " ".join(["1/32"] * 8) + " 1/4")
    part = score.parts[0]
    seen, trill = part.voices[0], part.voices[2]
    hidden = Voice("3", tuple(event.replace(hidden=True) for event in trill.events))
    result = restate(score.replace(parts=(part.replace(voices=(seen, hidden)),)), "6/8")
    assert durations(result, voice=0) == "1/4 1/8 3/8"
    shape = [event.onset for event in result.parts[0].voices[1].events]
    # Evenly up to the second note, which went from 3/16 to 1/4, and from there to the beat.
    assert shape == [mpq(n, 24) for n in range(6)] + [mpq(1, 4), mpq(5, 16), mpq(3, 8)]


def test_a_hidden_note_keeps_its_share_of_the_time_to_the_next_visible_one() -> None:
    score = two_voices("2/4", "3/16 1/16 1/4", "1/16 1/8 1/16 1/4")
    part = score.parts[0]
    hidden = Voice("2", tuple(e.replace(hidden=True) for e in part.voices[1].events))
    score = score.replace(parts=(part.replace(voices=(part.voices[0], hidden)),))
    result = written(restate(written(score), "6/8"))
    assert durations(result, voice=0) == "1/4 1/8 3/8"
    # A third of the dotted eighth that became a quarter.
    assert durations(result, voice=1) == "1/12 1/6 1/8 3/8"


def test_a_beat_that_any_voice_divides_further_is_not_swung_in_any() -> None:
    score = two_voices("2/4", "1/8 1/8 1/8 1/8", "1/4 1/16 1/16 1/8")
    result = written(restate(written(score), "2/4", lilt="3:1"))
    assert durations(result, voice=0) == "3/16 1/16 1/8 1/8"
    assert durations(result, voice=1) == "1/4 1/16 1/16 1/8"


@pytest.mark.parametrize(
    ("beat", "expected"),
    [
        (forward(2) + note("C4", 2, "eighth"), ["1/6 1/12"]),
        (note("C4", 1, "16th") + forward(1) + note("D4", 2, "eighth"), ["0 1/16", "1/8 1/8"]),
    ],
    ids=["an offbeat behind a gap swings", "a beat that a gap divides further does not"],
)
def test_what_a_gap_leaves_of_a_pair(beat: str, expected: list[str]) -> None:
    score = read(partwise(beat + note("E4", 4, "quarter"), time="2/4"))
    result = written(restate(score, "2/4", lilt="2:1", fit="exact"))
    found = [f"{e.onset} {e.duration}" for _, _, e in result.events() if e.onset < mpq(1, 4)]
    assert found == expected


def test_a_silence_swings_with_its_pair_and_a_dotted_pair_stays() -> None:
    """Only a beat whose one inner onset is its middle is swung."""
    score = melody("3/4", "1/8 1/8 r1/8 1/8 3/16 1/16")
    result = written(restate(written(score), "3/4", lilt="2:1", fit="exact"))
    assert durations(result) == "1/6 1/12 r1/6 1/12 3/16 1/16"


def test_duplets_of_a_dotted_beat_do_not_swing() -> None:
    score = melody("6/8", "3/16 3/16 3/8")
    assert durations(written(restate(score, "6/8", lilt="2:1"))) == "3/16 3/16 3/8"


def test_one_dotted_pair_among_even_ones_is_no_swing_to_be_straightened() -> None:
    rare = melody("2/4", "1/8 1/8 1/8 1/8", "3/16 1/16 1/4")
    assert durations(restate(rare, "2/4", lilt="1:1")) == durations(rare)
    usual = melody("2/4", "1/8 1/8 1/4", "3/16 1/16 3/16 1/16")
    assert durations(restate(usual, "2/4", lilt="1:1")) == "1/8 1/8 1/4 | 1/8 1/8 1/8 1/8"


def test_a_triplet_undone_keeps_its_order_with_plain_eighths() -> None:
    score = two_voices("2/4", "1/12 1/12 1/12 1/4", "1/8 1/8 1/4")
    result = written(restate(written(score), "simple"))
    assert durations(result, voice=0) == "1/16 1/16 1/8 1/4"
    assert durations(result, voice=1) == "1/8 1/8 1/4"


def test_no_onset_moves_by_more_than_a_division_though_fewer_symbols_would_be_written() -> None:
    score = melody("2/4", "9/64 3/64 1/64 1/64 1/32 1/4")
    assert durations(written(restate(score, "6/8"))) == "1/4 1/32 1/32 1/32 1/32 3/8"


def test_a_triplet_on_the_short_part_stays_a_triplet_and_the_pair_keeps_its_foot() -> None:
    score = two_voices("2/4", "1/8 1/24 1/24 1/24 1/4", "1/8 1/8 1/4")
    result = written(restate(written(score), "6/8"))
    assert durations(result, voice=0) == "1/4 1/24 1/24 1/24 3/8"
    assert durations(result, voice=1) == "1/4 1/8 3/8"


def test_a_bar_in_which_nothing_moves_is_left_as_it_was_written() -> None:
    """Odd beams and a stem that the house would not write stand in the bar of quarters."""
    plain = note("C4", 4, "quarter", after="<stem>down</stem>") * 4
    eighths = note("C4", 2, "eighth") * 8
    source = partwise(plain, eighths, plain)
    done = restate.outcome(read(source), "triplets")
    old, new = (
        [
            [etree.tostring(each, method="c14n") for each in bar.findall("note")]
            for bar in etree.fromstring(data).iter("measure")
        ]
        for data in (source, to_bytes(done.score))
    )
    assert [a == b for a, b in zip(old, new, strict=True)] == [True, False, True]
    assert all(b"<stem>down</stem>" in each for each in new[0] + new[2])
    assert str(done.report) == "4 of 12 beats lilt, 8 are left as they were"
    assert done.report.tally["kept"] == 8


def test_what_was_done_is_said_with_the_target_under_which_more_would_lilt() -> None:
    bars = ["1/4 1/4 1/4 1/4"] * 5 + ["1/8 1/8 1/4 1/2"]
    report = restate.outcome(melody("4/4", *bars), "compound").report
    assert str(report) == (
        "1 of 24 beats lilts, 23 are only stretched: quarters would lilt with --to 6/8"
    )
    assert str(restate.outcome(melody("6/8", "3/4"), "compound").report) == (
        "nothing to change: no beat holds a duplet"
    )
    dotted = restate.outcome(melody("2/4", "7/32 1/32 3/16 1/16"), "compound").report
    assert str(dotted).endswith(
        "2 dotted figures became the plain long-short; --fit exact keeps them"
    )
    assert dotted.to_dict()["changed"] is True


def test_a_triplet_over_two_beats_may_be_met_by_sixteenths_and_is_not_bent() -> None:
    score = two_voices("2/4", "1/6 1/6 1/6", "1/16 1/16 1/16 1/16 1/4")
    result = written(restate(written(score), "6/8"))
    assert durations(result, voice=0) == "1/4 1/4 1/4"
    assert durations(result, voice=1) == "1/8 1/8 1/16 1/16 3/8"


def test_a_gap_inside_a_bracket_is_filled_unseen_and_the_score_is_written() -> None:
    gap = "<forward><duration>1</duration></forward>"
    bar = note("C4", 1, "eighth") + gap + note("E4", 1, "eighth") * 6
    result = read(proven(restate(read(partwise(bar, divisions=2)), "triplets")))
    events = result.parts[0].voices[0].events
    assert [(e.is_rest, e.visible) for e in events[:2]] == [(False, True), (True, False)]
    assert durations(result) == "1/6 r1/12" + " 1/6 1/12" * 3


def several_voices() -> list[Path]:
    """At least 150 scores in which voices meet, spread over the corpus, none of them long."""
    files = [path for path in corpus_files() if 3_000 < path.stat().st_size < 11_000]
    return files[:: max(1, len(files) // 190)]


def test_nothing_is_torn_or_reversed_in_real_scores() -> None:
    """Targets and lilts take turns over the scores; ``python -m tests.together`` takes all."""
    ways = [(target, lilt) for target in TARGETS for lilt in LILTS]
    seen = instants = 0
    for n, path in enumerate(several_voices()):
        score = read(path)
        if not has_voices(score.parts):
            continue
        target, lilt = ways[n * 7 % len(ways)]
        count = measure(score, target, lilt)
        assert (count.torn, count.reversed, count.met) == (0, 0, 0), f"{path.name} {target} {lilt}"
        seen += 1
        instants += count.instants
    assert seen >= 150
    assert instants > 10_000


def test_the_measure_sees_what_was_torn_reversed_and_met() -> None:
    score = two_voices("2/4", "1/8 1/8 1/4", "1/8 1/16 1/16 1/4")
    events = lines_of(score)[1]

    def moved(index: int, onset: mpq) -> Score:
        other = [e.replace(onset=onset) if i == index else e for i, e in enumerate(events)]
        part = score.parts[0]
        return score.replace(
            parts=(part.replace(voices=(part.voices[0], Voice("2", tuple(other)))),)
        )

    assert together(score, moved(1, mpq(5, 32))).torn == 1
    assert together(score, moved(2, mpq(3, 32))).reversed == 1
    assert together(score, moved(2, mpq(1, 8))).met == 1


def test_where_a_note_only_ends_another_voice_may_begin() -> None:
    """A rest in the left hand does not tie the right hand's dotted figure.

    Two voices: a dotted eighth and a sixteenth over an eighth and its rest are the plain long-short
    over a quarter and its rest (common practice, no source).
    """
    score = two_voices("2/4", "3/16 1/16 1/4", "1/8 r1/8 1/4")
    result = written(restate(written(score), "6/8"))
    assert durations(result, voice=0) == "1/4 1/8 3/8"
    assert durations(result, voice=1) == "1/4 r1/8 3/8"
