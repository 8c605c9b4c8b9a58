"""Writing marks: what was read, with its ticks in the new divisions; or made from a mark's text.

Metronome marks and sound tempo are rewritten where a transformation changed them. Marks without
a source are written from their kind and text: see :data:`FRESH`.
"""

from __future__ import annotations

from collections.abc import Callable
from copy import copy

from gmpy2 import mpq
from lxml import etree

from rhythm.exact.errors import ProofError, RequestError
from rhythm.exact.values import MAX_DOTS, symbol
from rhythm.formats.musicxml.read.mark_reader import Sign, read_metronome, read_sign
from rhythm.formats.musicxml.read.note_reader import decimal, decimal_text
from rhythm.formats.musicxml.write import child_order
from rhythm.formats.musicxml.write.attributes_writer import merged
from rhythm.formats.musicxml.write.child_order import drop
from rhythm.formats.musicxml.write.note_writer import ticks_text
from rhythm.formats.musicxml.write.payload import attributes_said
from rhythm.score.model import Barline, Mark, Metronome

__all__ = ["FRESH", "bar_line", "bar_line_side", "write_sign"]


_HAS_OFFSET = frozenset({"direction", "harmony", "sound"})
_HAS_SOUND = frozenset({"direction", "sound"})
_CHILDREN = {
    "direction": child_order.DIRECTION,
    "harmony": child_order.HARMONY,
    "sound": child_order.SOUND,
}


def write_sign(mark: Mark, divisions: int) -> etree._Element | None:
    """The element of a mark in a bar with these divisions; None for a kind nobody can write."""
    if isinstance(mark.source, tuple):
        return merged([part for part in mark.source if isinstance(part, etree._Element)])
    if not isinstance(mark.source, etree._Element):
        make = FRESH.get(mark.kind)
        element = None if make is None else make(mark)
        if element is not None and mark.staff and element.tag == "direction":
            staff = etree.Element("staff")
            staff.text = mark.staff
            child_order.insert(element, staff, child_order.DIRECTION)
        return element
    element = copy(mark.source)
    if isinstance(element.tag, str):
        sign = read_sign(element)
        _refuse_unwritable(mark, sign)
        _rescale(element, mark, sign, divisions)
        if mark.staff != sign.staff:
            _restaff(element, mark.staff)
        _retime(element, mark, sign)
        if element.tag == "print":
            for name in ("measure-layout",):
                for child in element.findall(name):
                    element.remove(child)
    return element


def _refuse_unwritable(mark: Mark, sign: Sign) -> None:
    """Raise RequestError for an edit of a mark that was read which its element has no room for."""
    source = mark.source
    assert isinstance(source, etree._Element)
    edited = ""
    if mark.kind not in (source.tag, "measure"):
        edited = f"its kind to {mark.kind}"
    elif mark.text and mark.kind != "attributes":
        edited = f"its text to {mark.text!r}"
    elif mark.transpose != sign.transpose:
        edited = "its transposition"
    elif mark.reach and not sign.reach and source.tag not in _HAS_OFFSET:
        edited = "its reach"
    elif mark.length and not sign.length:
        edited = "its length"
    elif (mark.metronome is None) != (sign.metronome is None):
        edited = "its metronome mark"
    elif mark.tempo is not None and sign.tempo is None and source.tag not in _HAS_SOUND:
        edited = "its tempo"
    if edited:
        raise RequestError(
            f"a {source.tag} mark that was read cannot change {edited}",
            legal="take it out and put in a Mark of your own, or change its source's file",
        )


def _restaff(element: etree._Element, name: str) -> None:
    for child in element.findall("staff"):
        element.remove(child)
    if name:
        staff = etree.Element("staff")
        staff.text = name
        child_order.insert(element, staff, _CHILDREN.get(str(element.tag), child_order.DIRECTION))


def bar_line_side(mark: Mark) -> str:
    """Which side of its bar a bar line stands on; "" for a mark that is none, or in the middle."""
    if mark.kind != "barline":
        return ""
    if not isinstance(mark.source, etree._Element):
        return "right"
    location = mark.source.get("location") or "right"
    return "" if location == "middle" else location


