"""What an element says, as a value that can be compared: its name, attributes, text and children.

White space between elements, comments and the names that elements are referred to by (``id``) say
nothing. Elements of a note or mark that rhythm owns are compared by their meaning elsewhere and
left out here.
"""

from __future__ import annotations

from collections.abc import Container

from lxml import etree

__all__ = ["Key", "carry_alike", "key", "key_without", "payload"]

Key = tuple[str, tuple[tuple[str, str], ...], str, tuple["Key", ...]]

_NOTHING: frozenset[str] = frozenset()
_OWNED = frozenset({
    "beam", "chord", "cue", "dot", "duration", "grace", "pitch", "staff", "stem", "tie",
    "time-modification", "type", "voice",
})  # fmt: skip
_CONTAINERS = frozenset({"articulations", "ornaments", "technical"})
_TIED = frozenset({"tied", "tuplet"})
_NOTE_OWNED = frozenset({"attack", "default-x", "id", "print-object", "release"})


def key(element: etree._Element) -> Key:
    """What an element says, all of it."""
    return key_without(element, _NOTHING, _NOTHING)


def key_without(
    element: etree._Element, tags: Container[object], attributes: Container[str]
) -> Key:
    """What an element says, children with these ``tags`` and these ``attributes`` left out."""
    attrib = element.attrib
    said = (
        tuple(
            sorted(
                (str(name), str(text))
                for name, text in attrib.items()
                if name != "id" and name not in attributes
            )
        )
        if attrib
        else ()
    )
    children = (
        tuple(
            key_without(child, tags, attributes)
            for child in element
            if isinstance(child.tag, str) and child.tag not in tags
        )
        if len(element)
        else ()
    )
    return str(element.tag), said, (element.text or "").strip(), children


def payload(note: etree._Element) -> list[Key]:
    """Everything a ``note`` carries that rhythm does not own, each thing as a key.

    What stands in a container (articulations, ornaments, technical) counts by itself.
    """
    found: list[Key] = []
    for name, text in note.attrib.items():
        if name not in _NOTE_OWNED:
            found.append(("@" + str(name), (), str(text), ()))
    for child in note:
        tag = child.tag
        if tag in _OWNED:
            continue
        if tag == "notations":
            _notations(child, found)
        elif tag == "rest":
            if len(child):
                found.append(key_without(child, _NOTHING, ("measure",)))
        elif isinstance(tag, str):
            found.append(key(child))
    return found


def carry_alike(note: etree._Element, other: etree._Element) -> bool:
    """Do two notes carry the same, word for word? Where they do, so do their payloads.

    A quick look that settles most notes: False says that it takes a closer one.
    """
    if _attributes(note) != _attributes(other):
        return False
    mine, theirs = _carried(note), _carried(other)
    return len(mine) == len(theirs) and all(map(_same_words, mine, theirs))


def _attributes(note: etree._Element) -> list[tuple[object, object]]:
    return [each for each in note.items() if each[0] not in _NOTE_OWNED]


def _carried(note: etree._Element) -> list[etree._Element]:
    """The elements of a note that rhythm does not own."""
    found: list[etree._Element] = []
    for child in note:
        tag = child.tag
        if tag == "notations":
            found += [item for item in child if item.tag not in _TIED]
        elif tag not in _OWNED:
            found.append(child)
    return found


def _same_words(one: etree._Element, other: etree._Element) -> bool:
    return etree.tostring(one, with_tail=False) == etree.tostring(other, with_tail=False)


def _notations(notations: etree._Element, found: list[Key]) -> None:
    for item in notations:
        tag = item.tag
        if tag in _CONTAINERS:
            found.extend((f"{tag}/{part.tag}", *key(part)[1:]) for part in _elements(item))
        elif tag not in _TIED and isinstance(tag, str):
            found.append(key(item))


def _elements(parent: etree._Element) -> list[etree._Element]:
    return [child for child in parent if isinstance(child.tag, str)]
