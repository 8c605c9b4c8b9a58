"""Putting bars together into a document, by part or by time, as the file was.

What stands outside the bars is kept: titles, credits, the part list, comments, the document type.
Elements are made where they will stand, since moving a tree from one document to another costs as
much as building it.
"""

from __future__ import annotations

from collections.abc import Sequence
from copy import copy, deepcopy
from dataclasses import dataclass
from typing import Any

from lxml import etree

from rhythm.formats.musicxml.document import Document, PartSource, measure_of
from rhythm.formats.musicxml.single_names import name_once
from rhythm.formats.musicxml.write import child_order
from rhythm.formats.musicxml.write.attributes_writer import put_in_front
from rhythm.formats.musicxml.write.bar_content import Content
from rhythm.formats.musicxml.write.bar_writer import write_bar
from rhythm.formats.musicxml.write.divisions_plan import BarPlan
from rhythm.formats.musicxml.write.redundant_signs import drop_needless
from rhythm.formats.musicxml.write.rest_counts import count_rests_anew
from rhythm.formats.musicxml.write.spans import drop_loose_ends
from rhythm.score.model import Bar, Part, Score

__all__ = ["Planned", "assemble", "assemble_new"]

_BARS = frozenset({"measure", "part"})
_MEASURE_OWNED = frozenset({"number", "implicit", "width"})


@dataclass(slots=True)
class Planned:
    """A part with what its bars hold and how they are to be written."""

    part: Part
    contents: Sequence[Content]
    plans: Sequence[BarPlan]


def assemble(score: Score, document: Document, parts: Sequence[Planned]) -> etree._ElementTree:
    """The score inside what stood around the bars of ``document``."""
    if document.timewise:
        tree = _surroundings(document, "measure")
        _by_time(tree.getroot(), parts)
    else:
        tree = _surroundings(document, "part")
        _by_part(tree.getroot(), document, parts)
    _list_parts(tree.getroot(), score, {part.id for part in document.parts})
    name_once(tree)
    for planned in parts:
        source, id = planned.part.source, planned.part.id
        read = len(source.measures) if isinstance(source, PartSource) else 0
        bars = _held(tree.getroot(), id)
        fresh = [bar.source is None for bar in planned.part.bars]
        count_rests_anew(bars, fresh, moved=len(fresh) != read)
    for element, planned in zip(tree.getroot().iterchildren("part"), parts, strict=False):
        if score.excerpt:
            fresh = [bar.source is None for bar in planned.part.bars]
            drop_loose_ends(element, fresh)
            drop_needless(element, fresh)
    return tree


def _held(root: etree._Element, id: str) -> list[etree._Element]:
    """What every bar of the part with this id holds, in a score by part or by time."""
    if root.tag == "score-timewise":
        parts = (part for bar in root.iterchildren("measure") for part in bar)
        return [part for part in parts if part.get("id") == id]
    return [bar for part in root.iterchildren("part") if part.get("id") == id for bar in part]


def assemble_new(score: Score, parts: Sequence[Planned]) -> etree._ElementTree:
    """A new document, by part."""
    root = etree.Element("score-partwise", version="4.0")
    listed = etree.SubElement(root, "part-list")
    for planned in parts:
        listed.append(_score_part(planned.part))
        part = etree.SubElement(root, "part", id=planned.part.id)
        for index in range(len(planned.plans)):
            _put_bar(part, planned, index)
        if score.excerpt:
            drop_needless(part, [bar.source is None for bar in planned.part.bars])
    etree.indent(root, space="  ")
    return etree.ElementTree(root)


def _surroundings(document: Document, bars: str) -> etree._ElementTree:
    """A copy of the document without its bars (elements of this tag under the root)."""
    docinfo: Any = document.tree.docinfo  # typed in part only
    old = document.tree.getroot()
    declared = docinfo.internalDTD
    if declared is not None and any(getattr(declared, "entities", list)()):
        tree = deepcopy(document.tree)  # only a whole copy keeps declarations
        for element in list(tree.getroot().iterchildren(bars)):
            tree.getroot().remove(element)
        return tree
    spaces: Any = old.nsmap
    root = etree.Element(old.tag, nsmap=spaces)
    for name, text in old.attrib.items():
        root.set(name, text)
    root.text = old.text
    for child in old:
        if child.tag != bars:
            root.append(copy(child))
    tree = etree.ElementTree(root)
    if docinfo.doctype:
        made: Any = tree.docinfo
        made.public_id, made.system_url = docinfo.public_id, docinfo.system_url
    for sibling in reversed(list(old.itersiblings(preceding=True))):
        root.addprevious(copy(sibling))
    for sibling in reversed(list(old.itersiblings())):
        root.addnext(copy(sibling))
    return tree


def _indentation(root: etree._Element) -> str | None:
    """What one level is indented by in a file that is laid out in lines, else None."""
    text = root.text or ""
    return text.rpartition("\n")[2] if "\n" in text and not text.strip() else None


def _by_part(root: etree._Element, document: Document, parts: Sequence[Planned]) -> None:
    space = _indentation(root)
    elements = {id(part): part.element for part in document.parts}
    for planned in parts:
        part = etree.SubElement(root, "part")
        old = elements.get(id(planned.part.source))
        if old is not None:
            for name, text in old.attrib.items():
                part.set(name, text)
            part.text, part.tail = old.text, old.tail
        part.set("id", planned.part.id)
        for index in range(len(planned.plans)):
            _put_bar(part, planned, index, space)
        if space is not None and len(part) and planned.part.bars[-1].source is None:
            part[-1].tail = "\n" + space


