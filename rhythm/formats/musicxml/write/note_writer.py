"""Writing notes: what rhythm owns in a ``note`` element, set on a copy of what was read.

Conventions
-----------
``divisions`` are per quarter and make every duration written here an integer. Tied pieces carry
both ``tie`` (sound) and ``tied`` (notation), stop before start; ties that reach outside the event
stay as the source had them.
"""

from __future__ import annotations

from collections.abc import Container, Sequence
from functools import lru_cache

from gmpy2 import mpq
from lxml import etree

from rhythm.exact.errors import ProofError
from rhythm.exact.values import NOTE_TYPES
from rhythm.formats.musicxml.read.note_reader import decimal, decimal_text
from rhythm.formats.musicxml.write import child_order
from rhythm.formats.musicxml.write.group_writer import End, set_beams, set_tuplets, unit_name
from rhythm.formats.musicxml.write.note_edits import pitch_element, stroke_element
from rhythm.formats.musicxml.write.note_sources import elements_of
from rhythm.formats.musicxml.write.payload import bare, share
from rhythm.formats.musicxml.write.tie_writer import set_ties, untie
from rhythm.score.model import Event, Note, Piece

__all__ = ["NoteSetter", "make_pieces", "make_some_pieces", "ticks_text"]

STEMLESS = frozenset({"whole", "breve", "long", "maxima"})
"""Types of notes without a stem."""
_NOT_RHYTHM = frozenset({"pitch", "voice", "staff", "accidental", "lyric", "instrument"})
_TICK_ATTRIBUTES = ("attack", "release")


@lru_cache(maxsize=4096)
def ticks_text(length: mpq, divisions: int) -> str:
    """The ticks of a length; ProofError if it is no whole number of them."""
    ticks = length * 4 * divisions
    if ticks.denominator != 1:
        raise ProofError(f"{length} is no whole number of {divisions} divisions")
    return str(ticks.numerator)


def make_pieces(event: Event, note: Note, voice: str) -> list[etree._Element]:
    """The ``note`` elements of one member, payload shared out, rhythm not yet set."""
    count = len(event.pieces)
    sources = elements_of(note.sources)
    if not sources:
        pieces = [_fresh(event, note, voice) for _ in range(count)]
        if note.kind != "rest":
            set_ties(pieces, pieces[:1], note)
        return pieces
    pieces = share(sources, [(piece.bar, piece.duration) for piece in event.pieces])
    if note.kind != "rest":
        set_ties(pieces, sources, note)
    return pieces


def make_some_pieces(
    event: Event, note: Note, wanted: Sequence[int], kept: Container[int]
) -> list[etree._Element]:
    """A member's pieces with the indices ``wanted``: the others are in bars kept as they were read.

    ``kept`` holds the ``id`` of the contents of those bars. What stands there is not written
    again, so only the payload of the sources outside them is shared out.
    """
    sources = elements_of(note.sources)
    outside = [source for source in sources if id(source.getparent()) not in kept]
    written = [(event.pieces[index].bar, event.pieces[index].duration) for index in wanted]
    pieces = share(outside or [bare(sources[-1])], written)
    if note.kind != "rest":
        set_ties(
            pieces,
            outside or sources[-1:],
            note,
            before=wanted[0] > 0,
            after=wanted[-1] < len(event.pieces) - 1,
        )
    return pieces


def _fresh(event: Event, note: Note, voice: str) -> etree._Element:
    element = etree.Element("note")
    if event.hidden:
        element.set("print-object", "no")
    if event.cue:
        etree.SubElement(element, "cue")
    if note.kind == "rest":
        etree.SubElement(element, "rest")
    else:
        element.append(stroke_element() if note.pitch is None else pitch_element(note.pitch))
    etree.SubElement(element, "voice").text = voice
    if note.staff:
        etree.SubElement(element, "staff").text = note.staff
    return element


def _one(
    known: etree._Element | None, child: etree._Element, again: list[etree._Element]
) -> etree._Element:
    """What a note may say but once: the first; a damaged file may say it ``again``."""
    if known is None:
        return child
    again.append(child)
    return known


