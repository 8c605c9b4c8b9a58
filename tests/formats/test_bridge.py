"""music21 streams in and out, and MIDI by way of music21."""

from __future__ import annotations

from pathlib import Path

import pytest
from gmpy2 import mpq

import rhythm
from rhythm import formats
from rhythm.exact.errors import FileError
from rhythm.formats.bridge import child
from rhythm.formats.bridge.streams import from_music21, to_music21
from rhythm.formats.musicxml.read.score_reader import read
from rhythm.formats.musicxml.write.score_writer import to_bytes
from tests.markup import note, partwise


def midi(events: bytes, ticks: int = 96) -> bytes:
    """A MIDI file of one track."""
    head = b"MThd\x00\x00\x00\x06\x00\x00\x00\x01" + ticks.to_bytes(2, "big")
    return head + b"MTrk" + len(events).to_bytes(4, "big") + events


END = b"\x00\xff\x2f\x00"
# 3/4; middle C for a quarter, then D for a half, at 96 ticks a quarter.
TUNE = midi(
    b"\x00\xff\x58\x04\x03\x02\x18\x08"
    b"\x00\x90\x3c\x40\x60\x80\x3c\x00\x00\x90\x3e\x40\x81\x40\x80\x3e\x00" + END
)


def test_a_midi_file_is_read_whatever_it_is_called(tmp_path: Path) -> None:
    path = tmp_path / "tune.xml"
    path.write_bytes(TUNE)
    score = formats.read(path)
    assert [(str(e.onset), str(e.duration)) for e in score.parts[0].voices[0].events] == [
        ("0", "1/4"),
        ("1/4", "1/2"),
    ]
    assert str(score.bars[0].metre) == "3/4"
    assert [(part.id, part.name) for part in score.parts] == [("P1", "Part 1")]


def test_a_midi_file_is_called_as_its_sequence_or_else_as_the_file(tmp_path: Path) -> None:
    """Standard MIDI Files 1.0: the name of the first track is that of the sequence."""
    music = read(partwise(note("C4", 16, "whole")))
    named = rhythm.midi(music.replace(title="The Mill & the Brook"))
    (tmp_path / "a.mid").write_bytes(named)
    assert formats.read(tmp_path / "a.mid").title == "The Mill & the Brook"
    (tmp_path / "Old Tune.mid").write_bytes(TUNE)
    score = formats.read(tmp_path / "Old Tune.mid")
    assert score.title == "Old Tune" and b"<movement-title>Old Tune<" in to_bytes(score)
    assert formats.read(TUNE).title == ""


@pytest.mark.parametrize(
    ("data", "problem"),
    [
        pytest.param(TUNE[:-12], "is no readable MIDI", id="cut short"),
        pytest.param(b"MThd nothing of the kind", "is no readable MIDI", id="no MIDI"),
        pytest.param(
            midi(b"\x00\x90\x3c\x40\xff\xff\xff\x7f\x80\x3c\x00" + END, 1),
            "lasts 67108863 whole notes",
            id="a note of months in forty bytes",
        ),
    ],
)
def test_a_midi_file_that_is_no_music_is_refused_in_one_line(data: bytes, problem: str) -> None:
    with pytest.raises(FileError, match=problem) as caught:
        formats.read(data, "tune.mid")
    assert str(caught.value).startswith("tune.mid: ") and "\n" not in str(caught.value)


def test_a_conversion_that_takes_too_much_is_stopped(monkeypatch: pytest.MonkeyPatch) -> None:
    """With less memory, or less time, than the converter itself needs, nothing is converted."""
    for limit, most in (("MOST_MEMORY", 30_000_000), ("MOST_SECONDS", 0)):
        with monkeypatch.context() as patch:
            patch.setattr(child, limit, most)
            with pytest.raises(FileError, match=r"tune\.mid: (takes more|cannot be converted)"):
                formats.read(TUNE, "tune.mid")


def test_a_few_bytes_get_less_than_a_long_file_needs(monkeypatch: pytest.MonkeyPatch) -> None:
    """What a file may take grows with its size; this one, of one note, gets the least."""
    monkeypatch.setattr(child, "_MEMORY", 30_000_000)
    with pytest.raises(FileError, match=r"tune\.mid: (takes more|cannot be converted)"):
        formats.read(TUNE, "tune.mid")
    padded = TUNE[:-4] + b"\x00\xff\x01\xb0\x00" + b" " * 6144 + END
    long = padded[:18] + (len(padded) - 22).to_bytes(4, "big") + padded[22:]
    monkeypatch.setattr(child, "_MEMORY_A_BYTE", 40_000)
    assert formats.read(long, "tune.mid").length == mpq(3, 4)


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


def test_a_stream_s_parts_and_title_are_the_same_every_time() -> None:
    """music21 names parts by where they lie in memory, and untitled scores after itself."""
    from music21 import converter

    texts = ("tinynotation: 4/4 c4 d e f", "tinynotation: 4/4 c4 d e f")
    one, other = (from_music21(converter.parse(text)) for text in texts)
    assert [part.id for part in one.parts] == [part.id for part in other.parts] == ["P1"]
    assert b"usic21 Fragment" not in to_bytes(one)


def test_a_stream_without_music_is_refused_in_one_line() -> None:
    from music21.stream import Score as Stream

    with pytest.raises(FileError) as caught:
        from_music21(Stream())
    assert "\n" not in str(caught.value)


def test_only_musicxml_is_written(tmp_path: Path) -> None:
    score = read(partwise(note("C4", 16, "whole")))
    with pytest.raises(FileError, match=r"not written as \.abc"):
        formats.write(score, tmp_path / "out.abc")
    for name in ("out.musicxml", "out.xml", "out.mxl"):
        formats.write(score, tmp_path / name)
        assert rhythm.read(tmp_path / name).parts == score.parts
