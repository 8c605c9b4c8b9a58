"""What else a performance is told by a score: the keys in force, and the words that are sung.

Conventions
-----------
Keys are fifths as they sound (a clarinet in B flat written in D sounds in C), -7 to 7, and whether
minor. Words are syllables by verse; a syllable that ends a word has a space after it, one inside a
word has none (MIDI Manufacturers Association, RP-017, SMF Lyric Events Definition; from memory).
"""

from __future__ import annotations

from typing import NamedTuple

from gmpy2 import mpq
from lxml import etree

from rhythm.formats.musicxml.write.note_sources import elements_of
from rhythm.score.model import Event, Part

__all__ = ["Key", "keys_of", "syllables_of"]

_CIRCLE = 12
_MOST_SIGNS = 7


class Key(NamedTuple):
    """From ``moment`` (whole notes from the start of the score) this key holds."""

    moment: mpq
    fifths: int
    minor: bool


def keys_of(part: Part, *, written: bool = False) -> list[Key]:
    """The keys of a part as they sound, or as ``written``, in order.

    Signatures that are none of the circle's are left out.
    """
    found: list[Key] = []
    higher = mpq(0)
    for mark in sorted(part.marks, key=lambda mark: mark.onset):
        if mark.transpose is not None and not written:
            higher = mark.transpose
        sources = mark.source if isinstance(mark.source, tuple) else (mark.source,)
        for source in sources:
            if not isinstance(source, etree._Element) or source.tag != "attributes":
                continue
            text = (source.findtext("key/fifths") or "").strip()
            if not text.lstrip("+-").isdecimal() or len(text) > 2 or higher.denominator != 1:
                continue
            fifths = _moved(int(text), int(higher))
            minor = (source.findtext("key/mode") or "").strip() in ("minor", "aeolian")
            if abs(fifths) <= _MOST_SIGNS:
                found.append(Key(mark.onset, fifths, minor))
    return found


def _moved(fifths: int, semitones: int) -> int:
    """The fifths of a key so many semitones higher; the spelling with fewer signs."""
    steps = (7 * semitones) % _CIRCLE
    moved = fifths + (steps - _CIRCLE if steps > _CIRCLE // 2 else steps)
    if abs(moved) > _MOST_SIGNS:
        moved += -_CIRCLE if moved > 0 else _CIRCLE
    return moved


def syllables_of(event: Event) -> list[tuple[str, mpq, str]]:
    """The syllables on an event: (verse, delay from its onset, text), in written order."""
    found: list[tuple[str, mpq, str]] = []
    for note in event.notes:
        for element in elements_of(note.sources)[:1]:
            for lyric in element.iterfind("lyric"):
                text = "".join(each.text or "" for each in lyric if each.tag in ("text", "elision"))
                inside = (lyric.findtext("syllabic") or "single") in ("begin", "middle")
                if text.strip():
                    verse = lyric.get("number") or "1"
                    found.append((verse, mpq(0), text.strip() + ("" if inside else " ")))
    for added in event.additions:
        if added.kind == "lyric" and added.text.strip():
            found.append((added.number or "1", added.delay, added.text.strip() + " "))
    return found
