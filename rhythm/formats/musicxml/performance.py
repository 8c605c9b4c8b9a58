"""What a player reads off the signs of a score: where to go on, how loud, how short, how held.

MusicXML says a thing twice, as a sign on the page and as an instruction for playback (``sound``).
The instruction goes before the sign, the sign before words ("D.C. al Fine").

Conventions
-----------
Loudness is a MIDI velocity, 1 to 127. ``sound dynamics`` is in percent of 90, as the MusicXML
definition has it. The steps from ppp to fff are 16 apart (common practice, no source).
"""

from __future__ import annotations

import re
from collections.abc import Iterable

from gmpy2 import mpq
from lxml import etree

from rhythm.exact.frozen import dataclass
from rhythm.formats.musicxml.read.note_reader import decimal, parse_note
from rhythm.formats.musicxml.write.note_sources import elements_of
from rhythm.score.model import Event, Mark, Pitch

__all__ = [
    "LEVELS",
    "Direction",
    "Swing",
    "Touch",
    "direction_of",
    "grace_pitches",
    "held_places",
    "touch_of",
]

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
_PLUCKED = (
    (True, re.compile(r"\bpizz", re.I)),
    (False, re.compile(r"\b(?:col\s?l?)?arco\b", re.I)),
)  # fmt: skip
_YES_NO = {"yes": True, "no": False}
_HALF_DOWN = 50  # percent
_PEDALS = {
    "start": "down", "resume": "down", "stop": "up", "discontinue": "up", "change": "change",
    "sostenuto": "sostenuto",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Swing:
    """Pairs of ``unit`` (whole notes) played ``long`` to ``short``; 1 to 1 is straight."""

    long: int
    short: int
    unit: mpq


@dataclass(frozen=True, slots=True)
class Direction:
    """What a direction means to a player.

    ``jumps`` are any of dacapo, dalsegno, segno, coda, tocoda and fine; ``sign`` is a drawn segno
    or coda without an instruction. ``loudness`` holds from here on, ``once`` for one note only;
    ``wedge`` is crescendo, diminuendo, stop or "", ``wedge_number`` tells hairpins apart.
    ``pedal`` is down, up, change (up, and down again), sostenuto or ""; ``plucked`` is True for
    pizzicato, False for arco. A direction without any of this is ``SILENT``.
    """

    jumps: tuple[str, ...] = ()
    sign: str = ""
    loudness: int | None = None
    once: int | None = None
    wedge: str = ""
    wedge_number: str = "1"
    pedal: str = ""
    plucked: bool | None = None
    swing: Swing | None = None


SILENT = Direction()


def direction_of(mark: Mark) -> Direction:
    """Read a mark; one that says nothing to a player, or has no source, is ``SILENT``."""
    element = mark.source
    if not isinstance(element, etree._Element) or element.tag not in ("direction", "sound"):
        return SILENT
    jumps: list[str] = []
    loudness: int | None = None
    pedal, plucked, swing = "", None, None
    sound = element if element.tag == "sound" else element.find("sound")
    if sound is not None:
        jumps = [name for name in _JUMPS if (sound.get(name) or "no") != "no"]
        loudness = _percent(sound.get("dynamics"))
        pedal, swing = _foot(sound), _lilt(sound)
        plucked = _YES_NO.get(sound.get("pizzicato") or "")
    sign, once, wedge, number = "", None, "", "1"
    for found in element.iterfind("direction-type/*"):
        if found.tag in ("segno", "coda"):
            sign = str(found.tag)
        elif found.tag == "wedge":
            wedge, number = found.get("type") or "", found.get("number") or "1"
        elif found.tag == "pedal":
            pedal = _PEDALS.get(found.get("type") or "", pedal)
        elif found.tag == "words":
            text = " ".join((found.text or "").split())
            jumps = jumps or [name for name, words in _WORDS if words.search(text)][:1]
            if plucked is None:
                plucked = next((said for said, words in _PLUCKED if words.search(text)), None)
        elif found.tag == "dynamics" and loudness is None:
            for level in found:
                name = str(level.tag)
                if name in _ONE_NOTE:
                    once = LEVELS.get(name, LEVELS["sfz"])
                    loudness = _AFTER.get(name, loudness)
                else:
                    loudness = LEVELS.get(name, loudness)
    return Direction(tuple(jumps), sign, loudness, once, wedge, number, pedal, plucked, swing)


def _foot(sound: etree._Element) -> str:
    """What ``sound`` asks of the pedals: yes, no, or how deep in percent."""
    for name, down in (("damper-pedal", "down"), ("sostenuto-pedal", "sostenuto")):
        text = sound.get(name)
        if text:
            deep = decimal(text)
            return down if text == "yes" or (deep is not None and deep >= _HALF_DOWN) else "up"
    return ""


def _lilt(sound: etree._Element) -> Swing | None:
    """How ``swing`` in a ``sound`` has pairs played; eighths where it names no value."""
    swing = sound.find("swing")
    if swing is None:
        return None
    unit = mpq(1, 16) if (swing.findtext("swing-type") or "").strip() == "16th" else mpq(1, 8)
    ratio = [(swing.findtext(name) or "").strip() for name in ("first", "second")]
    if not all(text.isdecimal() and len(text) <= 2 and int(text) for text in ratio):
        return Swing(1, 1, unit)  # straight, or none that can be played
    return Swing(int(ratio[0]), int(ratio[1]), unit)


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


def held_places(event: Event) -> list[tuple[int, mpq, mpq]]:
    """Where a fermata holds an event: (bar, from, to), from the start of the bar.

    Of an event that is written in several pieces only those are held that have the sign.
    """
    found: dict[tuple[int, mpq, mpq], None] = {}
    for note in event.notes:
        if len(note.sources) == 1 and not note.laden and len(event.notes) == 1:
            continue
        for index, element in enumerate(elements_of(note.sources)):
            if element.find("notations/fermata") is not None and event.pieces:
                piece = event.pieces[min(index, len(event.pieces) - 1)]
                if piece.duration:
                    found[piece.bar, piece.offset, piece.end] = None
    return list(found)


def grace_pitches(graces: Iterable[object]) -> tuple[tuple[Pitch, ...], ...]:
    """The pitches of grace notes, a chord together."""
    found: list[tuple[Pitch, ...]] = []
    for grace in graces:
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
