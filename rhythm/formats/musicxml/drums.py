"""Which drum an unpitched note is: its key in the percussion map of General MIDI.

Conventions
-----------
Keys are MIDI numbers, 0 to 127, of the General MIDI Level 1 percussion map. What the file says for
the note's instrument (``midi-unpitched``, counted from 1) goes first, then the instrument's name or
the part's, then where the note stands on the staff: the usual places of a drum set (Norman
Weinberg, Guidelines for Drumset Notation, Percussive Notes, 1994; from memory). What none of these
tells is a wood block.
"""

from __future__ import annotations

import re
from collections.abc import Mapping

from lxml import etree

from rhythm.formats.musicxml.document import PartSource
from rhythm.formats.musicxml.write.note_sources import elements_of
from rhythm.score.model import Note, Part

__all__ = ["WOOD_BLOCK", "drum_key", "is_drummed", "kit_of"]

WOOD_BLOCK = 76
_DRUMS = "10"  # the channel that General MIDI keeps for percussion, counted from 1

_NAMES = tuple(
    (re.compile(pattern, re.I), key)
    for pattern, key in (
        (r"\bopen\b.*\bhi-?\s?hat|hi-?\s?hat\b.*\bopen", 46),
        (r"\b(pedal|foot)\b.*\bhi-?\s?hat|hi-?\s?hat\b.*\b(pedal|foot)", 44),
        (r"hi-?\s?hat", 42),
        (r"\b(kick|bass drum)", 36),
        (r"\b(side ?stick|cross ?stick|rim ?shot)", 37),
        (r"\bsnare", 38),
        (r"\bride\b", 51),
        (r"\b(crash|cymbals?\b)", 49),
        (r"\bfloor tom", 43),
        (r"\b(low|bass) tom", 45),
        (r"\bhigh tom", 50),
        (r"\btom\b", 47),
        (r"\btambourine", 54),
        (r"\bcow ?bell", 56),
        (r"\bbongo", 60),
        (r"\bconga", 63),
        (r"\bmaracas", 70),
        (r"\bclaves", 75),
        (r"\btriangle", 81),
        (r"\bclap", 39),
    )
)
_PLACES = {
    "D4": 44, "F4": 36, "A4": 43, "C5": 38, "D5": 47, "E5": 48, "F5": 51, "G5": 42, "A5": 49,
}  # fmt: skip


def kit_of(part: Part) -> dict[str, int]:
    """The key of each instrument of a part, by its id; "" stands for an only one, or the part."""
    source = part.source
    listed = source.listed if isinstance(source, PartSource) else None
    kit: dict[str, int] = {}
    if listed is not None:
        for instrument in listed.iterfind("score-instrument"):
            key = _named(instrument.findtext("instrument-name") or "")
            if key is not None:
                kit[instrument.get("id") or ""] = key
        for played in listed.iterfind("midi-instrument"):
            text = (played.findtext("midi-unpitched") or "").strip()
            if text.isdecimal() and len(text) < 4 and 1 <= int(text) <= 128:
                kit[played.get("id") or ""] = int(text) - 1
        if len(kit) == 1 and len(listed.findall("score-instrument")) <= 1:
            kit.setdefault("", *kit.values())
    key = _named(part.name)
    if key is not None:
        kit.setdefault("", key)
    return kit


def is_drummed(part: Part) -> bool:
    """Is the whole part on the percussion channel, its pitches keys of drums?"""
    source = part.source
    listed = source.listed if isinstance(source, PartSource) else None
    if listed is None:
        return False
    channels = [(each.text or "").strip() for each in listed.iterfind(".//midi-channel")]
    return bool(channels) and all(channel == _DRUMS for channel in channels)


def drum_key(note: Note, kit: Mapping[str, int]) -> int:
    """The key of an unpitched note played on the instruments of ``kit``."""
    element = next(iter(elements_of(note.sources)), None)
    if element is not None:
        instrument = element.find("instrument")
        if instrument is not None and instrument.get("id") in kit:
            return kit[instrument.get("id") or ""]
    if "" in kit:
        return kit[""]
    return WOOD_BLOCK if element is None else _PLACES.get(_place(element), WOOD_BLOCK)


def _place(element: etree._Element) -> str:
    step = element.findtext("unpitched/display-step") or ""
    octave = element.findtext("unpitched/display-octave") or ""
    return step.strip() + octave.strip()


def _named(name: str) -> int | None:
    return next((key for pattern, key in _NAMES if pattern.search(name)), None)
