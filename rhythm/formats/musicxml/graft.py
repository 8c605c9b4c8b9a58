"""Bars taken over from one file into another: a player's part put right by the score.

What a bar holds is copied as it is written, element by element; everything else of the file stays
byte for byte. Durations are counted in the divisions of the file that takes the bar.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from copy import deepcopy

from gmpy2 import mpq
from lxml import etree

from rhythm.exact.errors import MusicError, Place
from rhythm.exact.frozen import dataclass
from rhythm.formats.musicxml.document import Document, parse
from rhythm.formats.musicxml.read.score_reader import read_document
from rhythm.score.model import Score
from rhythm.score.uncollected import uncollected

__all__ = ["Step", "graft"]

_TICKS = ("duration", "offset")
_OWN = frozenset({"divisions", "staves", "transpose", "instruments", "part-symbol"})
"""What a part says once of itself: it is not taken over with a bar."""


@dataclass(frozen=True, slots=True)
class Step:
    """Bars of the part by index (``own``), the same bars of the score (``theirs``).

    With ``take`` the score's stand in place of the part's; without ``theirs`` the part's go.
    """

    own: tuple[int, ...]
    theirs: tuple[int, ...]
    take: bool = False


def graft(player: Score, which: int, score: Score, other: int, steps: Sequence[Step]) -> Score:
    """``player`` with bars of its part ``which`` taken over from part ``other`` of ``score``.

    ``steps`` go through all bars of both. Bars are numbered as in the score. Raises
    :class:`~rhythm.exact.errors.MusicError` where one of the files is not sorted by part.
    """
    document, source = player.source, score.source
    if not (isinstance(document, Document) and isinstance(source, Document)):
        raise MusicError("only what was read from MusicXML has bars to take over")
    if document.timewise or source.timewise:
        raise MusicError(
            "bars are taken over only between files that go part by part",
            place=Place(document.name),
            legal="write it afresh as score-partwise first",
        )
    tree = deepcopy(document.tree)
    part = tree.getroot().findall("part")[which]
    known = {each.get("id") for each in tree.getroot().iter("score-instrument")}
    measures = list(part.iterchildren("measure"))
    theirs = source.parts[other].measures
    for measure in measures:
        part.remove(measure)
    for made in _made(measures, theirs, steps, known):
        part.append(made)
    with uncollected():
        data = etree.tostring(tree, encoding="UTF-8", xml_declaration=True)
        return read_document(parse(data, document.name, document.file))


def _made(
    measures: Sequence[etree._Element],
    theirs: Sequence[etree._Element],
    steps: Sequence[Step],
    known: set[str | None],
) -> Iterator[etree._Element]:
    own, other = _divisions(measures), _divisions(theirs)
    restored = None
    for step in steps:
        if not step.take:
            for at, measure in enumerate(measures[index] for index in step.own):
                if at < len(step.theirs):
                    measure.set("number", theirs[step.theirs[at]].get("number", ""))
                if restored is not None and _says(measure) is None:
                    _say(measure, restored)
                restored = None
                yield measure
            continue
        here = step.own[0] if step.own else None
        ticks = own[here] if here is not None else own[min(_next(steps, step), len(own) - 1)]
        for at, index in enumerate(step.theirs):
            base = measures[here] if here is not None and not at else None
            copy = _copied(theirs[index], base, known)
            if not _scale(copy, mpq(ticks, other[index])):
                _say(copy, other[index])
                restored = ticks
            yield copy


def _next(steps: Sequence[Step], step: Step) -> int:
    """The first bar of the part behind a step that has none."""
    at = steps.index(step)
    return next((later.own[0] for later in steps[at:] if later.own), 0)


def _divisions(measures: Sequence[etree._Element]) -> list[int]:
    """The divisions in force where each bar starts."""
    found, now = [], 1
    for measure in measures:
        now = _says(measure) or now
        found.append(now)
        for each in measure.iterfind("attributes/divisions"):
            now = _whole(each.text) or now
    return found


def _says(measure: etree._Element) -> int | None:
    """The divisions that a bar begins with, None where it says none."""
    for child in measure:
        if child.tag == "attributes" and child.find("divisions") is not None:
            return _whole(child.findtext("divisions"))
        if child.tag in ("note", "backup", "forward"):
            return None
    return None


def _whole(text: str | None) -> int | None:
    text = (text or "").strip()
    return int(text) if text.isdecimal() and 0 < len(text) < 10 else None


def _say(measure: etree._Element, divisions: int) -> None:
    """Let a bar begin with these divisions."""
    first = next((each for each in measure if each.tag == "attributes"), None)
    notes = next((each for each in measure if each.tag == "note"), None)
    if first is None or (notes is not None and measure.index(first) > measure.index(notes)):
        first = etree.Element("attributes")
        measure.insert(1 if len(measure) and measure[0].tag == "print" else 0, first)
    told = first.find("divisions")
    if told is None:
        told = etree.Element("divisions")
        first.insert(0, told)
    told.text = str(divisions)


def _copied(
    measure: etree._Element, base: etree._Element | None, known: set[str | None]
) -> etree._Element:
    """A copy of the score's bar with the beginning of the part's own, where it has one."""
    copy = deepcopy(measure)
    for each in copy.iter(etree.Element):
        if each.tag != "instrument":  # names one of the part list
            each.attrib.pop("id", "")
    for note in copy.iterchildren("note"):
        for each in note.findall("instrument"):
            if each.get("id") not in known:
                note.remove(each)
    for each in copy.findall("print"):
        copy.remove(each)
    copy.attrib.pop("width", "")
    for each in list(copy.iterchildren("attributes")):
        for told in list(each):
            if told.tag in _OWN:
                each.remove(told)
        if not len(each) or (base is not None and _leads(each)):
            copy.remove(each)
    if base is not None:
        head = [each for each in base if each.tag in ("print", "attributes") and _leads(each)]
        for at, each in enumerate(head):
            copy.insert(at, deepcopy(each))
    return copy


def _leads(element: etree._Element) -> bool:
    """Does this stand before all notes of its bar?"""
    return all(each.tag not in ("note", "backup", "forward") for each in element.itersiblings(
        preceding=True))  # fmt: skip


def _scale(measure: etree._Element, by: mpq) -> bool:
    """Count a bar's durations in other divisions; False where they would be no whole numbers."""
    if by == 1:
        return True
    found = []
    for each in measure.iter(*_TICKS):
        ticks = _whole(each.text)
        if ticks is None or (ticks * by).denominator != 1:
            return False
        found.append((each, ticks * by))
    for each, value in found:
        each.text = str(value)
    return True
