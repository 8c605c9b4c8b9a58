"""The XML of a score: parsed safely, by parts whether the file goes by part or by time.

Conventions
-----------
The parsed tree is never changed after reading: what is written is always a copy. A bar's content
is one element: the ``measure`` of a score-partwise file, the ``part`` inside a ``measure`` of a
score-timewise one; :func:`measure_of` leads from either to the attributes of the bar.
"""

from __future__ import annotations

import re
from dataclasses import field
from typing import Any

from lxml import etree

from rhythm.exact.errors import FileError, Place
from rhythm.exact.frozen import dataclass
from rhythm.score.model import Bar, Mark, Voice

__all__ = ["Document", "PartSource", "Reading", "measure_of", "parse", "parts_of"]

_LEGAL = "a MusicXML file has score-partwise or score-timewise as its root"
_ALL_NOTES = etree.XPath("string(count(//note))")
_BY_PART = etree.XPath("string(count(/score-partwise/part/measure/note))")
_BY_TIME = etree.XPath("string(count(/score-timewise/measure/part/note))")
_NESTED = etree.XPath(
    "boolean(/score-partwise/part/measure/measure | /score-partwise/part/measure/part"
    " | /score-timewise/measure/part/measure | /score-timewise/measure/part/part"
    " | /score-timewise/measure/measure)"
)
_WITHIN_TEXTS = etree.XPath(
    "//*[not(*)][text()[normalize-space()]]"
    "/node()[self::comment() or self::processing-instruction()]"
)
_REFERENCE = re.compile(r"&([^#;\s&<>]+);")
_PREDEFINED = frozenset({"lt", "gt", "amp", "quot", "apos"})


@dataclass(frozen=True, slots=True)
class Reading:
    """What the reader made of a part: what a bar holds is compared with it when it is written.

    ``plain`` are the notes that carry nothing but their rhythm and pitch.
    """

    bars: tuple[Bar, ...] = field(repr=False)
    voices: tuple[Voice, ...] = field(repr=False)
    marks: tuple[Mark, ...] = field(repr=False)
    plain: frozenset[object] = field(repr=False)
    places: dict[int, int] = field(repr=False)

    def __reduce__(self) -> tuple[object, ...]:
        """Elements are known by where they lie in memory: elsewhere they are looked up anew."""
        return Reading.of, (self.bars, self.voices, self.marks, self.plain)

    @classmethod
    def of(
        cls,
        bars: tuple[Bar, ...],
        voices: tuple[Voice, ...],
        marks: tuple[Mark, ...],
        plain: frozenset[object],
    ) -> Reading:
        """Remember a part just read, whose bars have their contents as source."""
        return cls(bars, voices, marks, plain, {id(bar.source): bar.index for bar in bars})

    def bar_of(self, source: object) -> Bar | None:
        """The bar that was read from ``source``, None where it was read elsewhere."""
        at = self.places.get(id(source))
        return None if at is None or self.bars[at].source is not source else self.bars[at]


@dataclass(frozen=True, slots=True)
class PartSource:
    """One part as read: its id, its element (None by time), its bars' contents, what lists it.

    ``reading`` is what the reader made of it.
    """

    id: str
    element: etree._Element | None = field(repr=False)
    measures: tuple[etree._Element, ...] = field(repr=False)
    listed: etree._Element | None = field(repr=False)
    reading: Reading | None = field(default=None, repr=False, compare=False)

    @property
    def name(self) -> str:
        """The name in the part list, "" where it has none."""
        name = "" if self.listed is None else self.listed.findtext("part-name") or ""
        return " ".join(name.split())

    @property
    def program(self) -> int | None:
        """The General MIDI number (1 to 128) of its first instrument, where there is one."""
        text = "" if self.listed is None else self.listed.findtext(".//midi-program") or ""
        number = int(text) if text.strip().isdecimal() and len(text) < 8 else 0
        return number if 1 <= number <= 128 else None


@dataclass(frozen=True, slots=True)
class Document:
    """A parsed score: the whole tree and its parts; ``file`` is its absolute path, "" for none."""

    name: str
    tree: etree._ElementTree = field(repr=False)
    timewise: bool
    parts: tuple[PartSource, ...]
    file: str = ""


def measure_of(content: etree._Element) -> etree._Element:
    """The ``measure`` element that carries the attributes of a bar with this content."""
    if content.tag == "part":
        parent = content.getparent()
        if parent is not None:
            return parent
    return content


