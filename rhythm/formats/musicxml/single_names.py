"""The names of elements: an ``id`` is unique in a file, but where it refers to another element."""

from __future__ import annotations

from collections import Counter
from typing import Any

from lxml import etree

__all__ = ["name_once", "names_twice"]

_NAMING = (
    "/descendant::*[@id][not(self::instrument or self::instrument-link or self::midi-device"
    " or self::midi-instrument or self::part)]"
)
_ELEMENTS = etree.XPath(_NAMING)
_NAMES = etree.XPath(f"{_NAMING}/@id", smart_strings=False)


def names_twice(tree: etree._ElementTree) -> set[str]:
    """The names that more than one element of a document has."""
    names: Any = _NAMES(tree)
    if len(set(names)) == len(names):
        return set()
    return {name for name, times in Counter(names).items() if times > 1}


def name_once(tree: etree._ElementTree) -> None:
    """Take a name off all elements but the first: music that stands twice names them twice."""
    if not names_twice(tree):
        return
    seen: set[str] = set()
    elements: Any = _ELEMENTS(tree)
    for element in elements:
        name = element.get("id")
        if name in seen:
            del element.attrib["id"]
        seen.add(name)
