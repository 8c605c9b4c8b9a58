"""From an MEI document to MusicXML."""

from __future__ import annotations

from collections import Counter
from copy import deepcopy
from dataclasses import dataclass, field, replace

from gmpy2 import lcm, mpq
from lxml import etree

from rhythm.exact.errors import FileError, Place
from rhythm.formats.elements import Element, add
from rhythm.formats.mei.control import Spans, collect, write_direction
from rhythm.formats.mei.definitions import (
    Signature,
    StaffPart,
    signature_of,
    staff_parts,
    write_clef,
    write_key,
)
from rhythm.formats.mei.events import ID, Event, events_of, plain_tag
from rhythm.formats.mei.notes import NoteWriter

__all__ = ["movements_of", "musicxml_of", "parse"]

_REFUSED = {"mensur": "mensural notation", "syllable": "neumes", "tabGrp": "tablature"}
_LEFT = {"rptstart": "forward", "rptboth": "forward"}
_RIGHT = {
    "rptend": ("light-heavy", "backward"), "rptboth": ("light-heavy", "backward"),
    "dbl": ("light-light", ""), "end": ("light-heavy", ""), "invis": ("none", ""),
    "dashed": ("dashed", ""), "dotted": ("dotted", ""), "heavy": ("heavy", ""),
}  # fmt: skip


_ODD_NAMES = frozenset({"DTD_XMLID_VALUE", "DTD_ID_REDEFINED"})


def parse(data: bytes) -> Element:
    """The root of an MEI document. Raises FileError for what is none."""
    root = _tree(data)
    for element in root.iter(etree.Element):
        refused = _REFUSED.get(plain_tag(element))
        if refused:
            raise FileError(f"holds {refused}", legal="MEI in common Western notation")
    return root


def _tree(data: bytes) -> Element:
    """The tree of a document; an ``xml:id`` that is no name, or stands twice, is let pass."""
    parser = etree.XMLParser(resolve_entities=False, no_network=True, load_dtd=False, recover=True)
    try:
        root = etree.fromstring(data, parser)
    except (etree.XMLSyntaxError, ValueError) as error:
        raise FileError(f"is no readable MEI: {error}", legal="export it again") from None
    wrong = [e for e in parser.error_log if e.type_name not in _ODD_NAMES]
    if root is None or wrong:
        said = f"{wrong[0].message.strip()}, line {wrong[0].line}" if wrong else "holds nothing"
        raise FileError(f"is no readable MEI: {said}", legal="export it again")
    return root


def movements_of(root: Element) -> list[tuple[Element, str]]:
    """The scores in the document, with the label of each."""
    found = []
    for element in root.iter(etree.Element):
        if plain_tag(element) != "score":
            continue
        parent = element.getparent()
        label = parent.get("label") or parent.get("n") or "" if parent is not None else ""
        found.append((element, label))
    return found


@dataclass(slots=True)
class _Bar:
    """One measure: its element, the definitions before it, the endings around it."""

    element: Element
    before: list[Element] = field(default_factory=list)
    opens: str = ""
    closes: str = ""


def musicxml_of(root: Element, score: Element) -> tuple[bytes, Counter[str]]:
    """One score of the document as MusicXML, and what was left out, counted by kind.

    Raises FileError for what cannot be read, with part and bar.
    """
    lost: Counter[str] = Counter()
    definition = next((each for each in score if plain_tag(each) == "scoreDef"), None)
    parts = staff_parts(definition) if definition is not None else []
    bars = _bars(score)
    if not parts or not bars:
        raise FileError("the score has no staves or no measures", legal="MEI with measures")
    made = etree.Element("score-partwise", version="4.0")
    _write_head(made, root)
    listed = add(made, "part-list")
    for number, part in enumerate(parts, 1):
        add(add(listed, "score-part", id=f"P{number}"), "part-name", part.name or f"Part {number}")
    spans = Spans()
    timed = collect([bar.element for bar in bars], spans, lost)
    assert definition is not None
    for number, part in enumerate(parts, 1):
        writer = _PartWriter(part, definition, spans, lost, number == 1)
        writer.write(add(made, "part", id=f"P{number}"), bars, timed)
    data: bytes = etree.tostring(made, xml_declaration=True, encoding="UTF-8")
    return data, +lost


def _write_head(made: Element, root: Element) -> None:
    def texts(tag: str, **wanted: str) -> list[str]:
        found = []
        for element in root.iter(etree.Element):
            if plain_tag(element) == tag and all(element.get(k) == v for k, v in wanted.items()):
                found.append(" ".join("".join(map(str, element.itertext())).split()))
        return [text for text in found if text]

    for title in texts("title")[:1]:
        add(add(made, "work"), "work-title", title)
    composers = texts("composer") or texts("persName", role="composer")
    for composer in composers[:1]:
        add(add(made, "identification"), "creator", composer, type="composer")