def parse(data: bytes, name: str, file: str = "") -> Document:
    """The document in ``data``, which was read from ``file``.

    Raises :class:`FileError` for what is no MusicXML score.
    """
    place = Place(name)
    parser = etree.XMLParser(
        resolve_entities=False,
        no_network=True,
        load_dtd=False,
        huge_tree=False,
        remove_blank_text=False,
    )
    try:
        root = etree.fromstring(data, parser)
    except (etree.XMLSyntaxError, ValueError, LookupError) as error:
        raise _broken(error, data, place) from None
    _refuse_entities(root, data, place)
    if root.tag not in ("score-partwise", "score-timewise"):
        root_name = etree.QName(root)
        if root_name.namespace:
            raise FileError(
                f"elements are in the namespace {root_name.namespace}",
                place=place,
                legal="MusicXML uses none",
            )
        tag = root_name.localname
        raise FileError(f"is not a MusicXML score but <{tag}>", place=place, legal=_LEGAL)
    timewise = root.tag == "score-timewise"
    parts = parts_of(root)
    if not parts:
        raise FileError("the score has no parts", place=place, legal="a score has at least one")
    if not any(part.measures for part in parts):
        raise FileError("the score has no measures", place=place, legal="a score has at least one")
    _refuse_strays(root, place)
    if b"<!--" in data or b"<?" in data[2:] or b"\0" in data:
        _keep_texts_whole(root)
    return Document(name, root.getroottree(), timewise, parts, file)


def _keep_texts_whole(root: etree._Element) -> None:
    """Put before an element what is said aside within its text, such as the 8 of a duration."""
    found: Any = _WITHIN_TEXTS(root)
    for aside in found:
        around = aside.getparent()
        around.text = (around.text or "") + (aside.tail or "")
        aside.tail = None
        around.addprevious(aside)


def _refuse_strays(root: etree._Element, place: Place) -> None:
    """Raise for notes outside the bars of the parts: nobody would hear of them again.

    A bar inside a bar is none of the score either.
    """
    timewise = root.tag == "score-timewise"
    there, inside = (
        int(str(count(root))) for count in (_ALL_NOTES, _BY_TIME if timewise else _BY_PART)
    )
    if there != inside:
        stray = "one note stands" if there - inside == 1 else f"{there - inside} notes stand"
        raise FileError(
            f"{stray} outside the bars of its parts",
            place=place,
            legal="every note is a child of a measure (of a part in it, in a score by time)",
        )
    if _NESTED(root):
        raise FileError(
            "a bar or a part stands inside a bar", place=place, legal="bars stand side by side"
        )


def _broken(error: Exception, data: bytes, place: Place) -> FileError:
    text = str(error)
    if "xcessive depth" in text:
        return FileError(
            "elements stand too deep inside one another", place=place, legal="at most 256 deep"
        )
    if "ntity" in text and "not defined" not in text:
        return FileError(
            "the file's entity declarations cannot be used", place=place, legal=_NO_ENTITIES
        )
    if not data.lstrip(b"\xef\xbb\xbf\xfe\xff\x00 \t\r\n").startswith(b"<"):
        return FileError("this is not XML", place=place, legal=_LEGAL)
    reason = re.sub(r" \(.*?\)$|, line \d+, column \d+.*$", "", text)
    position = getattr(error, "position", None)
    where = f" at line {position[0]}" if position and position[0] else ""
    return FileError(
        f"the XML is broken{where}: {reason}", place=place, legal="export the score again"
    )


_NO_ENTITIES = "a score needs none beyond XML's own five"


def _refuse_entities(root: etree._Element, data: bytes, place: Place) -> None:
    """Raise where the file would need an entity that it, or another file, declares."""
    declared = root.getroottree().docinfo.internalDTD
    if declared is None or b"&" not in data:
        return
    used = {(reference.text or "")[1:-1] for reference in root.iter(etree.Entity)}
    names = {str(entity.name) for entity in getattr(declared, "entities", list)()}
    if names:
        encoding = root.getroottree().docinfo.encoding or "UTF-8"
        used |= set(_REFERENCE.findall(data.decode(encoding, "replace"))) & names
    used -= _PREDEFINED
    if used:
        raise FileError(
            f"uses the entity &{min(used)};, which is not expanded", place=place, legal=_NO_ENTITIES
        )


def _listed(root: etree._Element) -> dict[str, etree._Element]:
    found: dict[str, etree._Element] = {}
    listed = root.find("part-list")
    if listed is not None:
        for element in listed.iterchildren("score-part"):
            found.setdefault(element.get("id", ""), element)
    return found


def parts_of(root: etree._Element) -> tuple[PartSource, ...]:
    """The parts of a score, whether it goes by part or by time."""
    return _timewise(root) if root.tag == "score-timewise" else _partwise(root)


def _partwise(root: etree._Element) -> tuple[PartSource, ...]:
    listed = _listed(root)
    return tuple(
        PartSource(
            part.get("id", ""),
            part,
            tuple(part.iterchildren("measure")),
            listed.get(part.get("id", "")),
        )
        for part in root.iterchildren("part")
    )


def _timewise(root: etree._Element) -> tuple[PartSource, ...]:
    """Regroup by part. A part missing from a measure has an empty bar there."""
    listed = _listed(root)
    measures = list(root.iterchildren("measure"))
    contents: dict[str, dict[int, etree._Element]] = {}
    for index, measure in enumerate(measures):
        for content in measure.iterchildren("part"):
            contents.setdefault(content.get("id", ""), {}).setdefault(index, content)
    return tuple(
        PartSource(
            id,
            None,
            tuple(
                found[index] if index in found else etree.Element("part", id=id)
                for index in range(len(measures))
            ),
            listed.get(id),
        )
        for id, found in contents.items()
    )
