"""The ornaments and tremolos on a note, as MusicXML writes them.

Conventions
-----------
MusicXML's ``mordent`` is the sign with the vertical stroke, which goes to the note below;
``inverted-mordent`` the one without, which goes to the note above. An ``accidental-mark`` alters
the neighbour that it stands by. A tremolo's marks come on top of the flags or beams that the note
has anyway (MusicXML 4.0, element tremolo).
"""

from __future__ import annotations

from dataclasses import replace

from gmpy2 import mpq
from lxml import etree

from rhythm.exact.frozen import dataclass
from rhythm.formats.musicxml.write.note_sources import elements_of
from rhythm.score.model import Note

__all__ = ["Ornament", "ornament_on"]

_TURNS = {
    "turn": (1, 0, -1, 0), "inverted-turn": (-1, 0, 1, 0),
    "delayed-turn": (1, 0, -1, 0), "delayed-inverted-turn": (-1, 0, 1, 0),
}  # fmt: skip
_MORDENTS = {"mordent": -1, "inverted-mordent": 1}
_ALTERS = {
    "sharp": 1, "natural": 0, "flat": -1, "double-sharp": 2, "sharp-sharp": 2, "flat-flat": -2,
}  # fmt: skip
_STEPS = {"whole": 2, "half": 1}
_FLAGS = {"eighth": 1, "16th": 2, "32nd": 3, "64th": 4, "128th": 5, "256th": 6}
_MOST_MARKS = 8


@dataclass(frozen=True, slots=True)
class Ornament:
    """What is played in place of a plain note.

    ``kind`` is ``trill``, ``turn`` (mordents too), ``tremolo`` or ``tremolo to`` (between two
    notes). ``way`` are the notes of a turn as steps from the main note; ``late`` says that it comes
    at the end. ``above`` and ``below`` are how the neighbours are altered, None as key and bar have
    it; ``semitones`` how far off they are where that is said. ``from_above`` is a trill that begins
    on its upper note. ``stroke`` is the value (whole notes) of one stroke of a tremolo, None where
    it is not measured.
    """

    kind: str
    way: tuple[int, ...] = ()
    late: bool = False
    above: mpq | None = None
    below: mpq | None = None
    semitones: int | None = None
    from_above: bool = False
    stroke: mpq | None = None


def ornament_on(note: Note) -> Ornament | None:
    """The ornament of a note of an event; the first where there are several."""
    for element in elements_of(note.sources)[:1]:
        for signs in element.iterfind("notations/ornaments"):
            for sign in signs:
                found = _read(sign, element)
                if found is not None:
                    return _altered(found, signs)
    return None


def _read(sign: etree._Element, note: etree._Element) -> Ornament | None:
    name = str(sign.tag)
    semitones = _STEPS.get(sign.get("trill-step") or "")
    if name == "trill-mark":
        return Ornament("trill", semitones=semitones, from_above=sign.get("start-note") == "upper")
    if name in _TURNS:
        late = name.startswith("delayed") or sign.get("delay") == "yes"
        return Ornament("turn", _TURNS[name], late)
    if name in _MORDENTS:
        there = _MORDENTS[name]
        way = (0, there, 0, there, 0) if sign.get("long") == "yes" else (0, there, 0)
        return Ornament("turn", way, semitones=semitones)
    if name == "tremolo" and sign.get("type") != "stop":
        return _tremolo(sign, note)
    return None


def _tremolo(sign: etree._Element, note: etree._Element) -> Ornament | None:
    text = (sign.text or "").strip()
    marks = int(text) if text.isdecimal() and len(text) == 1 else 3
    kind = "tremolo to" if sign.get("type") == "start" else "tremolo"
    if sign.get("type") == "unmeasured" or not 0 < marks <= _MOST_MARKS:
        return Ornament(kind)
    flags = _FLAGS.get((note.findtext("type") or "").strip(), 0)
    return Ornament(kind, stroke=mpq(1, 4 << (flags + marks)))


def _altered(found: Ornament, signs: etree._Element) -> Ornament:
    """The ornament with what the accidentals beside its sign make of the neighbours."""
    above, below = found.above, found.below
    both = 1 in found.way and -1 in found.way
    for mark in signs.iterfind("accidental-mark"):
        alter = _ALTERS.get((mark.text or "").strip())
        if alter is None:
            continue
        if -1 in found.way and (not both or mark.get("placement") == "below"):
            below = mpq(alter)
        else:
            above = mpq(alter)
    return replace(found, above=above, below=below)
