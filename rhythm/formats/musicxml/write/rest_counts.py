"""Rests over several bars, counted anew where bars were written afresh.

One sign stands for so many silent bars. Where the bar lines have moved it stands for another number
of them, and where a signature, a repeat or a letter has come to stand among them, for fewer: then
those behind it get a sign of their own. A sign that one bar would be left to goes
(Gould, Behind Bars, on multi-bar rests: from memory).
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from copy import deepcopy

from lxml import etree

from rhythm.formats.musicxml.write import child_order
from rhythm.formats.musicxml.write.child_order import drop

__all__ = ["count_rests_anew", "is_rest_count", "miscounted"]


def is_rest_count(element: etree._Element) -> bool:
    """Is this the ``measure-style`` of a rest over several bars?"""
    return element.tag == "measure-style" and element.find("multiple-rest") is not None


def count_rests_anew(bars: Sequence[etree._Element], fresh: Sequence[bool], *, moved: bool) -> None:
    """Make every sign over a bar written afresh stand for the silent bars that follow.

    ``bars`` are what a part's bars hold; ``moved`` says that there are more or fewer than there
    were.
    """
    signs: list[tuple[int, etree._Element]] = []
    for index, bar in enumerate(bars):
        signs += [(index, style) for style in bar.iter("measure-style") if is_rest_count(style)]
    starts = {index for index, _ in signs}
    for index, style in signs:
        count = _count(style)
        if not count or not any(fresh[index : index + count]):
            continue
        first = index if _is_silent(bars[index]) else index + 1
        last = len(bars) if moved else index + count
        runs = _runs(bars, first, last, starts - {index})
        if runs == [(index, count)]:
            continue
        for at, length in runs:
            made = deepcopy(style)
            for rest in made.iterchildren("multiple-rest"):
                rest.text = str(length)
            _put(bars[at], made)
        _take_out(style)


def miscounted(bars: Sequence[etree._Element], kept: Collection[int]) -> int | None:
    """The first bar but those ``kept`` whose sign stands for other bars than rest there."""
    for index, bar in enumerate(bars):
        for style in bar.iter("measure-style") if index not in kept else ():
            if is_rest_count(style):
                count = _count(style)
                rests = _runs(bars, index, index + count, set()) == [(index, count)]
                if count and not (rests or (count == 1 and _is_silent(bars[index]))):
                    return index
    return None


def _count(style: etree._Element) -> int:
    told = (style.findtext("multiple-rest") or "").strip()
    return int(told) if told.isdecimal() and len(told) < 5 else 0


def _take_out(style: etree._Element) -> None:
    attributes = style.getparent()
    drop(style)
    if attributes is not None and not len(attributes):
        drop(attributes)


def _runs(
    bars: Sequence[etree._Element], first: int, last: int, others: Collection[int]
) -> list[tuple[int, int]]:
    """The stretches of two and more silent bars that nothing parts, from one sign to the next."""
    found: list[tuple[int, int]] = []
    at = first
    last = min(last, len(bars))
    while at < last and _is_silent(bars[at]) and at not in others:
        end = at + 1
        while end < last and _is_silent(bars[end]) and end not in others:
            if _is_parted(bars[end - 1], bars[end]):
                break
            end += 1
        if end - at > 1:
            found.append((at, end - at))
        at = end
    return found


def _is_silent(bar: etree._Element) -> bool:
    return all(note.find("rest") is not None for note in bar.iterchildren("note"))


def _is_parted(before: etree._Element, bar: etree._Element) -> bool:
    """Does something stand between these bars that a reader must see?"""
    inside = ("attributes/time", "attributes/key", "direction/direction-type/rehearsal")
    if any(bar.find(path) is not None for path in inside):
        return True
    for side, measure in (("right", before), ("left", bar)):
        for line in measure.iterchildren("barline"):
            if (line.get("location") or "right") == side and len(line):
                return True
    return False


def _put(bar: etree._Element, style: etree._Element) -> None:
    """Put a sign at the head of a bar, in the attributes there or in some of its own."""
    at = 0
    while at < len(bar) and bar[at].tag in ("print", "barline", "attributes"):
        at += 1
    if at and bar[at - 1].tag == "attributes":
        head = bar[at - 1]
    else:
        head = etree.Element("attributes")
        bar.insert(at, head)
    child_order.insert(head, style, child_order.ATTRIBUTES)
