"""From a :class:`~rhythm.score.model.Score` back to MusicXML.

A bar that has its source and still holds what was read from it is written as it was. A score all of
whose bars do is the document that was read, element for element. Any other bar is written afresh
from its events and marks; what stands outside the bars (titles, credits, the part list) is kept.
"""

from __future__ import annotations

from collections.abc import Sequence
from copy import deepcopy

from lxml import etree

from rhythm.formats.musicxml.document import Document, measure_of
from rhythm.formats.musicxml.titles import read_title, set_title
from rhythm.formats.musicxml.write.accidentals import renew_accidentals
from rhythm.formats.musicxml.write.assembly import Planned, assemble, assemble_new
from rhythm.formats.musicxml.write.bar_content import Content, contents
from rhythm.formats.musicxml.write.changes import as_read, require_spelled
from rhythm.formats.musicxml.write.divisions_plan import plan_part
from rhythm.formats.musicxml.write.tuplet_ends import forget_omissions
from rhythm.score.model import Bar, Piece, Score
from rhythm.score.uncollected import uncollected

__all__ = ["to_bytes", "to_tree"]


def to_bytes(score: Score) -> bytes:
    """The score as a UTF-8 MusicXML file."""
    tree = to_tree(score)
    document = score.source if isinstance(score.source, Document) else None
    alone = document is not None and document.tree.docinfo.standalone
    said = ' standalone="yes"' if alone else ""  # "no" is what a file means that does not say
    data = etree.tostring(tree, xml_declaration=False, encoding="UTF-8")
    return f'<?xml version="1.0" encoding="UTF-8"{said}?>\n'.encode() + data + b"\n"


def to_tree(score: Score) -> etree._ElementTree:
    """The score as a tree of its own; nothing that was read is changed."""
    score = as_read(score)
    require_spelled(score)
    document = score.source if isinstance(score.source, Document) else None
    if document is not None and _untouched(score, document):
        tree = deepcopy(document.tree)
    else:
        with uncollected():
            parts = _planned(score)
            tree = (
                assemble_new(score, parts) if document is None else assemble(score, document, parts)
            )
    if score.title != (read_title(document.tree.getroot()) if document is not None else ""):
        set_title(tree.getroot(), score.title)
    return tree


def _untouched(score: Score, document: Document) -> bool:
    if len(score.parts) != len(document.parts):
        return False
    for part, source in zip(score.parts, document.parts, strict=True):
        if part.source is not source or part.program != source.program or part.name != source.name:
            return False
        if part.id != source.id or len(part.bars) != len(source.measures):
            return False
        for bar, content in zip(part.bars, source.measures, strict=True):
            if bar.source is not content or not _numbered_as(bar, content):
                return False
        if not all(map(_in_same_metre, part.bars, source.reading.bars if source.reading else ())):
            return False
    return True


def _in_same_metre(bar: Bar, old: Bar) -> bool:
    return bar is old or bar.metre == old.metre


def _numbered_as(bar: Bar, content: etree._Element) -> bool:
    measure = measure_of(content)
    return measure.tag == "part" or bar.number == (measure.get("number") or "")


def _planned(score: Score) -> list[Planned]:
    """Every part with what its bars hold and how they are to be written."""
    made: list[Planned] = []
    for part in score.parts:
        held = contents(part)
        if score.relaid or any(map(_is_repitched, held)):
            renew_accidentals(part, held)
        if score.afresh:
            forget_omissions(held)
        pieces: list[Sequence[Piece]] = [
            [line.piece for lines in content.voices.values() for line in lines if line.piece]
            for content in held
        ]
        marks = [content.marks for content in held]
        leader = made[0].plans if made else None
        made.append(Planned(part, held, plan_part(part, pieces, marks, leader)))
    return made


def _is_repitched(content: Content) -> bool:
    return any(line.repitched for lines in content.voices.values() for line in lines)
