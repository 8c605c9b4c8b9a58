"""The main job on real scores: restated and back, nothing lost, and others read it as we do."""

from __future__ import annotations

import warnings
from collections import Counter
from fractions import Fraction
from pathlib import Path

import music21
import pytest

import rhythm
from rhythm.exact.metre import Metre
from rhythm.formats.musicxml.read.score_reader import read
from rhythm.formats.musicxml.saving import proven
from rhythm.formats.musicxml.write.score_writer import to_bytes
from rhythm.score.model import Score
from rhythm.verbs import restate
from tests import schema
from tests.census import census
from tests.corpus import corpus_files, pick


def simple_throughout(score: Score) -> bool:
    """Every bar in a simple metre, as duple themes are."""
    metres = {bar.metre for part in score.parts for bar in part.bars}
    return bool(metres) and all(m is not None and m.length and not m.is_compound for m in metres)


SCORES = pick(60, most_bytes=24_000, accept=simple_throughout)
IDS = [path.stem for path in SCORES]


def notes(score: Score) -> list[tuple[str, str, list[object]]]:
    """What sounds, in order, voice by voice."""
    return [
        (part.id, voice.name, [e.pitches for e in voice.events if not e.is_rest])
        for part in score.parts
        for voice in part.voices
    ]


def agree_with_music21(score: Score, data: bytes, folder: Path) -> None:
    """music21 reads the same bar lengths and the same onsets out of the written file."""
    path = folder / "out.musicxml"
    path.write_bytes(data)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        theirs = music21.converter.parse(path, forceSource=True)
    by_part: list[tuple[Counter[object], list[Fraction]]] = []
    for part in theirs.parts:
        onsets: Counter[object] = Counter()
        starts = []
        for bar in part.getElementsByClass(music21.stream.Measure):
            starts.append(Fraction(bar.offset))
            for note in bar.recurse().notes:
                if note.duration.isGrace or isinstance(note, music21.harmony.ChordSymbol):
                    continue
                onsets[Fraction(bar.offset) + Fraction(note.getOffsetInHierarchy(bar))] += 1
        by_part.append((onsets, starts))
    flat = sum((onsets for onsets, _ in by_part), Counter())
    ours: Counter[object] = Counter()
    for part in score.parts:
        for voice in part.voices:
            for event in voice.events:
                if event.duration > 0 and not event.is_rest:
                    for piece in event.pieces:
                        at = (part.bars[piece.bar].start + piece.offset) * 4
                        ours[Fraction(int(at.numerator), int(at.denominator))] += 1
    assert ours == flat
    bars = [bar.start * 4 for bar in score.bars]
    expected = [Fraction(int(b.numerator), int(b.denominator)) for b in bars]
    assert by_part[0][1][: len(expected)] == expected


@pytest.mark.parametrize("path", SCORES, ids=IDS)
def test_a_real_score_goes_to_compound_and_triplets_and_back(path: Path, tmp_path: Path) -> None:
    source = read(path)
    before = census(source)
    valid = not schema.errors(to_bytes(source))
    for target in ("compound", "triplets"):
        image = restate(source, target)
        data = to_bytes(image)
        assert notes(image) == notes(source)
        assert census(image) == before
        agree_with_music21(image, data, tmp_path)
        again = read(data)
        assert notes(again) == notes(source)
        back = restate(again, "simple")
        returned = to_bytes(back)
        assert notes(back) == notes(source)
        assert census(back) == before
        assert [bar.length for bar in back.bars] == [bar.length for bar in source.bars]
        if valid:
            assert not schema.errors(data)
            assert not schema.errors(returned)


@pytest.mark.parametrize("path", SCORES[::3], ids=IDS[::3])
def test_a_score_sent_to_the_metres_it_has_is_written_as_it_was(path: Path) -> None:
    source = read(path)
    table = {Metre.parse(name): Metre.parse(name) for name in {str(b.metre) for b in source.bars}}
    assert table
    assert to_bytes(restate(source, table)) == to_bytes(source)


BACK = [
    ("bach/bwv66.6.mxl", "1-9"),
    ("monteverdi/madrigal.3.1.mxl", "1-20"),
    ("joplin/maple_leaf_rag.mxl", "1-30"),
    ("schumann_robert/opus48no2.mxl", "1-17"),
    # a hidden trill whose durations are rounded
    ("beethoven/opus59no2/movement2.mxl", "95-97"),
]


@pytest.mark.parametrize(("name", "bars"), BACK, ids=[name for name, _ in BACK])
def test_an_exact_fit_there_and_back_brings_every_note_back(name: str, bars: str) -> None:
    path = next(p for p in corpus_files() if p.as_posix().endswith(name))
    source = rhythm.excerpt(rhythm.read(path), bars=bars)
    there = again(rhythm.restate(source, "compound", fit="exact"))
    back = again(rhythm.restate(there, "simple", fit="exact"))
    assert sounding(back) == sounding(source) != sounding(there)


def again(score: Score) -> Score:
    """What stands in the file."""
    return read(proven(score))


def sounding(score: Score) -> list[tuple[object, ...]]:
    """Every visible note with its place and length."""
    return [
        (part.id, voice.name, event.onset, event.duration, event.pitches)
        for part, voice, event in score.events()
        if event.visible and not event.is_rest and event.duration
    ]
