"""MIDI made into MusicXML by music21, once it is plain that the file is no longer than music is."""

from __future__ import annotations

import io
import warnings

from gmpy2 import mpq

from rhythm.formats.bridge.streams import musicxml_of

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
        return musicxml_of(midiFileToStream(midi))