class NoteSetter:
    """Sets the rhythm of ``note`` elements in a bar with these divisions."""

    def __init__(self, divisions: int) -> None:
        self.divisions = divisions
        self._ticks: dict[mpq, str] = {}

    def ticks(self, length: mpq) -> str:
        """The ticks of a length."""
        found = self._ticks.get(length)
        if found is None:
            found = self._ticks[length] = ticks_text(length, self.divisions)
        return found

    def set(
        self,
        element: etree._Element,
        piece: Piece,
        *,
        chord: bool,
        ends: Sequence[End],
        keep_tuplets: bool,
        loose: bool,
    ) -> etree._Element | None:
        """Make ``element`` say what ``piece`` says; ``chord`` for members after the head.

        ``loose`` says that no tie leads to the note or from it. Returns its stem, if it has one.
        """
        duration = type = ratio = stem = None
        has_chord = has_notations = has_tie = False
        dots: list[etree._Element] = []
        beams: list[etree._Element] = []
        again: list[etree._Element] = []
        for child in element:
            tag = child.tag
            if tag in _NOT_RHYTHM:
                continue
            if tag == "duration":
                duration = _one(duration, child, again)
            elif tag == "type":
                type = _one(type, child, again)
            elif tag == "stem":
                stem = _one(stem, child, again)
            elif tag == "beam":
                beams.append(child)
            elif tag == "dot":
                dots.append(child)
            elif tag == "notations":
                has_notations = True
            elif tag == "time-modification":
                ratio = _one(ratio, child, again)
            elif tag == "chord":
                has_chord = True
                if not chord:
                    element.remove(child)
            elif tag == "rest":
                _set_rest(child, piece)
            elif tag == "tie":
                has_tie = True
        for child in again:
            element.remove(child)
        if loose and (has_tie or has_notations):
            untie(element)
        self._set_duration(element, duration, piece)
        if chord and not has_chord:
            child_order.insert(element, etree.Element("chord"), child_order.NOTE)
        _set_type(element, type, stem, piece)
        if len(dots) != piece.dots:
            _set_dots(element, dots, piece)
        if ratio is not None or piece.ratio != (1, 1):
            _set_ratio(element, ratio, piece)
        if beams or (piece.beams and not chord):
            set_beams(element, beams, piece.beams, chord)
        if not keep_tuplets and (ends or has_notations):
            set_tuplets(element, ends)
        if element.get("default-x") is not None:
            del element.attrib["default-x"]
        return stem

    def _set_duration(
        self, element: etree._Element, duration: etree._Element | None, piece: Piece
    ) -> None:
        text = self.ticks(piece.duration)
        if duration is None:
            if not piece.duration:
                return  # it had none: a duration of 0 would be a fault of our own
            duration = etree.Element("duration")
            child_order.insert(element, duration, child_order.NOTE)
        else:
            old = duration.text
            if old == text:
                return
            if element.get("attack") is not None or element.get("release") is not None:
                _rescale(element, old or "", text)
        duration.text = text


def _set_type(
    element: etree._Element,
    type: etree._Element | None,
    stem: etree._Element | None,
    piece: Piece,
) -> None:
    if type is not None and type.text == piece.type:
        return
    if not piece.type:
        if type is not None and (type.text or "").strip() in NOTE_TYPES:
            element.remove(type)
        return
    if type is None:
        type = etree.Element("type")
        child_order.insert(element, type, child_order.NOTE)
    type.text = piece.type
    if stem is not None and piece.type in STEMLESS:
        element.remove(stem)


def _set_dots(element: etree._Element, dots: list[etree._Element], piece: Piece) -> None:
    for dot in dots[piece.dots :]:
        element.remove(dot)
    for _ in range(piece.dots - len(dots)):
        child_order.insert(element, etree.Element("dot"), child_order.NOTE)


def _set_ratio(element: etree._Element, had: etree._Element | None, piece: Piece) -> None:
    if piece.ratio == (1, 1):
        if had is not None:
            element.remove(had)
        return
    unit = unit_name(piece.tuplets[-1]) if piece.tuplets else ""
    if had is not None:
        if _says(had, piece.ratio, unit):
            return
        element.remove(had)
    made = etree.Element("time-modification")
    etree.SubElement(made, "actual-notes").text = str(piece.ratio[0])
    etree.SubElement(made, "normal-notes").text = str(piece.ratio[1])
    if unit and unit != piece.type:
        etree.SubElement(made, "normal-type").text = unit
    child_order.insert(element, made, child_order.NOTE)


def _set_rest(rest: etree._Element, piece: Piece) -> None:
    if piece.whole_bar:
        rest.set("measure", "yes")
    elif "measure" in rest.attrib:
        del rest.attrib["measure"]


def _rescale(element: etree._Element, old: str, new: str) -> None:
    """Keep attack and release, given in ticks, at the same part of the note."""
    was, now = decimal(old) if old.strip() else None, decimal(new)
    if not was or now is None:
        return
    for name in _TICK_ATTRIBUTES:
        text = element.get(name)
        number = decimal(text) if text and text.strip() else None
        if number is not None:
            element.set(name, decimal_text(number * now / was))


def _says(had: etree._Element, ratio: tuple[int, int], unit: str) -> bool:
    """Does a time-modification stand for this ratio, counted in this unit if in any?"""
    texts = [(had.findtext(tag) or "").strip() for tag in ("actual-notes", "normal-notes")]
    if texts != [str(ratio[0]), str(ratio[1])]:
        return False
    normal = (had.findtext("normal-type") or "").strip()
    return not normal or not unit or normal == unit