def _bars(score: Element) -> list[_Bar]:
    bars: list[_Bar] = []
    waiting: list[Element] = []

    def walk(parent: Element) -> None:
        for child in parent:
            tag = plain_tag(child)
            if tag == "measure":
                bars.append(_Bar(child, list(waiting)))
                waiting.clear()
            elif tag in ("scoreDef", "staffDef") and (parent is not score or bars):
                waiting.append(child)
            elif tag == "ending":
                first = len(bars)
                walk(child)
                if len(bars) > first:
                    number = "".join(c for c in child.get("n") or "1" if c.isdecimal() or c == ",")
                    bars[first].opens = bars[-1].closes = number or "1"
            elif tag:
                walk(child)

    walk(score)
    return bars


def _again(event: Event) -> Event:
    """The same event in a bar that repeats the one before: nothing hangs on its notes twice."""
    element = deepcopy(event.element)
    for each in element.iter(etree.Element):
        if each.get(ID) is not None:
            del each.attrib[ID]
    notes = [each for each in element.iter(etree.Element) if plain_tag(each) == "note"]
    return replace(event, element=element, notes=notes)


class _PartWriter:
    """Writes one part."""

    def __init__(
        self,
        part: StaffPart,
        definition: Element,
        spans: Spans,
        lost: Counter[str],
        leads: bool,
    ) -> None:
        self.part = part
        self.definition = definition
        self.spans = spans
        self.lost = lost
        self.leads = leads
        self.several = len(part.staves) > 1
        self.signature = Signature()
        self.notes = NoteWriter(spans, lost, part.staves if self.several else ())
        self.before: dict[str, list[Event]] = {}

    def write(
        self,
        made: Element,
        bars: list[_Bar],
        timed: list[dict[str, list[tuple[mpq, Element, str]]]],
    ) -> None:
        """Write all bars of the part."""
        layers = [self._layers(bar) for bar in bars]
        values = [
            int((event.length * 4).denominator) for bar in layers for _, _, e in bar for event in e
        ]
        self.notes.divisions = int(lcm(1, *values))
        for index, (bar, content) in enumerate(zip(bars, layers, strict=True)):
            measure = add(made, "measure")
            shown = bar.element.get("n") or ""
            irregular = bar.element.get("metcon") == "false"
            measure.set("number", shown or f"X{index + 1}")
            if irregular:
                measure.set("implicit", "yes")
            self._left(measure, bar)
            self._attributes(measure, bar, index)
            place = Place(part=self.part.name, bar=measure.get("number") or "")
            try:
                self._content(measure, content, timed[index])
            except FileError as error:
                raise error.at(place) from None
            self._right(measure, bar)

    def _layers(self, bar: _Bar) -> list[tuple[int, str, list[Event]]]:
        """What the layers hold: the staff's place in the part, the voice, the events."""
        found = []
        for staff in bar.element:
            if plain_tag(staff) != "staff" or staff.get("n") not in self.part.staves:
                continue
            place = self.part.staves.index(staff.get("n") or "")
            layers = [each for each in staff if plain_tag(each) == "layer"]
            for count, layer in enumerate(layers, 1):
                try:
                    events = events_of(layer, self.lost)
                except FileError as error:
                    number = bar.element.get("n") or ""
                    raise error.at(Place(part=self.part.name, bar=number)) from None
                self._apply_spans(events)
                voice = str(place * 4 + count)
                if [event.kind for event in events] == ["mRpt"]:
                    events = [_again(event) for event in self.before.get(voice, [])]
                self.before[voice] = events
                found.append((place, voice, events))
        found.sort(key=lambda each: each[0])
        return found

    def _apply_spans(self, events: list[Event]) -> None:
        """Give the notes between the ends of a ``tupletSpan`` its ratio."""
        active: list[Element] = []
        changed = False
        for event in events:
            ids = {event.element.get(ID) or "", *(note.get(ID) or "" for note in event.notes)}
            active += [
                each
                for id in ids
                for each in self.spans.starts.get(id, ())
                if plain_tag(each) == "tupletSpan"
            ]
            for span in active:
                num, base = span.get("num") or "", span.get("numbase") or ""
                if num.isdecimal() and base.isdecimal() and int(num[:4]) > 0 and int(base[:4]) > 0:
                    actual, normal = int(num[:4]), int(base[:4])
                    event.ratio = (event.ratio[0] * actual, event.ratio[1] * normal)
                    event.length = event.length * normal / actual
                    changed = True
            ended = [each for id in ids for each in self.spans.ends.get(id, ())]
            active = [each for each in active if each not in ended]
        if changed:
            onset = mpq(0)
            for event in events:
                event.onset = onset
                onset += event.length

    def _attributes(self, measure: Element, bar: _Bar, index: int) -> None:
        attributes = etree.Element("attributes")
        sources = [self.definition, *bar.before] if not index else bar.before
        own = [each for each in sources if plain_tag(each) == "scoreDef"]
        staff_defs = [
            each
            for source in sources
            for each in source.iter(etree.Element)
            if plain_tag(each) == "staffDef" and each.get("n") in self.part.staves
        ]
        if not index:
            add(attributes, "divisions", str(self.notes.divisions))
        for source in [*staff_defs[:1], *own]:
            fifths = write_key(attributes, source)
            if fifths is not None:
                self.notes.set_key(fifths)
                break
        for source in [*staff_defs[:1], *own]:
            signature = signature_of(source)
            if signature is not None:
                self.signature = signature
                signature.write(attributes)
                break
        else:
            if not index:
                self.signature.write(attributes)
        if not index and self.several:
            add(attributes, "staves", str(len(self.part.staves)))
        for each in staff_defs:
            place = self.part.staves.index(each.get("n") or "")
            write_clef(attributes, each, str(place + 1) if self.several else "")
        if len(attributes):
            measure.append(attributes)
        if not index and self.leads:
            self._first_tempo(measure)

    def _first_tempo(self, measure: Element) -> None:
        bpm = self.definition.get("midi.bpm") or ""
        if bpm.replace(".", "", 1).isdecimal() and len(bpm) < 9 and mpq(bpm) > 0:
            add(measure, "sound", tempo=bpm)

    def _content(
        self,
        measure: Element,
        content: list[tuple[int, str, list[Event]]],
        timed: dict[str, list[tuple[mpq, Element, str]]],
    ) -> None:
        self.notes.start_bar()
        lengths = [sum((e.length for e in events), mpq(0)) for _, _, events in content]
        length = self.signature.length or max(lengths, default=mpq(0)) or mpq(1)
        position = mpq(0)
        last_staff = -1
        for place, voice, events in content:
            if position:
                add(add(measure, "backup"), "duration", self.notes.ticks(position))
            staff = str(place + 1) if self.several else ""
            waiting: list[tuple[mpq, Element, str]] = []
            if place != last_staff:
                found = timed.get(self.part.staves[place], [])
                unit = int(self.signature.pairs[0][1]) if self.signature.pairs else 4
                waiting = [((beat - 1) / unit, element, which) for beat, element, which in found]
                waiting.sort(key=lambda each: each[0])
                last_staff = place
            position = self._layer(measure, events, voice, staff, waiting, length)

    def _layer(
        self,
        measure: Element,
        events: list[Event],
        voice: str,
        staff: str,
        waiting: list[tuple[mpq, Element, str]],
        length: mpq,
    ) -> mpq:
        """Write a layer; return where it ends."""
        position = mpq(0)
        for event in events:
            while waiting and waiting[0][0] <= event.onset:
                self._direct(measure, *waiting.pop(0)[1:], staff)
            if event.kind in ("clef", "keySig", "meterSig"):
                self._change(measure, event, staff)
                continue
            for each in dict.fromkeys([event.element, *event.notes]):
                for element, which in self.spans.before.get(each.get(ID) or "", ()):
                    self._direct(measure, element, which, staff)
            if event.kind in ("mRest", "mSpace", "mRpt"):
                position += self.notes.whole_bar(measure, event, voice, staff, length)
            else:
                self.notes.write(measure, event, voice, staff)
                position += event.length
        for _, element, which in waiting:
            self._direct(measure, element, which, staff)
        return position

    def _direct(self, measure: Element, element: Element, which: str, staff: str) -> None:
        if not write_direction(measure, element, which, staff):
            self.lost[plain_tag(element)] += 1

    def _change(self, measure: Element, event: Event, staff: str) -> None:
        attributes = etree.Element("attributes")
        if event.kind == "clef":
            write_clef(attributes, event.element, staff)
        elif event.kind == "keySig":
            fifths = write_key(attributes, event.element)
            if fifths is not None:
                self.notes.set_key(fifths)
        else:
            signature = signature_of(event.element)
            if signature is not None:
                self.signature = signature
                signature.write(attributes)
        if len(attributes):
            measure.append(attributes)

    def _left(self, measure: Element, bar: _Bar) -> None:
        repeat = _LEFT.get(bar.element.get("left") or "", "")
        if not (repeat or bar.opens):
            return
        line = add(measure, "barline", location="left")
        if repeat:
            add(line, "bar-style", "heavy-light")
        if bar.opens:
            add(line, "ending", number=bar.opens, type="start")
        if repeat:
            add(line, "repeat", direction=repeat)

    def _right(self, measure: Element, bar: _Bar) -> None:
        style, repeat = _RIGHT.get(bar.element.get("right") or "", ("", ""))
        if not (style or bar.closes):
            return
        line = add(measure, "barline", location="right")
        if style:
            add(line, "bar-style", style)
        if bar.closes:
            add(line, "ending", number=bar.closes, type="stop" if style else "discontinue")
        if repeat:
            add(line, "repeat", direction=repeat)
