"""Symbols that nobody reads are written only where the source wrote them.

The limits (no ratio with a number above 15, nothing shorter than the source's shortest or a 128th,
no note in more than three tied pieces in a bar, no bracket over one note) are common practice.
"""

from __future__ import annotations

import pytest

import rhythm
from rhythm.formats.musicxml.read.score_reader import read
from rhythm.formats.musicxml.saving import proven
from rhythm.notate.score_notation import spell_score
from rhythm.score.model import Score, Voice
from rhythm.score.readable import strains
from tests.corpus import corpus_files
from tests.markup import note, partwise
from tests.tiny import durations, melody, written


def _stray() -> Score:
    """A bar as a rounding exporter left it: sixteenths whose onsets are a hair off."""
    return melody("2/4", "1/4 1/4", "513/8192 511/8192 1/8 1/4")


def _bare() -> Score:
    """The same, as if nothing said how it was written."""
    score = _stray()
    part = score.parts[0]
    events = tuple(event.replace(pieces=()) for event in part.voices[0].events)
    return score.replace(parts=(part.replace(voices=(Voice("1", events),)),))


def test_what_strains_the_reader_is_named_with_its_bar():
    (first, *_) = strains(_stray())
    assert first.bar == 1
    assert first.problem.startswith(("a bracket of", "a 1024th", "a 512th", "a note in"))


def test_what_the_source_wrote_itself_is_no_strain():
    assert strains(_stray(), _stray()) == []


def test_a_restatement_puts_a_stray_bar_on_the_next_coarser_grid(tmp_path):
    rhythm.write(rhythm.restate(_bare(), "compound", fit="exact"), tmp_path / "back.musicxml")
    page = rhythm.read(tmp_path / "back.musicxml")
    assert strains(page) == []
    assert durations(page).split(" | ")[1] == "1/8 1/8 1/8 3/8"


def test_a_fair_copy_that_nothing_can_write_is_refused_with_its_bar():
    with pytest.raises(rhythm.MusicError, match=r"Theme, bar 2, voice 1: only .* could write"):
        rhythm.faircopy(_bare())


def _broken_off() -> Score:
    """Three bars, the second with a note of no type that ends beside every place."""
    third = note("C5", 1008, "quarter", dots=1)
    bars = [third * 3, third * 3 + note("D5", 59), third * 3]
    return read(partwise(*bars, time="9/8", divisions=672))


def test_a_bar_that_nothing_can_write_is_left_and_the_rest_is_restated(tmp_path):
    done = rhythm.restate.outcome(_broken_off(), "7/8")
    assert str(done.report).endswith("; mend it first")
    assert "bar 2 left as written: only a bracket of" in str(done.report)
    rhythm.write(done.score, tmp_path / "out.musicxml")
    page = rhythm.read(tmp_path / "out.musicxml")
    assert [str(bar.metre) for bar in page.bars] == ["7/8", "9/8", "7/8"]
    assert durations(page) == "1/4 1/4 3/8 | 3/8 3/8 3/8 59/2688 | 1/4 1/4 3/8"


def test_where_no_other_bar_was_asked_for_the_bar_that_nothing_can_write_is_refused():
    with pytest.raises(
        rhythm.MusicError,
        match=r"bar 2, voice 1: only .* could write .*; mend the bar, or leave it out",
    ):
        rhythm.restate(_broken_off(), "7/8", bars="2")


@pytest.mark.parametrize(
    ("metre", "bar", "to", "expected"),
    [
        (
            "2/4",
            "1/32 1/32 1/32 1/32 1/32 1/32 1/32 1/32 1/4",
            "triplets",
            "3:2(16th 16th 16th 16th 32nd 32nd 32nd 32nd) quarter",
        ),
        ("6/8", "1/8 1/8 1/8 1/4 1/8", "duplets", "eighth eighth eighth 2:3(eighth eighth)"),
        ("6/8", "3/16 1/16 1/8 3/8", "duplets", "2:3(16th 16th eighth) quarter."),
    ],
    ids=["eight in a beat", "three even notes", "a siciliano"],
)
def test_each_beat_has_one_bracket_or_none(metre, bar, to, expected, tmp_path):
    rhythm.write(rhythm.restate(melody(metre, bar), to), tmp_path / "out.musicxml")
    assert written(rhythm.read(tmp_path / "out.musicxml")) == expected


