"""The beat tables of the main job, both ways: what each rhythm of a beat becomes.

The values are this project's choice among what proximity rules allow (binarization and
ternarization of rhythm: Gómez et al., Bridges 2007, 99-108); common practice, no source.
"""

from __future__ import annotations

import pytest
from gmpy2 import mpq

from rhythm.verbs import restate
from tests.sheet import bar, sheet
from tests.tiny import durations, melody

TO_COMPOUND = [
    ("1/8 1/8", "1/4 1/8"),
    ("1/16 1/16 1/16 1/16", "1/8 1/8 1/16 1/16"),
    ("3/16 1/16", "1/4 1/8"),
    ("1/16 3/16", "1/8 1/4"),
    ("7/32 1/32", "1/4 1/8"),
    ("3/32 1/32 1/8", "3/16 1/16 1/8"),
    ("1/8 1/16 1/16", "1/4 1/16 1/16"),
    ("1/16 1/16 1/8", "1/8 1/8 1/8"),
    ("1/12 1/12 1/12", "1/8 1/8 1/8"),
    ("1/6 1/12", "1/4 1/8"),
    ("1/24 1/24 1/24 1/24 1/24 1/24", "1/16 1/16 1/16 1/16 1/16 1/16"),
    ("r1/8 1/8", "r1/4 1/8"),
    ("1/4", "3/8"),
]
TWO_BEATS_TO_COMPOUND = [
    ("1/8 1/4 1/8", "1/4 3/8 1/8"),
    ("3/8 1/8", "5/8 1/8"),
    ("1/2", "3/4"),
    ("1/6 1/6 1/6", "1/4 1/4 1/4"),
]
TO_SIMPLE = [
    ("1/4 1/8", "1/8 1/8"),
    ("1/8 1/4", "1/16 3/16"),
    ("1/8 1/8 1/8", "1/16 1/16 1/8"),
    ("3/16 1/16 1/8", "3/32 1/32 1/8"),
    ("1/4 1/16 1/16", "1/8 1/16 1/16"),
    ("1/8 1/8 1/16 1/16", "1/16 1/16 1/16 1/16"),
    ("5/16 1/16", "3/16 1/16"),
    ("3/16 3/16", "1/8 1/8"),
]
# The six rhythmic modes in 6/8 (Britannica, "rhythmic mode"), as feet; mode 1 is the trochee that
# straight eighths turn into, mode 5 the spondee of plain beats.
MODES_FROM_DUPLE = [
    ("1/8 1/8 1/8 1/8", "trochee", "1/4 1/8 1/4 1/8"),
    ("1/8 1/8 1/8 1/8", "iamb", "1/8 1/4 1/8 1/4"),
    ("1/4 1/8 1/8", "iamb", "3/8 1/8 1/4"),
    ("1/8 1/8 1/4", "iamb", "1/8 1/4 3/8"),
    ("1/4 1/4", "trochee", "3/8 3/8"),
    ("1/12 1/12 1/12 1/4", "trochee", "1/8 1/8 1/8 3/8"),
]


def _ids(rows: list[tuple[str, ...]]) -> list[str]:
    return [" to ".join(row).replace("/", "⁄") for row in rows]


@pytest.mark.parametrize(("source", "image"), TO_COMPOUND, ids=_ids(TO_COMPOUND))
def test_a_quarter_beat_becomes_a_dotted_quarter_beat(source: str, image: str) -> None:
    score = melody("2/4", f"1/4 {source}")
    assert durations(restate(score, "6/8")) == f"3/8 {image}"


@pytest.mark.parametrize(
    ("source", "image"), TWO_BEATS_TO_COMPOUND, ids=_ids(TWO_BEATS_TO_COMPOUND)
)
def test_rhythms_over_two_beats_keep_their_shape_in_compound_time(source: str, image: str) -> None:
    assert durations(restate(melody("2/4", source), "compound")) == image


@pytest.mark.parametrize(("source", "image"), TO_SIMPLE, ids=_ids(TO_SIMPLE))
def test_a_dotted_quarter_beat_becomes_a_quarter_beat(source: str, image: str) -> None:
    score = melody("6/8", f"3/8 {source}")
    assert durations(restate(score, "simple")) == f"1/4 {image}"


@pytest.mark.parametrize(("source", "image"), TO_COMPOUND, ids=_ids(TO_COMPOUND))
def test_triplets_write_the_same_lilt_in_the_metre_that_stays(source: str, image: str) -> None:
    compound = restate(melody("2/4", f"1/4 {source}"), "compound")
    triplets = restate(melody("2/4", f"1/4 {source}"), "triplets")
    assert str(triplets.bars[0].metre) == "2/4"
    ours = [event.duration * 3 / 2 for event in triplets.parts[0].voices[0].events]
    assert ours == [event.duration for event in compound.parts[0].voices[0].events]


