"""Elements as values: what they say when scores are compared, and their way through ``pickle``.

An element is pickled as its place in its tree, and the tree once, as text: a score that comes back
has the same bars as read, and is written with their bytes. To read a score is to import this; what
it takes to compare is imported when it is asked for.
"""

from __future__ import annotations

import copyreg
from collections.abc import Callable, Hashable
from typing import Any

from lxml import etree

from rhythm.formats.musicxml.document import Document
from rhythm.score.sources import Absorbing, Bare, Portion, Turned, said

__all__: list[str] = []


@said.register
def _of_element(source: etree._Element) -> Hashable:
    """What a note carries, or a mark says; a grace note says all it is written as."""
    from rhythm.formats.musicxml.proof.keys import key_without, payload
    from rhythm.formats.musicxml.proof.marks import said_by_mark

    if source.tag != "note":
        return said_by_mark(source)
    if source.find("grace") is not None:
        return key_without(source, (), frozenset({"default-x", "id"}))
    return tuple(sorted(payload(source)))


@said.register(Absorbing)
@said.register(Bare)
@said.register(Portion)
@said.register(Turned)
def _of_made(source: object) -> Hashable:
    from rhythm.formats.musicxml.write.note_sources import elements_of

    return tuple(map(_of_element, elements_of((source,))))


@said.register
def _of_several(source: tuple) -> Hashable:  # type: ignore[type-arg]
    return tuple(map(said, source))


@said.register
def _of_document(source: Document) -> Hashable:
    from rhythm.formats.musicxml.proof.surroundings import around

    return frozenset(around(source).items())


def _root(data: bytes) -> etree._Element:
    parser = etree.XMLParser(resolve_entities=False, no_network=True, load_dtd=False)
    return etree.fromstring(data, parser)


def _child(parent: etree._Element, index: int) -> etree._Element:
    return parent[index]


def _tree(root: etree._Element) -> etree._ElementTree:
    return root.getroottree()


def _reduced(element: etree._Element) -> tuple[Callable[..., object], tuple[object, ...]]:
    parent = element.getparent()
    if parent is None:
        return _root, (etree.tostring(element.getroottree(), encoding="UTF-8"),)
    return _child, (parent, parent.index(element))


def _reduced_tree(
    tree: etree._ElementTree,
) -> tuple[Callable[..., object], tuple[object, ...]]:
    return _tree, (tree.getroot(),)


_kinds: tuple[Any, ...] = (etree._Element, etree._Comment, etree._ProcessingInstruction)
for _kind in _kinds:
    copyreg.pickle(_kind, _reduced)
copyreg.pickle(etree._ElementTree, _reduced_tree)  # type: ignore[arg-type]