@pytest.mark.parametrize(
    ("metre", "bars", "to", "expected"),
    [
        ("2/4", ["1/8", "1/8 1/8 1/4", "1/4 1/8"], "triplets",
         "eighth | 3:2(quarter eighth) quarter | quarter eighth"),
        ("6/8", ["1/8", "1/4 1/8 3/8", "3/8 1/4"], "duplets",
         "eighth | 2:3(eighth eighth) quarter. | quarter. quarter"),
    ],
    ids=["triplets", "duplets"],
)  # fmt: skip
def test_a_beat_that_an_upbeat_cuts_takes_no_bracket(metre, bars, to, expected, tmp_path):
    theme = melody(metre, *bars, upbeat=True)
    rhythm.write(rhythm.restate(theme, to), tmp_path / "out.musicxml")
    assert written(rhythm.read(tmp_path / "out.musicxml")) == expected


CUT_SILENCES = {
    "before a triplet in 2/2": ("2/2", "1/4 r1/3 1/12 1/12 1/4",
        "quarter r:quarter 3:2(r:eighth eighth eighth) quarter"),
    "an eighth and a triplet sixteenth": ("2/4", "1/8 r1/6 1/24 1/24 1/8",
        "eighth r:eighth 3:2(r:16th 16th 16th) eighth"),
    "after a triplet": ("4/4", "1/2 1/12 1/12 r1/3",
        "half 3:2(eighth eighth r:eighth) r:quarter"),
    "not in a bracket of a half": ("4/4", "1/6 r1/6 1/6 1/2",
        "3:2(quarter r:quarter quarter) half"),
    "finer edges make no triplet": ("2/4", "r1/16 1/48 1/48 1/48 1/24 1/24 1/24 1/4",
        "r:16th 3:2(32nd 32nd 32nd) 3:2(16th 16th 16th) quarter"),
}  # fmt: skip


@pytest.mark.parametrize(("metre", "bar", "expected"), CUT_SILENCES.values(), ids=CUT_SILENCES)
def test_silence_is_cut_where_a_bracket_would_hide_the_beat(metre, bar, expected):
    assert written(melody(metre, bar)) == expected


@pytest.mark.parametrize("unseen", ["hidden", "cue"])
def test_hidden_and_cue_notes_get_no_beams_and_brackets_they_did_not_have(unseen):
    theme = melody("2/4", "1/8 1/8 1/8 1/8", "1/4 1/4")
    voice = theme.parts[0].voices[0]
    events = tuple(
        event.replace(pieces=(), **{unseen: True}) if event.bar == 0 else event
        for event in voice.events
    )
    part = theme.parts[0].replace(voices=(Voice("1", events),))
    hidden = spell_score(theme.replace(parts=(part,)))
    assert not any(p.beams for e in hidden.parts[0].voices[0].events for p in e.pieces)
    # Beside a voice that is seen they lilt with it.
    part = part.replace(voices=(*part.voices, Voice("2", voice.events)))
    back = rhythm.restate(theme.replace(parts=(part,)), "triplets")
    pieces = [p for e in back.parts[0].voices[0].events if e.bar == 0 for p in e.pieces]
    assert [piece.ratio for piece in pieces] == [(3, 2)] * 4
    assert not any(piece.beams for piece in pieces)
    assert not any(tuplet.bracket for piece in pieces for tuplet in piece.tuplets)


def test_the_proof_refuses_symbols_that_the_source_did_not_write(tmp_path):
    sixty_fourths = note("C5", 1, "64th") * 16 + note("D5", 16, "quarter")
    shorter = rhythm.vary(read(partwise(sixty_fourths, time="2/4", divisions=16)), "diminution:4")
    with pytest.raises(rhythm.MusicError, match=r"bar 1, voice 1: only a 256th could write"):
        rhythm.write(shorter, tmp_path / "out.musicxml")
    assert not (tmp_path / "out.musicxml").exists()


@pytest.mark.parametrize(
    "name", ["nested_tuplet_finale_test.xml", "nested_tuplet_finale_test2.xml"]
)
def test_tuplets_in_tuplets_stay_so_in_a_fair_copy(name):
    score = rhythm.read(next(p for p in corpus_files() if p.name == name))
    assert written(score).startswith("3:2(eighth ")
    assert written(read(proven(rhythm.faircopy(score)))) == written(score)