def bar_line(said: Barline, side: str) -> etree._Element:
    """The element of a bar line on the ``left`` or ``right`` side."""
    element = etree.Element("barline", location=side)
    if said.style:
        etree.SubElement(element, "bar-style").text = said.style
    if said.ending:
        etree.SubElement(element, "ending", number=said.ending, type=said.ending_type or "start")
    if said.repeat:
        repeat = etree.SubElement(element, "repeat", direction=said.repeat)
        if said.times is not None:
            repeat.set("times", str(said.times))
    return element


def _rescale(element: etree._Element, mark: Mark, sign: Sign, divisions: int) -> None:
    """Put ``offset`` and figured bass ``duration`` in ticks of ``divisions``."""
    if mark.reach and not sign.reach:
        offset = etree.Element("offset")
        offset.text = decimal_text(mark.reach * 4 * divisions)
        child_order.insert(element, offset, _CHILDREN.get(str(element.tag), child_order.DIRECTION))
    if sign.reach:
        old = decimal(sign.reach)
        new = mark.reach * 4 * divisions
        for child in element.iter("offset"):
            number = decimal(child.text or "") if (child.text or "").strip() else None
            if number is None:
                continue
            child.text = decimal_text(number * new / old if old else new)
    if sign.length:
        for child in element.findall("duration"):
            if mark.length:
                child.text = ticks_text(mark.length, divisions)
            else:  # it was told in ticks before anything said how long a tick is
                drop(child)


def _retime(element: etree._Element, mark: Mark, sign: Sign) -> None:
    """Write the metronome mark and the sound tempo that ``mark`` now says."""
    if mark.tempo is None and sign.tempo is not None:
        for sound in (element,) if element.tag == "sound" else tuple(element.iterchildren("sound")):
            sound.attrib.pop("tempo", "")
    elif mark.tempo is not None and sign.tempo is None:
        told = element if element.tag == "sound" else element.find("sound")
        if told is None:
            told = etree.Element("sound")
            child_order.insert(element, told, child_order.DIRECTION)
        told.set("tempo", decimal_text(mark.tempo))
    elif mark.tempo is not None and mark.tempo != sign.tempo:
        for sound in (element,) if element.tag == "sound" else tuple(element.iterchildren("sound")):
            if sound.get("tempo") is not None:
                sound.set("tempo", decimal_text(mark.tempo))
    if mark.metronome is not None and mark.metronome != sign.metronome:
        for found in element.iterfind("direction-type/metronome"):
            if read_metronome(found) is not None:
                _set_metronome(found, mark.metronome)
                break


def _set_metronome(element: etree._Element, mark: Metronome) -> None:
    notes = element.findall("metronome-note")
    if notes and mark.other is not None:
        for note, unit in zip(notes, (mark.unit, mark.other), strict=True):
            _set_metronome_note(note, unit)
        return
    kept = element.find("per-minute")
    element[:] = []
    _add_unit(element, mark.unit)
    if mark.other is not None:
        _add_unit(element, mark.other)
        return
    if kept is None:
        kept = etree.Element("per-minute")
    kept.text = mark.per_minute
    element.append(kept)


def _set_metronome_note(note: etree._Element, unit: mpq) -> None:
    kind, dots = _symbol_of(unit)
    note[:] = []
    etree.SubElement(note, "metronome-type").text = kind
    for _ in range(dots):
        etree.SubElement(note, "metronome-dot")


def _symbol_of(unit: mpq) -> tuple[str, int]:
    written = symbol(unit, MAX_DOTS)
    if written is None:
        raise ProofError(f"a metronome mark counts in {unit}, which no symbol stands for")
    return written


def _add_unit(element: etree._Element, unit: mpq) -> None:
    written = _symbol_of(unit)
    etree.SubElement(element, "beat-unit").text = written[0]
    for _ in range(written[1]):
        etree.SubElement(element, "beat-unit-dot")


def _direction(tag: str) -> Callable[[Mark], etree._Element]:
    def make(mark: Mark) -> etree._Element:
        direction = etree.Element("direction", placement="above")
        inner = etree.SubElement(etree.SubElement(direction, "direction-type"), tag)
        inner.text = mark.text
        return direction

    return make


def _heading(mark: Mark) -> etree._Element:
    direction = etree.Element("direction", placement="above")
    words = etree.SubElement(etree.SubElement(direction, "direction-type"), "words")
    words.attrib.update({"font-style": "normal", "font-weight": "bold", "halign": "left"})
    words.text = mark.text
    return direction


