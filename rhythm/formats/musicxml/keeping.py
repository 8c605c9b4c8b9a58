"""Elements as values: what they say when scores are compared, and their way through ``pickle``.

An element is pickled as its place in its tree, and the tree once, as text: a score that comes back
has the same bars as read, and is written with their bytes. To read a score is to import this; what
it takes to compare is imported when it is asked for.
"""

from __future__ import annotations

import copyreg
from collections.abc import Callable, Hashable
from importlib import import_module
from typing import Any

from lxml import etree

from rhythm.formats.musicxml.document import Document
from rhythm.score.sources import Absorbing, Bare, Crossing, Portion, Turned, said
from rhythm.score.span_edges import SpanEnd, span_ends

__all__ = ["parsed_again"]

_SAYING = "rhythm.formats.musicxml.proof.saying"
_SPANS = "rhythm.formats.musicxml.write.spans"


def _what_it_says(source: object) -> Hashable:
    asked: Callable[[object], Hashable] = import_module(_SAYING).what_it_says
    return asked(source)


for _source in (etree._Element, Absorbing, Bare, Crossing, Portion, Turned, tuple, Document):
    said.register(_source, _what_it_says)


def _span_ends(source: object) -> tuple[SpanEnd, ...]:
    asked: Callable[[object], tuple[SpanEnd, ...]] = import_module(_SPANS).ends_of
    return asked(source)


for _source in (etree._Element, Absorbing, Bare, Crossing, Portion, Turned):
    span_ends.register(_source, _span_ends)


def parsed_again(data: bytes) -> etree._Element:
    """The root of a tree that was pickled as text."""
    parser = etree.XMLParser(resolve_entities=False, no_network=True, load_dtd=False)
    return etree.fromstring(data, parser)


def _child(parent: etree._Element, index: int) -> etree._Element:
    return parent[index]


def _tree(root: etree._Element) -> etree._ElementTree:
    return root.getroottree()


def _reduced(element: etree._Element) -> tuple[Callable[..., object], tuple[object, ...]]:
    parent = element.getparent()
    if parent is None:
        return parsed_again, (etree.tostring(element.getroottree(), encoding="UTF-8"),)
    return _child, (parent, parent.index(element))


def _reduced_tree(
    tree: etree._ElementTree,
) -> tuple[Callable[..., object], tuple[object, ...]]:
    return _tree, (tree.getroot(),)


_kinds: tuple[Any, ...] = (etree._Element, etree._Comment, etree._ProcessingInstruction)
for _kind in _kinds:
    copyreg.pickle(_kind, _reduced)
copyreg.pickle(etree._ElementTree, _reduced_tree)  # type: ignore[arg-type]
