"""What a good copyist would have written, found by engraving results and looking at them.

Each case is the exact spelling of a bar that once came out otherwise. The rules are common
practice (see docs/spelling.md); where a case was seen is named in its id.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from rhythm.notate.score_notation import spell_score
from rhythm.score.model import Score, Voice
from rhythm.verbs import restate
from tests.tiny import melody, written

SPELLED = {
    "a rest does not draw the next beat into the bracket (a rag in triplets)": (
        "4/4",
        "1/2 r1/6 1/12 1/4",
        "half 3:2(r:quarter eighth) quarter",
    ),
    "no dotted value inside a wide bracket hides the beat (a rag in triplets)": (
        "4/4",
        "1/6 1/4 1/12 1/2",
        "3:2(quarter eighth~) 3:2(quarter eighth) half",
    ),
    "a bracket over two beats is for notes on its own grid": (
        "4/4",
        "1/6 1/6 1/6 1/2",
        "3:2(quarter quarter quarter) half",
    ),
    "nine over three beats are three triplets (a sonata squeezed 3:2)": (
        "4/4",
        "1/4 r1/12 1/3 1/6 1/6",
        "quarter 3:2(r:eighth quarter~) 3:2(quarter eighth~) 3:2(eighth quarter)",
    ),
    "a siciliano in simple time has one bracket (an organ part, 12/8 to 4/4)": (
        "4/4",
        "1/8 1/24 1/12 3/4",
        "3:2(eighth. 16th eighth) half.",
    ),
    "rests complete a quintuplet in few symbols (a sonata squeezed 5:4)": (
        "4/4",
        "1/20 r1/5 3/4",
        "5:4(16th r:quarter) half.",
    ),
    "a short note before silence in duple feel is bracketed (a scherzo in duplets)": (
        "6/8",
        "3/32 r9/32 3/8",
        "4:3(eighth r:eighth r:quarter) quarter.",
    ),
    "no nine in the time of six for one long note (a quartet augmented by 4/3)": (
        "6/8",
        "1/3 r5/12",
        "3:2(half r:quarter) r:eighth r:eighth",
    ),
    "a silent half of 6/4 is one rest (a chorale, 4/4 to 6/4)": (
        "6/4",
        "r3/4 r1/2 1/4",
        "r:half. r:half quarter",
    ),
}


@pytest.mark.parametrize(("metre", "durations", "symbols"), SPELLED.values(), ids=SPELLED)
def test_a_bar_is_written_as_a_copyist_would(metre: str, durations: str, symbols: str) -> None:
    assert written(melody(metre, durations)) == symbols


UPBEATS = {
    "a triplet of sixteenths before the bar": ("2/4", "1/24 1/24 1/24", "3:2(16th 16th 16th)"),
    "the last note of a triplet": ("2/4", "1/12", "3:2(eighth)"),
    "a third of a half, not two of nine": ("6/8", "1/6", "3:2(quarter)"),
}


@pytest.mark.parametrize(("metre", "upbeat", "symbols"), UPBEATS.values(), ids=UPBEATS)
def test_a_bracket_stays_inside_its_upbeat(metre: str, upbeat: str, symbols: str) -> None:
    score = melody(metre, upbeat, "1/4", upbeat=True)
    assert written(score).split(" | ")[0] == symbols


def test_an_eighth_is_half_a_beat_in_every_bracket_of_duplets() -> None:
    """Not 4:3 in one beat and 2:3 in the next, where the same symbol has two lengths."""
    jig = melody("6/8", "1/8 1/4 1/4 1/8", "1/8 r1/4 1/8 1/8 1/8")
    assert written(restate(jig, "duplets")) == (
        "2:3(16th eighth.) 2:3(eighth eighth) | 2:3(16th r:16th r:eighth) eighth eighth eighth"
    )


def test_what_is_left_of_a_tuplet_gets_no_bracket_of_its_own() -> None:
    """A hint is followed only where the whole group that it stood over is still together."""
    score = melody("6/8", "3/16 3/8 3/32 3/32")
    assert written(spell_score(score)) == written(score)


def _sung(score: Score, *, flags: bool) -> Score:
    """Every note with a syllable; with ``flags`` none is beamed."""
    part = score.parts[0]
    events = tuple(
        event.replace(
            verses=("1",),
            pieces=tuple(replace(p, beams=() if flags else p.beams) for p in event.pieces),
        )
        for event in part.voices[0].events
    )
    return score.replace(parts=(part.replace(voices=(Voice("1", events),)),))


@pytest.mark.parametrize(("flags", "beamed"), [(True, 0), (False, 16)])
def test_a_song_beamed_by_the_syllable_stays_so(flags: bool, beamed: int) -> None:
    song = _sung(melody("2/4", *["1/8 1/16 1/16 1/8 1/16 1/16"] * 4), flags=flags)
    events = restate(song, "compound").parts[0].voices[0].events
    assert sum(bool(piece.beams) for event in events for piece in event.pieces) == beamed
