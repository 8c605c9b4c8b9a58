"""Loss is a defect: every MusicXML file of the music21 package survives reading and writing."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import pytest
from lxml import etree

from rhythm.formats.files import load
from rhythm.formats.musicxml.document import parse
from rhythm.formats.musicxml.read.score_reader import read, read_document
from rhythm.formats.musicxml.write.score_writer import to_bytes, to_tree
from rhythm.score.model import Bar, Part, Score
from tests.census import count
from tests.corpus import SUFFIXES, music21_folder
from tests.schema import errors

CHUNKS = 16
FILES = tuple(sorted(p for p in music21_folder().rglob("*") if p.suffix in SUFFIXES))
SAMPLE = tuple(
    path
    for path in (*FILES[::13], *(p for p in FILES[::2] if "lilypondTestSuite" in str(p)))
    if path.stat().st_size < 150_000
)


def canonical(tree: etree._ElementTree) -> bytes:
    data: bytes = etree.tostring(tree, method="c14n")
    return data


def rebuilt(score: Score) -> Score:
    """The score with every bar to be written afresh, and nothing else changed."""

    def bar(old: Bar) -> Bar:
        return old.replace(source=None)

    def part(old: Part) -> Part:
        return old.replace(bars=tuple(map(bar, old.bars)))

    return score.replace(parts=tuple(map(part, score.parts)))


def music(score: Score) -> list[object]:
    """Everything two readings must agree on. Ticks and remarks are the file's."""
    return [
        (
            part.id,
            part.name,
            [bar.replace(remarks=(), divisions=None) for bar in part.bars],
            [
                (
                    voice.name,
                    [
                        event.replace(pieces=tuple(replace(p, ticks=None) for p in event.pieces))
                        for event in voice.events
                    ],
                    [(len(event.graces), len(event.after)) for event in voice.events],
                )
                for voice in part.voices
            ],
            Counter(
                (mark.kind, mark.onset, mark.reach, mark.length, mark.metronome, mark.tempo)
                for mark in part.marks
                if mark.kind not in ("attributes", "barline", "measure")
            ),
        )
        for part in score.parts
    ]


def test_there_are_files_to_read() -> None:
    assert len(FILES) > 790
    assert len(SAMPLE) > 100


@pytest.mark.parametrize("chunk", range(CHUNKS))
def test_an_untouched_score_is_written_as_it_was(chunk: int) -> None:
    """The very same serialization, so the same canonical XML, document type and comments too."""
    for path in FILES[chunk::CHUNKS]:
        data, name = load(path)
        document = parse(data, name)
        before = etree.tostring(document.tree)
        tree = to_tree(read_document(document))
        assert tree is not document.tree
        assert etree.tostring(tree) == before, path


def test_the_bytes_of_an_untouched_score_are_canonically_those_of_the_file() -> None:
    for path in SAMPLE[::8]:
        data, _ = load(path)
        original = etree.fromstring(data, etree.XMLParser(resolve_entities=False))
        again = etree.fromstring(to_bytes(read(data)), etree.XMLParser(resolve_entities=False))
        assert canonical(again.getroottree()) == canonical(original.getroottree()), path


@pytest.mark.parametrize("chunk", range(CHUNKS))
def test_a_score_written_afresh_says_the_same_music_and_loses_nothing(chunk: int) -> None:
    for path in SAMPLE[chunk::CHUNKS]:
        score = read(path)
        afresh = rebuilt(score)
        assert music(read(to_bytes(afresh))) == music(score), path
        assert count(to_tree(afresh)) == count(to_tree(score)), path


@pytest.mark.parametrize("chunk", range(CHUNKS))
def test_what_is_written_afresh_is_valid_where_the_file_was(chunk: int) -> None:
    checked = 0
    for path in SAMPLE[chunk::CHUNKS][:6]:
        data, _ = load(path)
        if not errors(data):
            assert errors(to_bytes(rebuilt(read(data)))) == [], path
            checked += 1
    assert checked


def test_writing_afresh_twice_gives_the_same_bytes() -> None:
    for path in SAMPLE[::20]:
        once = to_bytes(rebuilt(read(path)))
        assert to_bytes(rebuilt(read(once))) == once, path


def test_some_bars_written_afresh_leave_the_others_as_they_were() -> None:
    seen = 0
    for path in SAMPLE[::6]:
        score = read(path)
        mixed = score.replace(
            parts=tuple(
                part.replace(
                    bars=tuple(
                        bar.replace(source=None) if 2 <= bar.index < 5 else bar for bar in part.bars
                    )
                )
                for part in score.parts
            )
        )
        again = read(to_bytes(mixed))
        assert music(again) == music(score), path
        for part, other in zip(score.parts, again.parts, strict=True):
            for bar, written in zip(part.bars, other.bars, strict=True):
                if 2 <= bar.index < 5:
                    continue
                assert isinstance(bar.source, etree._Element)
                assert isinstance(written.source, etree._Element)
                assert etree.tostring(bar.source, method="c14n", with_tail=False) == etree.tostring(
                    written.source, method="c14n", with_tail=False
                ), (path, bar.number)
                seen += 1
    assert seen > 500
