"""What stands between the notes of a bar: marks, bar lines, and the time signature in them.

A mark is kept whole as its element; only what rhythm owns or must follow is read out of it: how
far its ``offset`` moves it, how long figured bass lasts, metronome marks, sound tempo, and by how
much a part sounds away from what is written.
"""

from __future__ import annotations

import re
from functools import lru_cache
from typing import NamedTuple

from gmpy2 import mpq
from lxml import etree

from rhythm.exact.errors import FileError, RequestError
from rhythm.exact.metre import Metre
from rhythm.exact.values import MAX_DOTS, NOTE_TYPES, symbol_value
from rhythm.formats.musicxml.read.note_reader import decimal, shown
from rhythm.score.model import Barline, Metronome

__all__ = ["Sign", "read_barline", "read_metre", "read_metronome", "read_sign", "read_tempo"]

_ZERO = mpq(0)
_COUNT = re.compile(r"\d{1,9}", re.ASCII)
_WITH_OFFSET = frozenset({"direction", "harmony", "sound", "listening", "figured-bass"})


class Sign(NamedTuple):
    """What a mark's element says; lengths are in ticks, as text."""

    staff: str
    reach: str
    length: str
    metronome: Metronome | None
    tempo: mpq | None
    transpose: mpq | None = None


_PLAIN = Sign("", "", "", None, None)


def read_sign(element: etree._Element) -> Sign:
    """Read a mark's element."""
    if element.tag not in _WITH_OFFSET:
        transpose = element.find("transpose") if element.tag == "attributes" else None
        return _PLAIN if transpose is None else _PLAIN._replace(transpose=_semitones(transpose))
    staff = reach = length = ""
    metronome: Metronome | None = None
    tempo: mpq | None = read_tempo(element)
    for child in element:
        tag = child.tag
        if tag == "staff":
            staff = (child.text or "").strip()
        elif tag == "offset":
            reach = child.text or ""
        elif tag == "duration" and element.tag == "figured-bass":
            length = child.text or ""
        elif tag == "sound":
            tempo = read_tempo(child)
            reach = reach or child.findtext("offset") or ""
        elif tag == "direction-type" and metronome is None:
            for found in child.iterchildren("metronome"):
                metronome = read_metronome(found)
    return Sign(staff, reach, length, metronome, tempo)


def _semitones(transpose: etree._Element) -> mpq | None:
    """How far above the written note a ``transpose`` sounds, octaves included."""
    chromatic = decimal(transpose.findtext("chromatic") or "")
    octaves = decimal(transpose.findtext("octave-change") or "") or _ZERO
    return None if chromatic is None else chromatic + 12 * octaves


def read_tempo(sound: etree._Element) -> mpq | None:
    """The quarters per minute of a ``sound`` element, None where it says none."""
    text = sound.get("tempo")
    return decimal(text) if text and text.strip() else None


def read_metronome(element: etree._Element) -> Metronome | None:
    """A plain metronome mark, ``unit = number`` or ``unit = unit``; None for the other kinds.

    A relation written with single notes (``metronome-note``) is one like any other; one that shows
    a rhythm on either side (two eighths = a triplet's quarter and eighth) is none.
    """
    units: list[list[object]] = []
    per_minute = ""
    for child in element:
        tag = child.tag
        if tag == "beat-unit":
            units.append([(child.text or "").strip(), 0])
        elif tag == "beat-unit-dot" and units:
            units[-1][1] = int(str(units[-1][1])) + 1
        elif tag == "per-minute":
            per_minute = child.text or ""
        elif tag == "metronome-note":
            inside = [each.tag for each in child]
            if inside[:1] != ["metronome-type"] or set(inside[1:]) - {"metronome-dot"}:
                return None
            units.append([(child.findtext("metronome-type") or "").strip(), len(inside) - 1])
        elif tag == "metronome-relation":
            if (child.text or "").strip() != "equals":
                return None
        elif isinstance(tag, str):
            return None
    lengths = []
    for type, dots in units:
        if type not in NOTE_TYPES or int(str(dots)) > MAX_DOTS:
            return None
        lengths.append(symbol_value(str(type), int(str(dots))))
    if len(lengths) == 1:
        return Metronome(lengths[0], per_minute)
    if len(lengths) == 2 and not per_minute:
        return Metronome(lengths[0], "", lengths[1])
    return None


def read_metre(time: etree._Element) -> Metre | None:
    """The metre of a ``time`` element, None for an empty one. Raises FileError for what is none."""
    pairs: list[tuple[str, str]] = []
    others: list[tuple[str, str]] = []
    relation = ""
    beats = ""
    for child in time:
        tag = child.tag
        if tag == "beats":
            beats = child.text or ""
        elif tag == "beat-type":
            pairs.append((beats, child.text or ""))
        elif tag == "senza-misura":
            return Metre.from_signature((), symbol=child.text or "", senza=True)
        elif tag == "interchangeable":
            texts = [part.text or "" for part in child.iterchildren("beats", "beat-type")]
            others = list(zip(texts[::2], texts[1::2], strict=False))
            relation = (child.findtext("time-relation") or "").strip()
    return _metre(tuple(pairs), time.get("symbol") or "", tuple(others), relation)


@lru_cache(maxsize=512)
def _metre(
    pairs: tuple[tuple[str, str], ...],
    symbol: str,
    others: tuple[tuple[str, str], ...],
    relation: str,
) -> Metre | None:
    if not pairs:
        return None
    try:
        return Metre.from_signature(pairs, symbol, False, others, relation)
    except RequestError as error:
        text = "+".join("/".join(pair) for pair in pairs)
        raise FileError(f"{shown(text)} is not a time signature", legal=error.legal) from None


def read_barline(element: etree._Element) -> Barline:
    """What a ``barline`` element says."""
    style = repeat = ending = ending_type = ""
    times = None
    for child in element:
        tag = child.tag
        if tag == "bar-style":
            style = (child.text or "").strip()
        elif tag == "repeat":
            repeat = child.get("direction") or ""
            said = (child.get("times") or "").strip()
            times = int(said) if _COUNT.fullmatch(said) else None
        elif tag == "ending":
            ending, ending_type = child.get("number") or "", child.get("type") or ""
    return Barline(style, repeat, ending, ending_type, times)
