"""Two independent readers find every note of what we write where we put it."""

from __future__ import annotations

import warnings
from collections import Counter
from functools import lru_cache
from pathlib import Path
from typing import Any

import pytest
from gmpy2 import mpq

from rhythm.formats.musicxml.read.score_reader import read
from rhythm.formats.musicxml.write.score_writer import to_bytes
from rhythm.score.model import Score
from tests.corpus import pick
from tests.formats.test_roundtrip import rebuilt

# A quarter divided so finely tells any two positions of these scores apart, floats included.
GRID = 5040

Found = Counter[tuple[int, int]]


@lru_cache(maxsize=1)
def sample() -> tuple[Path, ...]:
    return tuple(pick(8, most_bytes=9_000))


def tick(quarters: Any) -> int:
    return round(quarters * GRID)


def ours(score: Score) -> Found:
    return Counter(
        (tick((part.bars[piece.bar].start + piece.offset) * 4), int(pitch.midi))
        for part, _, event in score.events()
        for piece in event.pieces
        for pitch in event.pitches
    )


def by_music21(data: bytes, tmp_path: Path) -> Found:
    from music21 import converter

    stream = converter.parseData(data.decode(), format="musicxml")
    return Counter(
        (tick(note.offset), int(pitch.midi))
        for note in stream.flatten().notes
        if not note.duration.isGrace
        for pitch in note.pitches
    )


def by_partitura(data: bytes, tmp_path: Path) -> Found:
    import partitura

    path = tmp_path / "score.musicxml"
    path.write_bytes(data)
    found: Found = Counter()
    for part in partitura.load_musicxml(path).parts:
        start = part.quarter_map(part.first_point.t)
        for note in part.notes:
            if not isinstance(note, partitura.score.GraceNote):
                found[tick(float(part.quarter_map(note.start.t) - start)), note.midi_pitch] += 1
    return found


@pytest.mark.parametrize("oracle", [by_music21, by_partitura])
def test_another_reader_finds_the_same_notes_at_the_same_time(oracle: Any, tmp_path: Path) -> None:
    seen = 0
    for path in sample():
        score = read(path)
        expected = ours(score)
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            assert oracle(to_bytes(rebuilt(score)), tmp_path) == expected, path
        seen += sum(expected.values())
    assert seen > 1000


def test_the_grid_tells_triplets_and_septuplets_from_sixteenths() -> None:
    positions = {mpq(n, d) for d in (1, 2, 3, 4, 5, 7, 8, 9, 12, 16) for n in range(d)}
    assert len({tick(position) for position in positions}) == len(positions)
