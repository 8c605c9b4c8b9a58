"""Keys and clefs that say again what is in force, taken out of music that was put together.

A passage set after a score, or after another passage, opens with the key and clefs it was cut out
under; where they are in force already a reader would take their repetition for a change.
"""

from __future__ import annotations

from collections.abc import Sequence

from lxml import etree

__all__ = ["drop_needless"]

_HELD = frozenset(
    {"clef", "instruments", "key", "part-symbol", "staff-details", "staves", "transpose"}
)
_BY_STAFF = frozenset({"clef", "staff-details"})
_MOVES = frozenset({"backup", "forward", "note"})


def drop_needless(part: etree._Element, fresh: Sequence[bool]) -> None:
    """Remove what bars written afresh (``fresh``, bar by bar) needlessly say at their heads."""
    said: dict[tuple[str, str], str] = {}
    for index, measure in enumerate(part.iterchildren("measure")):
        at_head = index > 0 and fresh[index]
        for child in list(measure):
            if child.tag in _MOVES:
                at_head = False
            elif child.tag == "attributes":
                _compare(child, said, at_head)
                if at_head and not len(child):
                    _take_out(measure, child)


def _compare(attributes: etree._Element, said: dict[tuple[str, str], str], drop: bool) -> None:
    for child in list(attributes):
        if child.tag not in _HELD:
            continue
        tag = str(child.tag)
        staff = child.get("number") or ("1" if tag in _BY_STAFF else "")
        text = _plain(child)
        if drop and said.get((tag, staff)) == text:
            _take_out(attributes, child)
            continue
        if tag == "key" and not staff:
            for known in [key for key in said if key[0] == "key"]:
                del said[known]
        said[tag, staff] = text


def _take_out(parent: etree._Element, child: etree._Element) -> None:
    """Remove a child; where it was the last, the line break behind it closes the parent still."""
    before = child.getprevious()
    if before is not None and child.getnext() is None:
        before.tail = child.tail
    parent.remove(child)


def _plain(element: etree._Element) -> str:
    """What an element says and whether it is seen, whatever its white space and its place."""
    words = [str(element.tag), (element.text or "").strip(), element.get("print-object") or "yes"]
    words += [f"{child.tag}={(child.text or '').strip()}" for child in element.iterdescendants()]
    return "|".join(words)
