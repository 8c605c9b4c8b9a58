"""MIDI made into MusicXML by music21, once it is plain that the file is no longer than music is.

The name of a file's first track is the title (Standard MIDI Files 1.0, meta event 03).
"""

from __future__ import annotations

import io
import warnings
from typing import Any

from gmpy2 import mpq
from lxml import etree

from rhythm.formats.bridge.streams import musicxml_of
from rhythm.formats.musicxml.titles import read_title, set_title

__all__ = ["musicxml_of_midi"]

_LONGEST = 4096  # whole notes in a file
_MOST_EVENTS = 1_000_000


def musicxml_of_midi(data: bytes) -> bytes:
    """A MIDI file as MusicXML. Raises ValueError for what is none, or lasts too long."""
    import mido  # type: ignore[import-untyped]

    file = mido.MidiFile(file=io.BytesIO(data))
    ticks = file.ticks_per_beat
    if ticks <= 0:
        raise ValueError("its time is not counted in beats")
    longest = max((sum(message.time for message in track) for track in file.tracks), default=0)
    if mpq(longest, 4 * ticks) > _LONGEST:
        raise ValueError(f"lasts {longest // (4 * ticks)} whole notes; at most {_LONGEST} are read")
    if sum(len(track) for track in file.tracks) > _MOST_EVENTS:
        raise ValueError(f"holds more than {_MOST_EVENTS} events")
    from music21.midi import MidiFile
    from music21.midi.translate import midiFileToStream

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        midi = MidiFile()
        midi.readstr(data)
        made = musicxml_of(midiFileToStream(midi))
    return _titled(made, file)


def _titled(musicxml: bytes, file: Any) -> bytes:
    """The score with the name of the sequence; with one track alone that may be its player's."""
    root = etree.fromstring(musicxml)
    said = (
        [each.name for each in file.tracks[0] if each.type == "track_name"] if file.tracks else []
    )
    if said and len(file.tracks) > 1 and not read_title(root):
        title = "".join(sign for sign in said[0] if sign.isprintable()).strip()
        if title:
            set_title(root, title)
    made: bytes = etree.tostring(root, xml_declaration=True, encoding="UTF-8")
    return made
