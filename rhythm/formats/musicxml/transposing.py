"""Transposing what rides along with the notes: keys as written, grace notes, chord symbols.

The notes themselves are the model's; what a score carries as elements is copied with its pitches
moved.

Conventions
-----------
A shift is a number of fifths, up positive: two fifths up make C a D, in whatever octave.
"""

from __future__ import annotations

from collections.abc import Callable
from copy import deepcopy

from gmpy2 import mpq
from lxml import etree

from rhythm.formats.musicxml.read.note_reader import decimal, decimal_text, parse_note
from rhythm.formats.musicxml.write import child_order
from rhythm.formats.musicxml.write.note_edits import pitch_element
from rhythm.score.model import Part, Pitch

__all__ = ["moved_chord", "moved_grace", "shifted", "written_keys"]

_LINE = "FCGDAEB"
_ACCIDENTALS = {-2: "flat-flat", -1: "flat", 0: "natural", 1: "sharp", 2: "double-sharp"}


def shifted(step: str, alter: mpq, fifths: int) -> tuple[str, mpq]:
    """A step and its alteration so many fifths higher: C two fifths up is D."""
    place = _LINE.index(step) + fifths
    return _LINE[place % 7], alter + place // 7


def written_keys(part: Part) -> list[tuple[mpq, int]]:
    """The signatures of a part as written: when each begins to hold, and its fifths."""
    found: list[tuple[mpq, int]] = []
    for mark in part.marks:
        sources = mark.source if isinstance(mark.source, tuple) else (mark.source,)
        for source in sources:
            if isinstance(source, etree._Element) and source.tag == "attributes":
                text = (source.findtext("key/fifths") or "").strip()
                if text.lstrip("+-").isdecimal() and len(text) <= 2:
                    found.append((mark.onset, int(text)))
        if mark.kind == "key" and mark.source is None:
            found.append((mark.onset, int(mark.text or "0")))
    return sorted(dict(sorted(found, key=lambda each: each[0])).items())


def moved_grace(grace: object, move: Callable[[Pitch], Pitch], fifths: int) -> object:
    """A grace note with its pitch moved, with the accidental that it needs in a key of so many."""
    if not isinstance(grace, etree._Element) or grace.find("pitch") is None:
        return grace
    pitch = parse_note(grace).pitch
    if pitch is None:
        return grace
    made, pitch = deepcopy(grace), move(pitch)
    old = made.find("pitch")
    assert old is not None
    old[:] = list(pitch_element(pitch))
    for tag in ("accidental", "stem"):
        for child in made.findall(tag):
            made.remove(child)
    place = _LINE.index(pitch.step)
    expected = (place < fifths) - (place >= 7 + fifths)
    if expected != pitch.alter and pitch.alter in _ACCIDENTALS:
        sign = etree.Element("accidental")
        sign.text = _ACCIDENTALS[int(pitch.alter)]
        child_order.insert(made, sign, child_order.NOTE)
    return made


def moved_chord(harmony: object, fifths: int) -> object:
    """A chord symbol so many fifths higher, its bass with it."""
    if not isinstance(harmony, etree._Element) or not fifths:
        return harmony
    made = deepcopy(harmony)
    for name in ("root", "bass"):
        for found in made.iter(name):
            step = found.find(f"{name}-step")
            if step is None or (step.text or "").strip() not in _LINE:
                continue
            old = found.find(f"{name}-alter")
            alter = decimal(old.text or "0") if old is not None else mpq(0)
            text, alter = shifted((step.text or "").strip(), alter or mpq(0), fifths)
            step.text = text
            if old is None and alter:
                old = etree.Element(f"{name}-alter")
                step.addnext(old)
            if old is not None:
                old.text = decimal_text(alter)
                if not alter:
                    found.remove(old)
    return made