@pytest.mark.parametrize(("source", "lilt", "image"), MODES_FROM_DUPLE, ids=_ids(MODES_FROM_DUPLE))
def test_the_rhythmic_modes_come_out_of_duple_feet(source: str, lilt: str, image: str) -> None:
    assert durations(restate(melody("2/4", source), "compound", lilt=lilt)) == image


def test_duplets_mirror_triplets() -> None:
    score = melody("6/8", "1/4 1/8 3/8")
    image = restate(score, "duplets")
    assert str(image.bars[0].metre) == "6/8"
    assert durations(image) == "3/16 3/16 3/8"


# In an irregular metre only the beats of the other kind are bracketed (common practice, no source).
IRREGULAR = [
    ("5/8", "triplets", "3/8 1/4", "3/8 1/4"),
    ("5/8", "triplets", "1/8 1/8 1/8 1/8 1/8", "1/8 1/8 1/8 1/6 1/12"),
    ("7/8", "triplets", "1/4 1/4 3/8", "1/4 1/4 3/8"),
    ("7/8", "triplets", "1/8 1/8 1/8 1/8 1/4 1/8", "1/6 1/12 1/6 1/12 1/4 1/8"),
    ("3+2+2/8", "triplets", "1/4 1/8 1/8 1/8 1/4", "1/4 1/8 1/6 1/12 1/4"),
    ("8/8", "triplets", "3/8 1/8 1/4 1/8 1/8", "3/8 1/8 1/4 1/6 1/12"),
    ("5/8", "duplets", "1/4 1/8 1/8 1/8", "3/16 3/16 1/8 1/8"),
    ("7/8", "duplets", "1/8 1/8 1/4 1/4 1/8", "1/8 1/8 1/4 3/16 3/16"),
    ("7/16", "duplets", "1/8 1/8 1/8 1/16", "1/8 1/8 3/32 3/32"),
]


@pytest.mark.parametrize(("metre", "to", "source", "image"), IRREGULAR)
def test_brackets_touch_only_the_beats_of_the_other_kind(
    metre: str, to: str, source: str, image: str
) -> None:
    result = restate(melody(metre, source), to)
    assert str(result.bars[0].metre) == metre
    assert durations(result) == image


def test_an_upbeat_is_aligned_to_the_end_of_its_bar() -> None:
    score = melody("4/4", "1/8", "1/4 1/4 1/4 1/4", upbeat=True)
    image = restate(score, "compound")
    assert durations(image) == "1/8 | 3/8 3/8 3/8 3/8"
    assert image.bars[0].implicit
    assert image.bars[0].shift == mpq(11, 8)


def test_beats_of_unequal_length_come_in_turn_however_bars_and_upbeats_cut_them() -> None:
    """Each quarter becomes the next beat of 2+2+3/8; a bar split after two goes on with the third.

    An upbeat takes the beat that leads to a bar line.
    """
    four, turn = "1/4 1/4 1/4 1/4", "1/4 1/4 3/8"
    plain = melody("4/4", four, four, four)
    assert durations(restate(plain, "2+2+3/8", by="beat")) == " | ".join([turn] * 4)
    upbeat = melody("4/4", "1/4", four, four, "1/4 1/4 1/4", upbeat=True)
    led = durations(restate(upbeat, "2+2+3/8", by="beat"))
    assert led == " | ".join(["3/8", *[turn] * 3, "1/4 1/4"])
    split = sheet(["q q q q", bar("q q", right="||"), "q q", "q q q q"])
    assert durations(restate(split, "2+2+3/8", by="beat")) == " | ".join([turn] * 4)


def test_triplets_restated_as_simple_lose_their_brackets() -> None:
    score = melody("4/4", "1/6 1/12 1/4 1/12 1/12 1/12 1/8 1/8")
    assert durations(restate(score, "simple")) == "1/8 1/8 1/4 1/16 1/16 1/8 1/8 1/8"


def test_the_exact_fit_keeps_the_map_s_own_image() -> None:
    score = melody("2/4", "1/4 3/16 1/16")
    assert durations(restate(score, "compound", fit="exact")) == "3/8 5/16 1/16"


def test_an_upbeat_of_half_a_beat_keeps_its_triplet_within_its_bar() -> None:
    score = melody("2/4", "1/24 1/24 1/24", "1/4 1/4", upbeat=True)
    image = restate(score, "compound")
    assert durations(image) == "1/24 1/24 1/24 | 3/8 3/8"
    assert image.bars[0].length == mpq(1, 8)
