"""Other formats by way of music21."""

from __future__ import annotations

from pathlib import Path

import pytest
from gmpy2 import mpq

from rhythm import formats
from rhythm.exact.errors import FileError
from rhythm.formats.bridge import FORMATS, from_music21, to_music21
from rhythm.formats.musicxml.read.score_reader import read
from tests.markup import note, partwise

ABC = "X:1\nT:A tune\nM:6/8\nL:1/8\nK:G\nGAB d2B|c3 A3|\n"
KERN = "**kern\n*M3/4\n=1\n4c\n8d\n8e\n4f\n=2\n2.g\n==\n*-\n"
TRIPLET = "X:1\nM:2/4\nL:1/8\nK:C\n(3CDE F2|\n"


@pytest.mark.parametrize(
    ("name", "text", "expected"),
    [
        ("tune.abc", ABC, ["1/8"] * 3 + ["1/4", "1/8", "3/8", "3/8"]),
        ("triplet.abc", TRIPLET, ["1/12"] * 3 + ["1/4"]),
        ("tune.krn", KERN, ["1/4", "1/8", "1/8", "1/4", "3/4"]),
    ],
)
def test_a_tune_in_another_format_is_read(
    tmp_path: Path, name: str, text: str, expected: list[str]
) -> None:
    path = tmp_path / name
    path.write_text(text)
    (voice,) = formats.read(path).parts[0].voices
    assert [str(event.duration) for event in voice.events] == expected


def test_a_midi_file_is_read(tmp_path: Path) -> None:
    """One track: middle C for a quarter, then D for a half, at 96 ticks a quarter."""
    track = (
        b"\x00\xff\x58\x04\x03\x02\x18\x08"  # 3/4
        b"\x00\x90\x3c\x40\x60\x80\x3c\x00\x00\x90\x3e\x40\x81\x40\x80\x3e\x00\x00\xff\x2f\x00"
    )
    path = tmp_path / "tune.mid"
    path.write_bytes(
        b"MThd\x00\x00\x00\x06\x00\x00\x00\x01\x00\x60MTrk" + len(track).to_bytes(4, "big") + track
    )
    score = formats.read(path)
    assert [(str(e.onset), str(e.duration)) for e in score.parts[0].voices[0].events] == [
        ("0", "1/4"),
        ("1/4", "1/2"),
    ]
    assert str(score.bars[0].metre) == "3/4"


def test_a_stream_goes_there_and_back() -> None:
    bar = note("C4", 4, "eighth", ratio="3:2") * 3 + note("F#4", 12, "quarter")
    score = read(partwise(bar, divisions=12, time="2/4"))
    again = from_music21(to_music21(score))
    for event, other in zip(
        score.parts[0].voices[0].events, again.parts[0].voices[0].events, strict=True
    ):
        assert (event.onset, event.duration, event.pitches) == (
            other.onset,
            other.duration,
            other.pitches,
        )
    assert again.length == mpq(1, 2)


def test_what_is_not_the_format_it_is_called_is_refused(tmp_path: Path) -> None:
    assert set(FORMATS) == {".abc", ".krn", ".mei", ".mid", ".midi"}
    for suffix in FORMATS:
        path = tmp_path / f"tune{suffix}"
        path.write_bytes(b"\x00\x01 nothing of the kind")
        with pytest.raises(FileError) as caught:
            formats.read(path)
        assert "\n" not in str(caught.value)


def test_a_book_of_tunes_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "book.abc"
    path.write_text(ABC + "\n" + ABC.replace("X:1", "X:2"))
    with pytest.raises(FileError, match="holds 2 pieces"):
        formats.read(path)


def test_a_missing_file_is_said_before_music21_is_asked(tmp_path: Path) -> None:
    with pytest.raises(FileError, match="there is no such file"):
        formats.read(tmp_path / "absent.abc")


def test_only_musicxml_is_written(tmp_path: Path) -> None:
    score = read(partwise(note("C4", 16, "whole")))
    with pytest.raises(FileError, match=r"not written as \.abc"):
        formats.write(score, tmp_path / "out.abc")
    for name in ("out.musicxml", "out.xml", "out.mxl"):
        formats.write(score, tmp_path / name)
        assert formats.read(tmp_path / name).parts == score.parts
