"""Slurs, hairpins and other spans that lost an end, taken out of music that was cut or reordered.

An excerpt may hold the end of a slur without its beginning, and a retrograde brings the end before
the beginning. No reader can draw either. A span here is what has a start and a stop: slurs, wedges,
octave shifts, dashes, brackets, pedals, glissandos, slides and wavy lines, told apart by their
number and by the voice (or, for directions, the staff) they stand in; what finds no partner there
may have it in another voice. A stop belongs to the latest start that has none.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import NamedTuple

from gmpy2 import mpq
from lxml import etree

from rhythm.formats.musicxml.read.note_reader import decimal
from rhythm.formats.musicxml.write.note_sources import elements_of
from rhythm.score.span_edges import SpanEnd

__all__ = ["IN_DIRECTIONS", "ON_NOTES", "End", "drop_loose_ends", "ends_of", "loose"]

ON_NOTES = frozenset({"glissando", "slide", "slur", "wavy-line"})
IN_DIRECTIONS = frozenset({"bracket", "dashes", "octave-shift", "pedal", "wedge"})
_STARTS = frozenset({"start", "crescendo", "diminuendo", "up", "down", "sostenuto"})


class End(NamedTuple):
    """An end of a span: where it stands, its place in the order of the file, its name, number and
    home, and the element that says it.
    """

    bar: int
    tick: mpq
    order: int
    key: tuple[str, str, str]
    starts: bool
    element: etree._Element | None = None


_LOOKS = ("type", "number", "size", "line", "sign", "line-end", "line-type", "placement", "spread")


def ends_of(source: object) -> tuple[SpanEnd, ...]:
    """The ends of spans in what a note or a mark was read from, in order."""
    elements = [source] if isinstance(source, etree._Element) else elements_of((source,))
    found: list[SpanEnd] = []
    for element in elements:
        if element.tag == "note":
            boxes, names = element.iterchildren("notations"), ON_NOTES
        elif element.tag == "direction":
            boxes, names = element.iterchildren("direction-type"), IN_DIRECTIONS
        else:
            continue
        for each in (each for box in boxes for each in box.iter(etree.Element)):
            type = each.get("type") or ""
            if each.tag in names and (type in _STARTS or type == "stop"):
                look = " ".join(
                    f"{name}={value}"
                    for name in _LOOKS
                    if (value := each.get(name)) and " " not in value
                )
                number = each.get("number") or "1"
                found.append(SpanEnd(str(each.tag), number, type != "stop", look))
    return tuple(found)


def drop_loose_ends(part: etree._Element, fresh: Sequence[bool]) -> None:
    """Remove every start that no stop follows, every stop that no start precedes.

    Only bars written afresh (``fresh``, bar by bar) are touched: the others are as they were read.
    """
    for end in loose(_ends(part)):
        if fresh[end.bar] and end.element is not None:
            _drop(end.element)


def loose(ends: Iterable[End]) -> list[End]:
    """The ends that have no partner, in order."""
    in_order = sorted(ends, key=lambda end: end[:3])
    left = _unmatched(in_order, lambda end: end.key)
    return _unmatched(left, lambda end: end.key[:2])


def _unmatched(ends: Sequence[End], key_of: Callable[[End], tuple[str, ...]]) -> list[End]:
    """The ends without a partner among those with the same key, in order."""
    waiting: dict[tuple[str, ...], list[End]] = {}
    matched: set[int] = set()
    for end in ends:
        open_ = waiting.setdefault(key_of(end), [])
        if end.starts:
            open_.append(end)
        elif open_:
            matched |= {open_.pop().order, end.order}
    return [end for end in ends if end.order not in matched]


def _ends(part: etree._Element) -> Iterator[End]:
    order = 0
    for bar, measure in enumerate(part):
        tick = onset = mpq(0)
        for child in measure:
            if child.tag == "backup" or child.tag == "forward":
                length = _ticks(child)
                tick += -length if child.tag == "backup" else length
                continue
            if child.tag == "note":
                if child.find("chord") is None:
                    onset = tick
                    tick += _ticks(child)
                inside = child.iterchildren("notations")
                names, at, home = ON_NOTES, onset, child.findtext("voice") or ""
            elif child.tag == "direction":
                inside = child.iterchildren("direction-type")
                names, at, home = IN_DIRECTIONS, tick, child.findtext("staff") or ""
            else:
                continue
            for element in (
                each for box in inside for each in box.iter(etree.Element) if each.tag in names
            ):
                order += 1
                type = element.get("type") or ""
                if type in _STARTS or type == "stop":
                    key = (str(element.tag), element.get("number") or "1", home)
                    yield End(bar, at, order, key, type != "stop", element)


def _ticks(element: etree._Element) -> mpq:
    return decimal(element.findtext("duration") or "") or mpq(0)


def _drop(element: etree._Element) -> None:
    """Remove an element and whatever is left empty around it, up to the note or the bar."""
    parent = element.getparent()
    while parent is not None:
        parent.remove(element)
        element, parent = parent, parent.getparent()
        if element.tag in ("note", "measure", "part"):
            return
        if element.tag == "direction":
            if element.find("direction-type") is not None:
                return
        elif len(element):
            return
