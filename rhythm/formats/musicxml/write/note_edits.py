"""Edits of a note through the model, set on the copy of what was read: pitch, staff, voice, look.

Notes that are still those that were read need no look at their pitch; whether an event is hidden,
a cue, or has changed its voice is its own affair and looked at for all.
"""

from __future__ import annotations

from collections.abc import Sequence

from gmpy2 import mpq
from lxml import etree

from rhythm.formats.musicxml.document import PartSource
from rhythm.formats.musicxml.read.note_reader import decimal, decimal_text
from rhythm.formats.musicxml.write import child_order
from rhythm.formats.musicxml.write.tie_writer import untie
from rhythm.score.model import Event, Note, Part, Pitch

__all__ = ["amend", "notes_read", "pitch_element", "stroke_element"]

_SOUNDS = ("pitch", "unpitched", "rest")
_OF_A_SOUND = ("accidental", "notehead", "notehead-text", "stem")


def notes_read(part: Part) -> frozenset[int]:
    """The ``id`` of every note that the reader made of this part and that nobody changed since."""
    reading = part.source.reading if isinstance(part.source, PartSource) else None
    if reading is None:
        return frozenset()
    return frozenset(
        id(note) for voice in reading.voices for event in voice.events for note in event.notes
    )


def amend(
    event: Event, voice: str, elements: Sequence[etree._Element], known: frozenset[int]
) -> bool:
    """Make the elements of one piece say what the event does; whether a pitch was changed.

    ``elements`` are those of its notes, in order; ``known`` the notes that are as read.
    """
    repitched = False
    for element, note in zip(elements, event.notes, strict=True):
        if id(note) not in known:
            repitched |= _set_sound(element, note)
            _set_text(element, "staff", note.staff)
    head = elements[0]
    if event.hidden or head.get("print-object") == "no":
        _set_hidden(elements, event.hidden)
    if event.cue != (next(head.iterchildren("cue"), None) is not None):
        _set_cue(elements, event.cue)
    named = next((child.text for child in head.iterchildren("voice")), None)
    if named != voice and (named or "").strip() != voice and not _is_default(voice, named, event):
        for element in elements:
            _set_text(element, "voice", voice)
    return repitched


def _is_default(voice: str, named: str | None, event: Event) -> bool:
    """Is this what the reader calls the voice of notes that name none?"""
    staff = event.notes[0].staff
    return not (named or "").strip() and voice == ("1" if staff in ("", "1") else f"staff {staff}")


def _set_hidden(elements: Sequence[etree._Element], hidden: bool) -> None:
    if hidden == all(element.get("print-object") == "no" for element in elements):
        return
    for element in elements:
        if hidden:
            element.set("print-object", "no")
        else:
            element.attrib.pop("print-object", "")


def _set_cue(elements: Sequence[etree._Element], cue: bool) -> None:
    for element in elements:
        for found in element.findall("cue"):
            element.remove(found)
        if cue:
            for tie in element.findall("tie"):  # what is silent is not tied in sound
                element.remove(tie)
            child_order.insert(element, etree.Element("cue"), child_order.NOTE)


def _set_text(element: etree._Element, tag: str, text: str) -> None:
    found = element.find(tag)
    if ((found.text or "") if found is not None else "").strip() == text:
        return
    if found is not None and not text:
        element.remove(found)
        return
    if found is None:
        found = etree.Element(tag)
        child_order.insert(element, found, child_order.NOTE)
    found.text = text


def _set_sound(element: etree._Element, note: Note) -> bool:
    """Make an element sound what the note does; whether that was something else."""
    old = next((child for child in element if child.tag in _SOUNDS), None)
    if old is not None and old.tag == {"pitched": "pitch"}.get(note.kind, note.kind):
        if note.pitch is None or _says(old, note.pitch):
            return False
        _set_pitch(old, note.pitch)
        for accidental in element.findall("accidental"):
            element.remove(accidental)
        return True
    if old is not None:
        element.remove(old)
    if note.kind == "rest":
        untie(element)
        for tag in _OF_A_SOUND:
            for child in element.findall(tag):
                element.remove(child)
        made = etree.Element("rest")
    else:
        made = stroke_element() if note.pitch is None else pitch_element(note.pitch)
    child_order.insert(element, made, child_order.NOTE)
    return note.pitch is not None


def _says(element: etree._Element, pitch: Pitch) -> bool:
    step = (element.findtext("step") or "").strip().upper()
    octave = decimal(element.findtext("octave") or "")
    alter = decimal(element.findtext("alter") or "0") or mpq(0)
    return step == pitch.step and octave == pitch.octave and alter == pitch.alter


def _set_pitch(element: etree._Element, pitch: Pitch) -> None:
    element[:] = list(pitch_element(pitch))


def pitch_element(pitch: Pitch) -> etree._Element:
    """A ``pitch`` element."""
    element = etree.Element("pitch")
    etree.SubElement(element, "step").text = pitch.step
    if pitch.alter:
        etree.SubElement(element, "alter").text = decimal_text(pitch.alter)
    etree.SubElement(element, "octave").text = str(pitch.octave)
    return element


def stroke_element() -> etree._Element:
    """An ``unpitched`` element on the line of a one-line staff."""
    element = etree.Element("unpitched")
    etree.SubElement(element, "display-step").text = "E"
    etree.SubElement(element, "display-octave").text = "4"
    return element
