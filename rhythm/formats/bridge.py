"""Other formats, by way of music21: ABC, Humdrum, MEI and MIDI in, streams in and out.

music21 reads the file and writes MusicXML, which our own reader reads. What music21 does not keep
is lost before we see it; what MusicXML says is kept from there on. music21 is imported when it is
first needed, which takes a second.
"""

from __future__ import annotations

import os
import warnings
from pathlib import Path
from typing import TYPE_CHECKING, Any

from lxml import etree

from rhythm.exact.errors import FileError, Place
from rhythm.formats.files import load
from rhythm.formats.musicxml.read.score_reader import read
from rhythm.formats.musicxml.write.score_writer import to_bytes
from rhythm.score.model import Score

if TYPE_CHECKING:
    from music21.stream import Stream

__all__ = ["FORMATS", "from_music21", "read_by_music21", "to_music21"]

FORMATS = {
    ".abc": "abc",
    ".krn": "humdrum",
    ".mei": "mei",
    ".mid": "midi",
    ".midi": "midi",
}
"""Name endings that are read by music21, and what it calls the format."""

_NAMES = {"abc": "ABC", "humdrum": "Humdrum", "mei": "MEI", "midi": "MIDI"}


def from_music21(stream: Stream, name: str = "") -> Score:
    """The score that a music21 stream holds, by way of its MusicXML.

    Raises :class:`~rhythm.exact.errors.FileError` where it holds no measures.
    """
    from music21.musicxml.m21ToXml import GeneralObjectExporter

    data: bytes = GeneralObjectExporter(stream).parse()
    rests = stream.recurse().getElementsByClass("Rest")
    if not any(rest.style.hideObjectOnPrint for rest in rests):
        data = _without_padding(data)
    return read(data, name or "<music21 stream>")


def _without_padding(data: bytes) -> bytes:
    """The file without the hidden rests that fill short bars: an upbeat would be none any more."""
    root = etree.fromstring(data)
    for bar in root.iter("measure"):
        for note in bar.findall("note[@print-object='no']"):
            duration = note.find("duration")
            if note.find("rest") is None or duration is None:
                continue
            gap = etree.Element("forward")
            gap.append(duration)
            bar.replace(note, gap)
        moves = [each for each in bar if each.tag in ("note", "forward", "backup")]
        if moves and moves[-1].tag == "forward":
            bar.remove(moves[-1])
    padded: bytes = etree.tostring(root)
    return padded


def to_music21(score: Score) -> Stream:
    """A music21 stream of the score, by way of MusicXML."""
    from music21 import converter

    stream: Stream = converter.parseData(to_bytes(score).decode(), format="musicxml")
    return stream


def _parse(data: bytes, kind: str) -> Any:
    """What music21 makes of a file's content; given the name, it leaves the file open."""
    if kind == "midi":
        from music21.midi import MidiFile
        from music21.midi.translate import midiFileToStream

        file = MidiFile()
        file.readstr(data)
        return midiFileToStream(file)
    from music21 import converter

    return converter.parseData(data.decode("utf-8", "replace"), format=kind)


def read_by_music21(path: str | os.PathLike[str], name: str = "") -> Score:
    """Read a file in one of :data:`FORMATS`, by its name's ending; ``name`` as messages call it.

    A file that holds several pieces is refused. Raises
    :class:`~rhythm.exact.errors.FileError`.
    """
    kind = FORMATS[Path(path).suffix.lower()]
    data, name = load(path, name)
    place = Place(name)
    from music21.stream import Opus

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            stream = _parse(data, kind)
    except Exception as error:  # whatever a parser of another package may raise
        reason = " ".join(str(error).split())[:120] or type(error).__name__
        raise FileError(
            f"is no readable {_NAMES[kind]}: {reason}",
            place=place,
            legal="convert it to MusicXML and read that",
        ) from None
    if isinstance(stream, Opus):
        pieces = list(stream.scores)
        if len(pieces) != 1:
            raise FileError(
                f"holds {len(pieces)} pieces", place=place, legal="give a file with one piece in it"
            )
        stream = pieces[0]
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            score = from_music21(stream, name)
    except FileError:
        raise
    except Exception as error:
        reason = " ".join(str(error).split())[:120] or type(error).__name__
        raise FileError(
            f"cannot be made into MusicXML: {reason}", place=place, legal="convert it first"
        ) from None
    return score
