"""Small helpers for the readers that hand music on as MusicXML."""

from __future__ import annotations

from collections.abc import Sequence

from lxml import etree

__all__ = ["Element", "add", "beam_words", "direction"]

Element = etree._Element
_LEVELS = {"eighth": 1, "16th": 2, "32nd": 3, "64th": 4, "128th": 5, "256th": 6}


def add(parent: Element, tag: str, text: str = "", **attributes: str) -> Element:
    """A new last child of ``parent``; underscores in attributes stand for hyphens."""
    element = etree.SubElement(parent, tag)
    if text:
        element.text = "".join(each for each in text if each >= " ")
    for name, value in attributes.items():
        element.set(name.rstrip("_").replace("_", "-"), value)
    return element


def direction(measure: Element, staff: str = "", placement: str = "above") -> Element:
    """A new direction at the end of ``measure``; its direction-type, to be filled."""
    made = add(measure, "direction", placement=placement)
    inner = add(made, "direction-type")
    if staff:
        add(made, "staff", staff)
    return inner


def beam_words(types: Sequence[str]) -> list[tuple[str, ...]]:
    """The beams of a group of notes of these types (MusicXML's names), level by level."""
    levels = [_LEVELS.get(type, 0) for type in types]
    found = []
    for place, own in enumerate(levels):
        words = []
        for level in range(1, own + 1):
            before = place > 0 and levels[place - 1] >= level
            after = place + 1 < len(levels) and levels[place + 1] >= level
            lone = "backward hook" if place else "forward hook"
            words.append(
                "continue" if before and after else "end" if before else "begin" if after else lone
            )
        found.append(tuple(words))
    return found