def _by_time(root: etree._Element, parts: Sequence[Planned]) -> None:
    space = _indentation(root)
    for index in range(max(len(planned.plans) for planned in parts)):
        together = etree.SubElement(root, "measure")
        for planned in parts:
            if index >= len(planned.plans):
                continue
            measure = _put_bar(together, planned, index)
            for name, text in measure.attrib.items():
                if name not in together.attrib:
                    together.set(name, text)
                del measure.attrib[name]
            measure.tag = "part"
            measure.set("id", planned.part.id)
        if space is not None:
            etree.indent(together, space=space, level=1)
            together.tail = "\n" + space


def _put_bar(
    parent: etree._Element, planned: Planned, index: int, space: str | None = None
) -> etree._Element:
    """Add one bar under ``parent``: a copy of its source, or written afresh."""
    bar, plan = planned.part.bars[index], planned.plans[index]
    if isinstance(bar.source, etree._Element):
        return _put_copy(parent, bar, bar.source, plan)
    measure = etree.SubElement(parent, "measure", number=bar.number)
    if bar.implicit:
        measure.set("implicit", "yes")
    content = planned.contents[index]
    for mark in content.marks:
        if mark.kind == "measure" and isinstance(mark.source, etree._Element):
            for name, text in mark.source.attrib.items():
                if name not in _MEASURE_OWNED:
                    measure.set(name, text)
            break
    measure.extend(write_bar(bar, content, plan))
    if space is not None:
        _lay_out(measure, space)
    return measure


def _lay_out(measure: etree._Element, space: str) -> None:
    """Give every child of a bar its line; what was copied is laid out inside already."""
    outer = "\n" + space * 2
    inner = outer + space
    measure.text, measure.tail = inner, outer
    child = None
    for child in measure:
        if child.tail != inner:
            child.tail = inner
        if len(child) and (child.text is None or child[-1].tail != inner):
            _indent(child, space)
    if child is not None:
        child.tail = outer


def _indent(element: etree._Element, space: str) -> None:
    """Lay an element of a bar out in lines, but for the words in it: a comment may stand there."""
    words = {
        id(owner): (owner, owner.text, [(child, child.tail) for child in owner])
        for comment in element.iter(etree.Comment, etree.ProcessingInstruction)
        if (owner := comment.getparent()) is not None and not len(owner.findall("*"))
    }
    etree.indent(element, space=space, level=3)
    for owner, text, tails in words.values():
        owner.text = text
        for child, tail in tails:
            child.tail = tail


def _put_copy(
    parent: etree._Element, bar: Bar, source: etree._Element, plan: BarPlan
) -> etree._Element:
    measure = copy(source)
    parent.append(measure)
    if measure.tag == "part":
        measure.tag = "measure"
        del measure.attrib["id"]
        for name, text in measure_of(source).attrib.items():
            measure.set(name, text)
    if bar.number != (measure.get("number") or ""):
        measure.set("number", bar.number)
    put_in_front(measure, plan)
    return measure


def _list_parts(root: etree._Element, score: Score, were: set[str]) -> None:
    """Bring the part list up to date with parts that are gone or new; ids that ``were`` there."""
    listed = root.find("part-list")
    if listed is None:
        listed = etree.Element("part-list")
        root.insert(sum(child.tag not in _BARS for child in root), listed)
    kept = {part.id for part in score.parts}
    for element in listed.findall("score-part"):
        if element.get("id", "") in were - kept:
            listed.remove(element)
    for part in score.parts:
        if part.id not in were:
            listed.append(_score_part(part))
            continue
        for element in listed.findall("score-part"):
            if element.get("id") == part.id and isinstance(part.source, PartSource):
                _rename(element, part, part.source)
                break


def _rename(element: etree._Element, part: Part, source: PartSource) -> None:
    """Write a name and an instrument that were changed through the model."""
    if part.name != source.name:
        name = element.find("part-name")
        if name is None:
            name = etree.Element("part-name")
            child_order.insert(element, name, child_order.SCORE_PART)
        name.text = part.name
    if part.program != source.program:
        _set_program(element, part)


def _set_program(element: etree._Element, part: Part) -> None:
    found = element.find(".//midi-program")
    if part.program is None:
        for program in element.findall(".//midi-program"):
            _take_out(program)
        return
    if found is None:
        instrument = element.find("score-instrument")
        if instrument is None:
            instrument = etree.Element("score-instrument", id=f"{part.id}-I1")
            etree.SubElement(instrument, "instrument-name").text = part.name
            child_order.insert(element, instrument, child_order.SCORE_PART)
        name = instrument.get("id") or f"{part.id}-I1"
        played = element.find("midi-instrument")
        if played is None:
            played = etree.Element("midi-instrument", id=name)
            child_order.insert(element, played, child_order.SCORE_PART)
        found = etree.Element("midi-program")
        child_order.insert(played, found, child_order.MIDI_INSTRUMENT)
    found.text = str(part.program)


def _take_out(element: etree._Element) -> None:
    parent = element.getparent()
    if parent is not None:
        parent.remove(element)


def _score_part(part: Part) -> etree._Element:
    element = etree.Element("score-part", id=part.id)
    etree.SubElement(element, "part-name").text = part.name
    if part.program is not None:
        _set_program(element, part)
    return element
