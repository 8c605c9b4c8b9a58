"""Writing ``attributes``: divisions and time are rhythm's, the rest is kept as it was."""

from __future__ import annotations

from collections.abc import Sequence
from copy import copy

from lxml import etree

from rhythm.exact.metre import Metre
from rhythm.formats.musicxml.read.mark_reader import read_metre
from rhythm.formats.musicxml.write import child_order
from rhythm.formats.musicxml.write.divisions_plan import BarPlan, same_signature

__all__ = ["fresh_attributes", "is_left_to_plan", "merged", "put_in_front", "set_attributes"]

_OWNED = ("divisions", "time")
_OF_THE_PLACE = frozenset({"directive", "divisions", "footnote", "level", "measure-style"})
_BY_STAFF = frozenset({"clef", "staff-details"})
_FOR_ALL = frozenset({"key", "time", "transpose"})


def merged(elements: Sequence[etree._Element]) -> etree._Element:
    """What several ``attributes`` say in the end: of each kind, and each staff, the last.

    A key or transposition for all staves replaces those for single ones. What only marks a place
    (slashes, multi-bar rests) is not carried on.
    """
    said: dict[tuple[str, str], etree._Element] = {}
    for element in elements:
        for child in element.iterchildren(etree.Element):
            tag = child.tag
            if tag in _OF_THE_PLACE:
                continue
            staff = child.get("number") or ("" if tag not in _BY_STAFF else "1")
            if tag in _FOR_ALL and not staff:
                said = {key: old for key, old in said.items() if key[0] != tag}
            said[tag, staff] = child
    made = etree.Element("attributes")
    for _, child in sorted(said.items(), key=lambda item: item[0][1]):
        child_order.insert(made, copy(child), child_order.ATTRIBUTES)
    return made


def is_left_to_plan(source: object) -> bool:
    """Whether an ``attributes`` says nothing but divisions and time: the plan's to write."""
    return (
        isinstance(source, etree._Element)
        and source.tag == "attributes"
        and all(child.tag in _OWNED for child in source)
    )


def set_attributes(attributes: etree._Element, plan: BarPlan | None) -> bool:
    """Give a copied ``attributes`` the divisions and signature of ``plan``, or take them away.

    Returns whether anything is left in it.
    """
    old = list(attributes.iterchildren("time"))
    for tag in _OWNED:
        for child in attributes.findall(tag):
            attributes.remove(child)
    if plan is not None:
        if plan.sets_divisions:
            divisions = etree.Element("divisions")
            divisions.text = str(plan.divisions)
            child_order.insert(attributes, divisions, child_order.ATTRIBUTES)
        if plan.time is not None:
            for time in _times(old, plan.time):
                child_order.insert(attributes, time, child_order.ATTRIBUTES)
    return len(attributes) > 0


def fresh_attributes(plan: BarPlan) -> etree._Element | None:
    """New ``attributes`` that say what ``plan`` asks for, None where it asks for nothing."""
    attributes = etree.Element("attributes")
    return attributes if set_attributes(attributes, plan) else None


def put_in_front(measure: etree._Element, plan: BarPlan) -> None:
    """Make a bar kept as it was say the divisions and signature it relies on."""
    if plan.time is None and not plan.sets_divisions:
        return
    made = fresh_attributes(plan)
    if made is None:
        return
    for child in measure:
        if child.tag == "attributes":
            for part in made:
                child_order.insert(child, part, child_order.ATTRIBUTES)
            return
        if child.tag not in ("print", "barline") and isinstance(child.tag, str):
            made.tail = measure.text
            child.addprevious(made)
            return
    measure.append(made)


def _times(old: list[etree._Element], metre: Metre) -> list[etree._Element]:
    """The old signatures if they say this metre; else new ones with the same attributes."""
    if old and any(same_signature(read_metre(time), metre) for time in old):
        return [copy(time) for time in old]
    if not old:
        return [_time(None, metre)]
    return [_time(time, metre) for time in old]


def _time(old: etree._Element | None, metre: Metre) -> etree._Element:
    time = etree.Element("time")
    if old is not None:
        for name, text in old.attrib.items():
            if name != "symbol":
                time.set(name, text)
    if metre.senza:
        etree.SubElement(time, "senza-misura").text = metre.symbol or None
        return time
    if metre.symbol:
        time.set("symbol", metre.symbol)
    for beats, unit in metre.signature:
        etree.SubElement(time, "beats").text = beats
        etree.SubElement(time, "beat-type").text = unit
    if metre.interchangeable:
        other = etree.SubElement(time, "interchangeable")
        if metre.relation:
            etree.SubElement(other, "time-relation").text = metre.relation
        for beats, unit in metre.interchangeable:
            etree.SubElement(other, "beats").text = beats
            etree.SubElement(other, "beat-type").text = unit
    return time
