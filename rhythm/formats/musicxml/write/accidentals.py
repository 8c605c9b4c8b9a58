"""Accidentals looked at again when bar lines moved or notes changed their order.

An accidental holds to the end of its bar, on its staff and at its octave. Where bars are redrawn, a
note may lose the accidental before it or come after one that does not concern it; it then needs
one of its own. Accidentals that stand are never taken away, and a note that did not read right
in the file it came from (files without any accidentals exist) is left as it was.

Conventions
-----------
A pitch is ``(staff, step, octave)``. A note tied over from the bar before needs no accidental and
sets none.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from gmpy2 import mpq
from lxml import etree

from rhythm.formats.musicxml.document import PartSource
from rhythm.formats.musicxml.read.note_reader import decimal
from rhythm.formats.musicxml.write import child_order
from rhythm.formats.musicxml.write.bar_content import Content, Line
from rhythm.formats.musicxml.write.mark_writer import write_sign
from rhythm.formats.musicxml.write.note_sources import read_from
from rhythm.score.model import Mark, Part

__all__ = ["renew_accidentals"]

_NAMES = {
    mpq(-2): "flat-flat",
    mpq(-3, 2): "three-quarters-flat",
    mpq(-1): "flat",
    mpq(-1, 2): "quarter-flat",
    mpq(0): "natural",
    mpq(1, 2): "quarter-sharp",
    mpq(1): "sharp",
    mpq(3, 2): "three-quarters-sharp",
    mpq(2): "double-sharp",
}
_SHARPS = "FCGDAEB"
_ZERO = mpq(0)

_Pitch = tuple[str, str, str]


class _Reader:
    """What a player has read so far: the keys, and the accidentals of the bar."""

    def __init__(self) -> None:
        self._keys: dict[str, dict[str, mpq]] = {}
        self._bar: dict[_Pitch, mpq] = {}

    def start_bar(self) -> None:
        """A bar line ends all accidentals."""
        self._bar.clear()

    def read_key(self, attributes: etree._Element) -> None:
        """Take in the keys of an ``attributes`` element; one for all staves has staff ""."""
        for key in attributes.iterchildren("key"):
            staff = key.get("number") or ""
            if not staff:
                self._keys.clear()
            self._keys[staff] = _key(key)

    def expects(self, pitch: _Pitch) -> mpq:
        """The alteration that a note without an accidental is read with."""
        found = self._bar.get(pitch)
        if found is not None:
            return found
        staff, step, _ = pitch
        return self._keys.get(staff, self._keys.get("", {})).get(step, _ZERO)

    def takes(self, note: etree._Element) -> bool:
        """Read one note; whether it was read with the alteration that is meant."""
        pitch, alter = _pitch(note)
        if pitch is None:
            return True
        if note.find("accidental") is not None:
            self._bar[pitch] = alter
            return True
        tied = any(tie.get("type") == "stop" for tie in note.iterchildren("tie"))
        return tied or self.expects(pitch) == alter

    def note(self, pitch: _Pitch, alter: mpq) -> None:
        """An accidental was added."""
        self._bar[pitch] = alter


def _key(key: etree._Element) -> dict[str, mpq]:
    fifths = decimal(key.findtext("fifths") or "")
    if fifths is not None:
        count = int(fifths)
        steps = _SHARPS[:count] if count > 0 else _SHARPS[::-1][:-count]
        return {step: mpq(1 if count > 0 else -1) for step in steps}
    found: dict[str, mpq] = {}
    step = ""
    for child in key:
        if child.tag == "key-step":
            step = (child.text or "").strip()
        elif child.tag == "key-alter" and step:
            found[step] = decimal(child.text or "") or _ZERO
    return found


def _pitch(note: etree._Element) -> tuple[_Pitch | None, mpq]:
    pitch = note.find("pitch")
    if pitch is None:
        return None, _ZERO
    staff = (note.findtext("staff") or "1").strip()
    step = (pitch.findtext("step") or "").strip()
    octave = (pitch.findtext("octave") or "").strip()
    return (staff, step, octave), decimal(pitch.findtext("alter") or "0") or _ZERO


def renew_accidentals(part: Part, contents: Sequence[Content]) -> None:
    """Give every note of the freshly written bars the accidental that its new place asks for."""
    misread = _misread(part.source) if isinstance(part.source, PartSource) else frozenset()
    reader = _Reader()
    for bar, content in zip(part.bars, contents, strict=True):
        reader.start_bar()
        if isinstance(bar.source, etree._Element):
            for attributes in bar.source.iterchildren("attributes"):
                reader.read_key(attributes)
            continue
        keys = sorted(
            (mark for mark in content.marks if mark.kind in ("attributes", "key")),
            key=lambda mark: mark.onset,
        )
        for line in _in_time(content):
            while keys and keys[0].onset - bar.start <= line.offset:
                _read_keys(reader, keys.pop(0))
            for grace in (*line.event.graces,) if not line.index else ():
                if isinstance(grace, etree._Element):
                    reader.takes(grace)
            for element, source in zip(line.elements, _sources(line), strict=True):
                if not reader.takes(element) and id(source) not in misread:
                    _add(element, reader)
        for mark in keys:
            _read_keys(reader, mark)


def _read_keys(reader: _Reader, mark: Mark) -> None:
    sources = mark.source if isinstance(mark.source, tuple) else (mark.source,)
    if mark.source is None:
        sources = (write_sign(mark, 1),)
    for source in sources:
        if isinstance(source, etree._Element):
            reader.read_key(source)


def _in_time(content: Content) -> list[Line]:
    return sorted(
        (line for lines in content.voices.values() for line in lines),
        key=lambda line: line.offset,
    )


def _sources(line: Line) -> Iterator[object]:
    """The note that each element of the line was first read from."""
    for note in line.event.notes if line.elements else ():
        sources = note.sources
        yield read_from(sources[min(line.index, len(sources) - 1)]) if sources else None


def _add(note: etree._Element, reader: _Reader) -> None:
    pitch, alter = _pitch(note)
    name = _NAMES.get(alter)
    if pitch is None or name is None:
        return
    sign = etree.Element("accidental")
    sign.text = name
    child_order.insert(note, sign, child_order.NOTE)
    reader.note(pitch, alter)


def _misread(source: PartSource) -> frozenset[int]:
    """The notes of the file that a player would have read with another alteration."""
    found: set[int] = set()
    reader = _Reader()
    for measure in source.measures:
        reader.start_bar()
        at = _ZERO
        onset = _ZERO
        timed: list[tuple[mpq, etree._Element]] = []
        for child in measure:
            tag = child.tag
            if tag == "attributes":
                timed.append((at, child))
            elif tag in ("backup", "forward"):
                length = decimal(child.findtext("duration") or "") or _ZERO
                at += -length if tag == "backup" else length
            elif tag == "note":
                if child.find("chord") is None:
                    onset = at
                    at += decimal(child.findtext("duration") or "0") or _ZERO
                timed.append((onset, child))
        timed.sort(key=lambda each: each[0])
        for _, element in timed:
            if element.tag == "attributes":
                reader.read_key(element)
            elif not reader.takes(element):
                found.add(id(element))
    return frozenset(found)