def _counted(mark: Mark) -> etree._Element:
    """A word of a row under the staff; the same default-y keeps the row level."""
    direction = etree.Element("direction", placement="below")
    words = etree.SubElement(etree.SubElement(direction, "direction-type"), "words")
    size = "7" if mark.text.startswith("(") else "8"
    words.attrib.update({"default-y": "-110", "font-style": "normal", "font-size": size})
    words.text = mark.text
    return direction


def _staff_details(mark: Mark) -> etree._Element:
    attributes = etree.Element("attributes")
    details = etree.SubElement(attributes, "staff-details")
    if mark.staff:
        details.set("number", mark.staff)
    lines, _, hidden = (mark.text or "5").partition(" ")
    if hidden:
        details.set("print-object", "no")
    etree.SubElement(details, "staff-lines").text = lines
    return attributes


def _metronome(mark: Mark) -> etree._Element | None:
    if mark.metronome is None:
        return None
    direction = etree.Element("direction", placement="above")
    _set_metronome(
        etree.SubElement(etree.SubElement(direction, "direction-type"), "metronome"),
        mark.metronome,
    )
    if mark.tempo is not None:
        etree.SubElement(direction, "sound", tempo=decimal_text(mark.tempo))
    return direction


def _sound(mark: Mark) -> etree._Element | None:
    if mark.tempo is None:
        return None
    return etree.Element("sound", tempo=decimal_text(mark.tempo))


def _barline(mark: Mark) -> etree._Element:
    barline = etree.Element("barline", location="right")
    etree.SubElement(barline, "bar-style").text = mark.text or "light-light"
    return barline


def _key(mark: Mark) -> etree._Element:
    attributes = etree.Element("attributes")
    key = etree.SubElement(attributes, "key")
    etree.SubElement(key, "fifths").text = mark.text or "0"
    return attributes


def _clef(mark: Mark) -> etree._Element:
    attributes = etree.Element("attributes")
    clef = etree.SubElement(attributes, "clef")
    if mark.staff:
        clef.set("number", mark.staff)
    text = mark.text or "G2"
    sign = text.rstrip("0123456789")
    etree.SubElement(clef, "sign").text = sign
    if text != sign:
        etree.SubElement(clef, "line").text = text[len(sign) :]
    return attributes


def _transpose(mark: Mark) -> etree._Element:
    """From steps of the scale and semitones to the sounding note, whole octaves apart."""
    steps, semitones = map(int, mark.text.split())
    octaves = abs(semitones) // 12 * (-1 if semitones < 0 else 1)
    attributes = etree.Element("attributes")
    said = etree.SubElement(attributes, "transpose")
    etree.SubElement(said, "diatonic").text = str(steps - 7 * octaves)
    etree.SubElement(said, "chromatic").text = str(semitones - 12 * octaves)
    if octaves:
        etree.SubElement(said, "octave-change").text = str(octaves)
    return attributes


def _span(mark: Mark) -> etree._Element:
    direction = etree.Element("direction")
    attributes = attributes_said(mark.text)
    if mark.kind == "bracket":
        attributes.setdefault("line-end", "none")
    etree.SubElement(etree.SubElement(direction, "direction-type"), mark.kind, attributes)
    return direction


def _print(mark: Mark) -> etree._Element:
    return etree.Element("print", {mark.text or "new-system": "yes"})


FRESH: dict[str, Callable[[Mark], etree._Element | None]] = {
    "barline": _barline,  # text: the bar-style, "light-light"
    "clef": _clef,  # text: sign and line, "F4", "percussion"
    "counted": _counted,  # text
    "heading": _heading,  # text
    "key": _key,  # text: fifths, "-3"
    "metronome": _metronome,  # metronome, and tempo if there is one
    "print": _print,  # text: "new-system" or "new-page"
    "rehearsal": _direction("rehearsal"),  # text
    "sound": _sound,  # tempo
    "staff-details": _staff_details,  # text: the number of lines, "1", or "1 hidden"
    "transpose": _transpose,  # text: steps and semitones to the sound, "-1 -2"; and transpose
    "words": _direction("words"),  # text
    **dict.fromkeys(("bracket", "dashes", "octave-shift", "pedal", "wedge"), _span),
    # text: the attributes of one end, "type=stop number=1"
}
"""Marks that can be written without a source, and what they are made from."""
