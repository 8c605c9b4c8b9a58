"""A MusicXML file laid open for slips: parts, measures, and the notes of every voice in them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

from gmpy2 import mpq
from lxml import etree

Element = etree._Element
ZERO = mpq(0)
QUARTERS = {
    "breve": 8, "whole": 4, "half": 2, "quarter": 1, "eighth": mpq(1, 2),
    "16th": mpq(1, 4), "32nd": mpq(1, 8), "64th": mpq(1, 16),
}  # fmt: skip
TYPES = list(QUARTERS)


@dataclass
class Chord:
    """A note with its chord members: where it stands in its measure, in quarters."""

    elements: list[Element]
    onset: mpq
    duration: mpq
    voice: str
    staff: str
    seen: bool

    @property
    def head(self) -> Element:
        return self.elements[0]

    @property
    def end(self) -> mpq:
        return self.onset + self.duration

    @property
    def is_rest(self) -> bool:
        return self.head.find("rest") is not None

    @property
    def ratio(self) -> Element | None:
        return self.head.find("time-modification")

    @property
    def type(self) -> str:
        return self.head.findtext("type") or ""

    def set_ticks(self, ticks: mpq) -> bool:
        """Give every member this duration; False where it is no whole number above 0."""
        if ticks.denominator != 1 or ticks <= 0:
            return False
        for each in self.elements:
            each.find("duration").text = str(ticks)
        return True

    @property
    def ticks(self) -> int:
        return int(self.head.findtext("duration"))


@dataclass
class Measure:
    """One measure of one part; ``length`` is its metre's, in quarters."""

    element: Element
    index: int
    divisions: int
    length: mpq
    chords: list[Chord] = field(default_factory=list)
    backups: list[tuple[Element, mpq, mpq]] = field(default_factory=list)  # from, to
    forwards: list[tuple[Element, mpq, mpq]] = field(default_factory=list)
    end: mpq = ZERO  # where the cursor stands last

    @property
    def number(self) -> str:
        return self.element.get("number") or ""

    def voice(self, name: str) -> list[Chord]:
        return [each for each in self.chords if each.voice == name]

    @property
    def voices(self) -> list[str]:
        return list(dict.fromkeys(each.voice for each in self.chords))

    def is_full(self, name: str) -> bool:
        """Does this voice run from the start of the bar to its end, seen, without a hole?"""
        reached = mpq(0)
        for each in self.voice(name):
            if each.onset != reached or not each.seen:
                return False
            reached = each.end
        return reached == self.length

    def is_alone(self, name: str) -> bool:
        """Has this voice its staff (or staves) to itself?"""
        own = {each.staff for each in self.voice(name)}
        return not any(each.staff in own for each in self.chords if each.voice != name)

    def backup_after(self, chord: Chord) -> Element | None:
        """The backup that ends the stream in which this chord stands."""
        passed = False
        for child in self.element:
            if child is chord.head:
                passed = True
            if passed and child.tag == "backup":
                return child
        return None


@dataclass
class Page:
    """A whole file."""

    root: Element
    parts: list[list[Measure]]
    ids: list[str]

    def __iter__(self) -> Iterator[tuple[int, Measure]]:
        for which, measures in enumerate(self.parts):
            for measure in measures:
                yield which, measure

    def column(self, index: int) -> list[Measure]:
        return [measures[index] for measures in self.parts]

    def text(self) -> bytes:
        return etree.tostring(self.root)


def open_page(data: bytes) -> Page:
    """The page of a score-partwise file whose durations are whole numbers."""
    root = etree.fromstring(data, etree.XMLParser(resolve_entities=False, no_network=True))
    assert root.tag == "score-partwise"
    parts = [_part(part) for part in root.findall("part")]
    return Page(root, parts, [part.get("id") for part in root.findall("part")])


def _part(part: Element) -> list[Measure]:
    divisions, length = 1, mpq(4)
    measures = []
    for index, element in enumerate(part.findall("measure")):
        measure = Measure(element, index, divisions, length)
        at = mpq(0)
        for child in element:
            if child.tag == "attributes":
                divisions = int(child.findtext("divisions") or divisions)
                time = child.find("time")
                if time is not None and time.findtext("beats"):
                    beats = sum(int(each) for each in time.findtext("beats").split("+"))
                    length = mpq(4 * beats, int(time.findtext("beat-type")))
                measure.divisions, measure.length = divisions, length
            elif child.tag in ("backup", "forward"):
                by = mpq(int(child.findtext("duration")), divisions)
                to = at - by if child.tag == "backup" else at + by
                kept = measure.backups if child.tag == "backup" else measure.forwards
                kept.append((child, at, to))
                at = to
            elif child.tag == "note" and child.find("grace") is None:
                if child.find("chord") is not None:
                    measure.chords[-1].elements.append(child)
                    continue
                duration = mpq(int(child.findtext("duration")), divisions)
                staff = child.findtext("staff") or "1"
                voice = child.findtext("voice") or ("1" if staff == "1" else f"staff {staff}")
                seen = child.get("print-object") != "no" and child.find("cue") is None
                measure.chords.append(Chord([child], at, duration, voice, staff, seen))
                at += duration
        measure.end = at
        measures.append(measure)
    return measures
