"""From a :class:`~rhythm.score.model.Score` back to MusicXML.

A bar that still has its source is written as it was. A score all of whose bars do is the document
that was read, element for element. Any other bar is written afresh from its events and marks; what
stands outside the bars (titles, credits, the part list) is kept.
"""

from __future__ import annotations

import os
from collections.abc import Sequence
from copy import deepcopy

from lxml import etree

from rhythm.formats.files import pack, save
from rhythm.formats.musicxml.attributes_out import put_in_front
from rhythm.formats.musicxml.bar_writer import Content, Line, write_bar
from rhythm.formats.musicxml.document import Document, measure_of
from rhythm.formats.musicxml.note_writer import make_pieces
from rhythm.formats.musicxml.plan import BarPlan, plan_part
from rhythm.score.model import Bar, Event, Part, Piece, Score

__all__ = ["to_bytes", "to_tree", "write"]


def write(
    score: Score, path: str | os.PathLike[str], *, force: bool = False
) -> None:
    """Write ``score`` to ``path``; ``.mxl`` is compressed, ``-`` is standard output.

    Raises :class:`~rhythm.exact.errors.FileError`; see :func:`rhythm.formats.files.save`.
    """
    data = to_bytes(score)
    name = os.fspath(path)
    if name.lower().endswith(".mxl"):
        data = pack(data)
    save(data, path, force=force, source=score.path)


def to_bytes(score: Score) -> bytes:
    """The score as a UTF-8 MusicXML file."""
    tree = to_tree(score)
    data = etree.tostring(tree, xml_declaration=False, encoding="UTF-8")
    return b'<?xml version="1.0" encoding="UTF-8"?>\n' + data + b"\n"


def to_tree(score: Score) -> etree._ElementTree:
    """The score as a tree of its own; nothing that was read is changed."""
    document = score.source if isinstance(score.source, Document) else None
    if document is not None and _untouched(score, document):
        return deepcopy(document.tree)
    measures = _measures(score)
    if document is None:
        return _assemble_new(score, measures)
    if document.timewise:
        return _assemble_timewise(score, document, measures)
    return _assemble(score, document, measures)


def _untouched(score: Score, document: Document) -> bool:
    if len(score.parts) != len(document.parts):
        return False
    for part, source in zip(score.parts, document.parts, strict=True):
        if part.source is not source or len(part.bars) != len(source.measures):
            return False
        for bar, content in zip(part.bars, source.measures, strict=True):
            if bar.source is not content or not _numbered_as(bar, content):
                return False
    return True


def _numbered_as(bar: Bar, content: etree._Element) -> bool:
    measure = measure_of(content)
    return measure.tag == "part" or bar.number == (measure.get("number") or "")


def _measures(score: Score) -> list[list[etree._Element]]:
    """Every part's bars as ``measure`` elements."""
    made: list[list[etree._Element]] = []
    leader: list[BarPlan] | None = None
    for part in score.parts:
        contents = _contents(part)
        pieces: list[Sequence[Piece]] = [
            [line.piece for lines in content.voices.values() for line in lines if line.piece]
            for content in contents
        ]
        plans = plan_part(part, pieces, [content.marks for content in contents], leader)
        leader = leader or plans
        made.append(
            [
                _measure(bar, content, plan)
                for bar, content, plan in zip(part.bars, contents, plans, strict=True)
            ]
        )
    return made


def _contents(part: Part) -> list[Content]:
    """What the bars to be written afresh hold; nothing for those written as they were."""
    contents = [Content() for _ in part.bars]
    fresh = [bar.source is None for bar in part.bars]
    for voice in part.voices:
        for event in voice.events:
            if event.pieces:
                if any(fresh[piece.bar] for piece in event.pieces):
                    _add_event(contents, fresh, voice.name, event)
            elif fresh[event.bar]:
                offset = event.onset - part.bars[event.bar].start
                lines = contents[event.bar].voices.setdefault(voice.name, [])
                lines.append(Line(event, 0, None, [], offset))
    for mark in part.marks:
        if fresh[mark.bar]:
            contents[mark.bar].marks.append(mark)
    return contents


