"""What a source says besides the rhythm, as a value: two scores are equal where theirs are."""

from __future__ import annotations

from collections.abc import Hashable

from lxml import etree

from rhythm.formats.musicxml.document import Document
from rhythm.formats.musicxml.proof.keys import key_without, payload
from rhythm.formats.musicxml.proof.marks import said_by_mark
from rhythm.formats.musicxml.proof.surroundings import around
from rhythm.formats.musicxml.write.note_sources import elements_of

__all__ = ["what_it_says"]

_OF_A_GRACE = frozenset({"default-x", "id"})


def what_it_says(source: object) -> Hashable:
    """Of a note what it carries, of a mark what it says, of a document what is around its bars.

    A grace note says all it is written as.
    """
    if isinstance(source, Document):
        return frozenset(around(source).items())
    if isinstance(source, etree._Element):
        return _of_element(source)
    if isinstance(source, tuple):
        return tuple(map(what_it_says, source))
    return tuple(map(_of_element, elements_of((source,))))


def _of_element(source: etree._Element) -> Hashable:
    if source.tag != "note":
        return said_by_mark(source)
    if source.find("grace") is not None:
        return key_without(source, (), _OF_A_GRACE)
    return tuple(sorted(payload(source)))
