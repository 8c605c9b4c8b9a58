"""The first pass over a part: every bar's notes and marks, placed from the bar's start.

Nothing is placed on the score's timeline yet, since how long a bar is depends on all parts.
Grace notes go to the note they lead to, or at the end of a bar to the one they follow; chord
members to their head; marks to the voice in whose stream they stand.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from gmpy2 import mpq
from lxml import etree

from rhythm.exact.errors import FileError, LimitError, Place
from rhythm.exact.metre import Metre
from rhythm.formats.musicxml.document import PartSource, measure_of
from rhythm.formats.musicxml.read.grains import Grains
from rhythm.formats.musicxml.read.mark_reader import Sign, read_barline, read_metre, read_sign
from rhythm.formats.musicxml.read.note_reader import Written, decimal, parse_note, shown
from rhythm.formats.musicxml.read.tick_cursor import Belief, Clock
from rhythm.score.model import Barline, Remark

__all__ = ["Gathered", "PlacedSign", "gather", "read_again"]

_ZERO = mpq(0)
_PLAIN = (1, 1)
_LONGEST = mpq(1024)  # whole notes in a bar; a whole piece without bar lines is shorter
_MOST_DIVISIONS = 10**15  # what is reckoned exactly with more takes for ever
_MEASURE_ATTRIBUTES = frozenset({"number", "implicit", "width"})


@dataclass(slots=True)
class PlacedSign:
    """A mark with its offset in the bar."""

    element: etree._Element
    kind: str
    offset: mpq
    order: int
    sign: Sign
    reach: mpq
    length: mpq
    stream: str | None = None


@dataclass(slots=True)
class Gathered:
    """What one bar of one part holds.

    ``astray`` says that a note stands on no place of a fine grid, or is as long by its ticks
    alone; ``beliefs`` are those with which the bar was read a second time. ``grains`` tells the
    part's grain, which is ``grain`` where it matters.
    """

    source: etree._Element
    number: str
    implicit: bool
    grains: Grains
    metre: Metre | None = None
    shows_metre: bool = False
    divisions: mpq | None = None
    notes: list[Written] = field(default_factory=list)
    signs: list[PlacedSign] = field(default_factory=list)
    left: Barline | None = None
    right: Barline | None = None
    remarks: list[Remark] = field(default_factory=list)
    tuplets: bool = False
    guessed: int = 0
    reached: mpq = field(default_factory=mpq)
    astray: bool = False
    beliefs: Mapping[int, Belief] = field(default_factory=dict)

    @property
    def grain(self) -> mpq:
        """The length of which all ticks of the part are multiples."""
        return self.grains(self.divisions) if self.divisions is not None else mpq(1, 4)


def gather(part: PartSource, leader: list[Gathered] | None) -> list[Gathered]:
    """The bars of ``part``. ``leader`` is the first part, whose metres a silent part takes."""
    grains = Grains(part.measures)
    clock = Clock(grains)
    metre: Metre | None = None
    own = False
    bars = []
    for index, content in enumerate(part.measures):
        if not own and leader is not None and index < len(leader):
            metre = leader[index].metre
        measure = measure_of(content)
        implicit = measure.get("implicit") == "yes"
        bar = Gathered(content, measure.get("number") or "", implicit, grains)
        bar.metre = metre
        bar.divisions = clock.divisions
        try:
            later = _Bar(bar, clock).read(measure)
            if bar.reached > _LONGEST:
                raise LimitError(
                    f"the bar lasts {int(bar.reached)} whole notes", legal=f"at most {_LONGEST}"
                )
        except FileError as error:
            raise error.at(Place(part=part.name or part.id, bar=bar.number)) from None
        own = own or bar.shows_metre or later is not None
        metre = later or bar.metre
        bars.append(bar)
    return bars


def read_again(bar: Gathered, beliefs: Mapping[int, Belief]) -> Gathered:
    """The same bar, read with what a second look found of its notes, by their place in it."""
    clock = Clock(bar.grains)
    if bar.divisions is not None:
        clock.set_divisions(bar.divisions)
    again = Gathered(bar.source, bar.number, bar.implicit, bar.grains)
    again.metre, again.divisions, again.beliefs = bar.metre, bar.divisions, beliefs
    _Bar(again, clock).read(measure_of(bar.source))
    return again


class _Bar:
    """Reads one bar."""

    def __init__(self, bar: Gathered, clock: Clock) -> None:
        self.bar = bar
        self.clock = clock
        self.graces: dict[str, list[etree._Element]] = {}
        self.latest: dict[str, Written] = {}
        self.head: Written | None = None
        self.grace_head: Written | None = None
        self.pending: list[PlacedSign] = []

    def read(self, measure: etree._Element) -> Metre | None:
        """Read the bar; a signature written after its first note is for the next bar."""
        bar, clock = self.bar, self.clock
        clock.start_bar(bar.metre.length if bar.metre else _ZERO, bar.beliefs or None)
        if not _MEASURE_ATTRIBUTES.issuperset(measure.keys()):
            self._keep(measure, "measure", -1)
        later: Metre | None = None
        for order, child in enumerate(bar.source):
            tag = child.tag
            if tag == "note":
                self._note(child)
            elif tag == "backup" or tag == "forward":
                if tag == "backup":
                    self._close_stream()
                    if clock.position > bar.reached:
                        bar.reached = clock.position
                clock.move(child.findtext("duration") or "", tag == "backup")
            else:
                if tag == "attributes":
                    later = self._attributes(child) or later
                elif tag == "barline":
                    self._barline(child)
                self._keep(child, tag if isinstance(tag, str) else _other(child), order)
        if clock.position > bar.reached:
            bar.reached = clock.position
        self._close_stream()
        self._end_graces()
        bar.remarks = clock.remarks
        bar.astray = clock.astray
        bar.guessed = clock.guessed
        return later

    def _note(self, element: etree._Element) -> None:
        try:
            note = parse_note(element)
        except FileError as error:
            raise error.at(Place(voice=(element.findtext("voice") or "").strip())) from None
        if not note.voice:
            note.voice = "1" if note.staff in ("", "1") else f"staff {note.staff}"
        if note.grace:
            self._grace(note)
            return
        if note.chord and self.head is not None:
            self._member(note, self.head)
            return
        voice = note.voice
        try:
            self.clock.place(note)
        except FileError as error:
            raise error.at(Place(voice=voice)) from None
        self.bar.notes.append(note)
        if note.ratio != _PLAIN or note.tuplet_marks:
            self.bar.tuplets = True
        if self.graces and voice in self.graces:
            note.graces = self.graces.pop(voice)
            if any(_stops_tie(each) for each in note.graces):
                self.clock.remarks.append(Remark("grace-tie", voice, note.offset, settled=True))
        if note.rings:
            self._ring(note, note)
        self.head = self.latest[voice] = note
        self.grace_head = None
        if self.pending:
            for sign in self.pending:
                sign.stream = voice
            self.pending.clear()

    def _grace(self, note: Written) -> None:
        if note.chord and self.grace_head is not None:
            note.voice = self.grace_head.voice
        self.grace_head = note
        self.graces.setdefault(note.voice, []).append(note.element)
        for sign in self.pending:
            sign.stream = note.voice
        self.pending.clear()

    def _member(self, note: Written, head: Written) -> None:
        if head.members is None:
            head.members = []
        head.members.append(note)
        self._ring(note, head)
        if note.ticks != head.ticks and self.clock.ticks_value(note.ticks) != head.value:
            value = self.clock.ticks_value(note.ticks)
            self.clock.remarks.append(
                Remark("member", head.voice, head.offset, head.duration, value)
            )

    def _ring(self, note: Written, head: Written) -> None:
        if note.rings and note.tie_start:
            self.clock.remarks.append(Remark("rings", head.voice, head.offset, settled=True))

    def _keep(self, element: etree._Element, kind: str, order: int) -> None:
        sign = read_sign(element)
        placed = PlacedSign(
            element,
            kind,
            self.clock.position,
            order,
            sign,
            self._length(sign.reach),
            self._length(sign.length),
        )
        self.bar.signs.append(placed)
        if not self.bar.notes and not self.graces and not placed.offset:
            placed.stream = ""
        else:
            self.pending.append(placed)

    def _length(self, text: str) -> mpq:
        return (self.clock.ticks_value(text) or _ZERO) if text else _ZERO

    def _close_stream(self) -> None:
        """Marks that no note follows belong to the voice before them."""
        if self.pending:
            voice = self.head.voice if self.head is not None else ""
            for sign in self.pending:
                sign.stream = voice
            self.pending.clear()

    def _end_graces(self) -> None:
        for voice, elements in self.graces.items():
            if voice in self.latest:
                note = self.latest[voice]
                note.after = elements
                continue
            note = parse_note(elements[0])
            note.voice, note.kind, note.pitch = voice, "rest", None
            note.hidden, note.members, note.tuplet_marks = False, None, None
            note.tie_start = note.tie_stop = False
            note.type, note.dots, note.ratio, note.beams = "", 0, _PLAIN, ()
            note.offset = note.duration = note.end = _ZERO
            note.graces = elements
            self.bar.notes.append(note)

    def _attributes(self, element: etree._Element) -> Metre | None:
        found: Metre | None = None
        seen = False
        for child in element:
            if child.tag == "divisions":
                text = child.text or ""
                divisions = decimal(text) if text.strip() else None
                if divisions is None or not 0 < divisions <= _MOST_DIVISIONS:
                    kind = LimitError if divisions and divisions > 0 else FileError
                    raise kind(
                        f"divisions of {shown(text)}",
                        legal=f"a number above 0 and at most {_MOST_DIVISIONS}",
                    )
                self.clock.set_divisions(divisions)
                if not self.bar.notes and not self.clock.position:
                    self.bar.divisions = self.clock.divisions
            elif child.tag == "time" and (not seen or child.get("number") in (None, "1")):
                metre = read_metre(child)
                if metre is not None and (found is None or child.get("number") is None):
                    found = metre
                seen = True
        if found is None:
            return None
        if self.bar.notes or self.clock.position:
            return found
        self.bar.metre, self.bar.shows_metre = found, True
        self.clock.bar_length = found.length or mpq(1)
        return None

    def _barline(self, element: etree._Element) -> None:
        location = element.get("location") or "right"
        if location == "left":
            self.bar.left = read_barline(element)
        elif location == "right":
            self.bar.right = read_barline(element)


def _other(element: etree._Element) -> str:
    return "comment" if isinstance(element, etree._Comment) else "processing-instruction"


def _stops_tie(grace: etree._Element) -> bool:
    return any(each.get("type") == "stop" for each in grace.iterchildren("tie"))