def _add_event(
    contents: list[Content], fresh: Sequence[bool], voice: str, event: Event
) -> None:
    members = [make_pieces(event, note, voice) for note in event.notes]
    for index, piece in enumerate(event.pieces):
        if not fresh[piece.bar]:
            continue
        elements = [member[index] for member in members]
        lines = contents[piece.bar].voices.setdefault(voice, [])
        lines.append(Line(event, index, piece, elements, piece.offset))


def _measure(bar: Bar, content: Content, plan: BarPlan) -> etree._Element:
    if isinstance(bar.source, etree._Element):
        measure = deepcopy(bar.source)
        if measure.tag == "part":
            measure.tag = "measure"
            del measure.attrib["id"]
            for name, text in measure_of(bar.source).attrib.items():
                measure.set(name, text)
        if bar.number != (measure.get("number") or ""):
            measure.set("number", bar.number)
        put_in_front(measure, plan)
        return measure
    measure = etree.Element("measure", number=bar.number)
    if bar.implicit:
        measure.set("implicit", "yes")
    for mark in content.marks:
        if mark.kind == "measure" and isinstance(mark.source, etree._Element):
            for name, text in mark.source.attrib.items():
                if name not in ("number", "implicit", "width"):
                    measure.set(name, text)
            break
    measure.extend(write_bar(bar, content, plan))
    return measure


def _indent(measure: etree._Element, level: int) -> None:
    """Lay out a bar written afresh like the rest of a file that is laid out."""
    etree.indent(measure, space="  ", level=level)
    measure.tail = "\n" + "  " * level


def _assemble(
    score: Score, document: Document, measures: Sequence[Sequence[etree._Element]]
) -> etree._ElementTree:
    tree = deepcopy(document.tree)
    root = tree.getroot()
    copies = dict(zip(map(id, document.parts), root.iterchildren("part"), strict=True))
    laid_out = "\n" in (root.text or "")
    wanted = []
    for part, made in zip(score.parts, measures, strict=True):
        element = copies.pop(id(part.source), None)
        if element is None:
            element = etree.Element("part", id=part.id)
        element[:] = []
        for bar, measure in zip(part.bars, made, strict=True):
            if bar.source is None and laid_out:
                _indent(measure, 2)
        element.extend(made)
        wanted.append(element)
    in_place = [part for part in root.iterchildren("part") if part not in copies.values()]
    if in_place != wanted or copies:
        for old in list(root.iterchildren("part")):
            root.remove(old)
        root.extend(wanted)
        _list_parts(root, score)
    return tree


def _list_parts(root: etree._Element, score: Score) -> None:
    """Make the part list name exactly the parts there are."""
    listed = root.find("part-list")
    if listed is None:
        listed = etree.Element("part-list")
        root.insert(max(0, len(root) - len(score.parts)), listed)
    ids = {part.id: part for part in score.parts}
    for element in listed.findall("score-part"):
        if ids.pop(element.get("id", ""), None) is None:
            listed.remove(element)
    for part in ids.values():
        listed.append(_score_part(part))


def _score_part(part: Part) -> etree._Element:
    element = etree.Element("score-part", id=part.id)
    etree.SubElement(element, "part-name").text = part.name
    return element


def _assemble_new(
    score: Score, measures: Sequence[Sequence[etree._Element]]
) -> etree._ElementTree:
    root = etree.Element("score-partwise", version="4.0")
    listed = etree.SubElement(root, "part-list")
    for part, made in zip(score.parts, measures, strict=True):
        listed.append(_score_part(part))
        etree.SubElement(root, "part", id=part.id).extend(made)
    etree.indent(root, space="  ")
    return etree.ElementTree(root)


def _assemble_timewise(
    score: Score, document: Document, measures: Sequence[Sequence[etree._Element]]
) -> etree._ElementTree:
    """Regroup by measure, as the file was."""
    tree = deepcopy(document.tree)
    root = tree.getroot()
    for element in list(root.iterchildren("measure")):
        root.remove(element)
    for index in range(max(len(made) for made in measures)):
        together = etree.SubElement(root, "measure")
        for part, made in zip(score.parts, measures, strict=True):
            if index >= len(made):
                continue
            measure = made[index]
            for name, text in measure.attrib.items():
                if name not in together.attrib:
                    together.set(name, text)
            content = etree.SubElement(together, "part", id=part.id)
            content.extend(list(measure))
        _indent(together, 1)
    _list_parts(root, score)
    return tree


