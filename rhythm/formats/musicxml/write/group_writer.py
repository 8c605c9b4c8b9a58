"""Beams and tuplet brackets on the way out."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from lxml import etree

from rhythm.exact.values import NOTE_TYPES
from rhythm.formats.musicxml.write import child_order
from rhythm.formats.musicxml.write.child_order import drop, notations_of
from rhythm.score.model import Tuplet

__all__ = ["End", "set_beams", "set_tuplets", "unit_name"]


class End(NamedTuple):
    """Where a tuplet starts or stops. ``explicit``: its own numbers must be written out."""

    type: str
    tuplet: Tuplet
    explicit: bool = False


_LEVELS = tuple("12345678")


def _is_beam(beam: etree._Element, word: str, level: str) -> bool:
    return beam.text == word and beam.get("number") == level


def set_beams(
    element: etree._Element,
    beams: list[etree._Element],
    words: Sequence[str],
    chord: bool,
) -> None:
    """Make the ``beams`` of a note these words, by level; members after the head have none."""
    if len(beams) == len(words) and all(map(_is_beam, beams, words, _LEVELS)):
        return
    had = {beam.get("number") or "1": (beam.text or "").strip() for beam in beams}
    wanted = {str(level): word for level, word in enumerate(words, 1) if word}
    if had == wanted and len(had) == len(beams):
        return
    spare = {}
    for beam in beams:
        number = beam.get("number") or "1"
        text = (beam.text or "").strip()
        if chord or wanted.get(number) != text or number in spare:
            element.remove(beam)
        else:
            spare[number] = beam
    if chord:
        return
    for beam in spare.values():
        element.remove(beam)
    for number, word in wanted.items():
        made = spare.get(number)
        if made is None:
            made = etree.Element("beam", number=number)
            made.text = word
        child_order.insert(element, made, child_order.NOTE)


def unit_name(tuplet: Tuplet) -> str:
    """The MusicXML type a tuplet counts in, "" where its unit is no plain value."""
    return next((name for name, length in NOTE_TYPES.items() if length == tuplet.unit), "")


def set_tuplets(note: etree._Element, ends: Sequence[End]) -> None:
    """Make the ``tuplet`` elements of a note those of ``ends``, keeping how old ones look."""
    if not ends and next(note.iter("tuplet"), None) is None:
        return
    had: dict[str, list[etree._Element]] = {"start": [], "stop": []}
    for notations in note.iterchildren("notations"):
        for tuplet in notations.iterchildren("tuplet"):
            had.setdefault(tuplet.get("type") or "", []).append(tuplet)
    wanted = {type: [end for end in ends if end.type == type] for type in ("start", "stop")}
    for type, elements in had.items():
        if len(elements) != len(wanted.get(type, ())):
            for tuplet in elements:
                drop(tuplet)
            elements.clear()
    for type, items in wanted.items():
        for index, end in enumerate(items):
            if had[type]:
                _amend(had[type][index], end)
            else:
                _add(note, _made(end))


def _made(end: End) -> etree._Element:
    element = etree.Element("tuplet", type=end.type, number=str(end.tuplet.number))
    if end.type == "start":
        element.set("bracket", "yes" if end.tuplet.bracket else "no")
        if end.explicit:
            _spell_out(element, end.tuplet)
    return element


def _spell_out(element: etree._Element, tuplet: Tuplet) -> None:
    element[:] = []
    unit = unit_name(tuplet)
    for tag, number in (("tuplet-actual", tuplet.actual), ("tuplet-normal", tuplet.normal)):
        part = etree.SubElement(element, tag)
        etree.SubElement(part, "tuplet-number").text = str(number)
        if unit:
            etree.SubElement(part, "tuplet-type").text = unit


def _add(note: etree._Element, tuplet: etree._Element) -> None:
    notations = notations_of(note)
    at = 0
    for index, child in enumerate(notations):
        if child.tag in ("tied", "slur", "tuplet") or child.tag in child_order.NOTATIONS_BEFORE:
            at = index + 1
    notations.insert(at, tuplet)


def _amend(old: etree._Element, end: End) -> None:
    """Keep how a source's tuplet looks, with the numbers it now has."""
    tuplet = end.tuplet
    if old.get("number") is not None or tuplet.number > 1:
        old.set("number", str(tuplet.number))
    if end.type == "stop":
        return
    if (old.get("bracket") != "no") != tuplet.bracket:
        old.set("bracket", "yes" if tuplet.bracket else "no")
    shown = old.findtext("tuplet-actual/tuplet-number")
    if shown is None and not end.explicit:
        return
    if shown is None or shown.strip() != str(tuplet.actual):
        _spell_out(old, tuplet)
