"""What a player reads off the signs of a score: where to go on, how loud, how short.

MusicXML says a thing twice, as a sign on the page and as an instruction for playback (``sound``).
The instruction goes before the sign, the sign before words ("D.C. al Fine").

Conventions
-----------
Loudness is a MIDI velocity, 1 to 127. ``sound dynamics`` is in percent of 90, as the MusicXML
definition has it. The steps from ppp to fff are 16 apart (common practice, no source).
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from gmpy2 import mpq
from lxml import etree

from rhythm.formats.musicxml.read.note_reader import decimal, parse_note
from rhythm.formats.musicxml.write.note_sources import elements_of
from rhythm.score.model import Event, Mark, Pitch

__all__ = ["LEVELS", "Direction", "Touch", "direction_of", "grace_pitches", "touch_of"]

LEVELS = {
    "pppp": 8, "ppp": 17, "pp": 33, "p": 49, "mp": 64, "mf": 80, "f": 96, "ff": 112, "fff": 122,
    "ffff": 127, "n": 1, "sf": 108, "sfz": 108, "sffz": 118, "fz": 108, "rf": 104, "rfz": 104,
}  # fmt: skip
"""The loudness of each dynamic sign; accents of loudness among them hold for one note only."""

_ONE_NOTE = frozenset({"sf", "sfz", "sffz", "fz", "rf", "rfz", "fp", "sfp", "sfpp"})
_AFTER = {"fp": 49, "sfp": 49, "sfpp": 33}
_SHORT = {
    "staccatissimo": mpq(1, 4), "spiccato": mpq(1, 2), "staccato": mpq(1, 2),
    "detached-legato": mpq(3, 4),
}  # fmt: skip
_LOUD = {"accent": 16, "strong-accent": 24}
_JUMPS = ("dacapo", "dalsegno", "segno", "coda", "tocoda", "fine")
_WORDS = (
    ("tocoda", re.compile(r"\bto\s+coda\b", re.I)),
    ("dacapo", re.compile(r"\bD\.?\s?C\.?(?:\s|$)|\bda\s+capo\b", re.I)),
    ("dalsegno", re.compile(r"\bD\.?\s?S\.?(?:\s|$)|\bda[l']?\s*segno\b", re.I)),
    ("fine", re.compile(r"^\W*fine\W*$", re.I)),
    ("coda", re.compile(r"^\W*coda\W*$", re.I)),
)


@dataclass(frozen=True, slots=True)
class Direction:
    """What a direction means to a player.

    ``jumps`` are any of dacapo, dalsegno, segno, coda, tocoda and fine; ``sign`` is a drawn segno
    or coda without an instruction. ``loudness`` holds from here on, ``once`` for one note only;
    ``wedge`` is crescendo, diminuendo, stop or "", ``wedge_number`` tells hairpins apart. A
    direction without any of this is ``SILENT``.
    """

    jumps: tuple[str, ...] = ()
    sign: str = ""
    loudness: int | None = None
    once: int | None = None
    wedge: str = ""
    wedge_number: str = "1"


SILENT = Direction()


def direction_of(mark: Mark) -> Direction:
    """Read a mark; one that says nothing to a player, or has no source, is ``SILENT``."""
    element = mark.source
    if not isinstance(element, etree._Element) or element.tag not in ("direction", "sound"):
        return SILENT
    jumps: list[str] = []
    loudness: int | None = None
    sound = element if element.tag == "sound" else element.find("sound")
    if sound is not None:
        jumps = [name for name in _JUMPS if (sound.get(name) or "no") != "no"]
        loudness = _percent(sound.get("dynamics"))
    sign, once, wedge, number = "", None, "", "1"
    for found in element.iterfind("direction-type/*"):
        if found.tag in ("segno", "coda"):
            sign = str(found.tag)
        elif found.tag == "wedge":
            wedge, number = found.get("type") or "", found.get("number") or "1"
        elif found.tag == "words" and not jumps:
            text = " ".join((found.text or "").split())
            jumps = [name for name, words in _WORDS if words.search(text)][:1]
        elif found.tag == "dynamics" and loudness is None:
            for level in found:
                name = str(level.tag)
                if name in _ONE_NOTE:
                    once = LEVELS.get(name, LEVELS["sfz"])
                    loudness = _AFTER.get(name, loudness)
                else:
                    loudness = LEVELS.get(name, loudness)
    return Direction(tuple(jumps), sign, loudness, once, wedge, number)


def _percent(text: str | None) -> int | None:
    number = decimal(text) if text and text.strip() else None
    return None if number is None else max(1, min(127, int(number * 90 / 100 + mpq(1, 2))))


@dataclass(frozen=True, slots=True)
class Touch:
    """How a note is struck: so much ``louder``, and what ``share`` of its length it sounds."""

    louder: int
    share: mpq


_PLAIN = Touch(0, mpq(1))


def touch_of(event: Event) -> Touch:
    """What the articulations of an event ask of the player."""
    louder, share = 0, mpq(1)
    for added in event.additions:
        if added.kind == "accent":
            louder = max(louder, _LOUD["accent"])
    for note in event.notes:
        if len(note.sources) == 1 and not note.laden and len(event.notes) == 1:
            continue  # nothing stands on it
        for element in elements_of(note.sources)[:1]:
            for sign in element.iterfind("notations/articulations/*"):
                louder = max(louder, _LOUD.get(str(sign.tag), 0))
                share = min(share, _SHORT.get(str(sign.tag), share))
    return Touch(louder, share) if louder or share != 1 else _PLAIN


def grace_pitches(event: Event) -> tuple[tuple[Pitch, ...], ...]:
    """The pitches of the grace notes before an event, a chord together."""
    found: list[tuple[Pitch, ...]] = []
    for grace in event.graces:
        if not isinstance(grace, etree._Element) or grace.find("pitch") is None:
            continue
        pitch = parse_note(grace).pitch
        if pitch is None:
            continue
        if grace.find("chord") is not None and found:
            found[-1] = (*found[-1], pitch)
        else:
            found.append((pitch,))
    return tuple(found)
