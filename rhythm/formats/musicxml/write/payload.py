"""What a note carries once, however many tied pieces it is written as.

When an event comes out in another number of pieces than it went in, its payload is shared out:
accidentals, articulations, ornaments, dynamics, lyrics, arpeggios and slur starts stay at the
front; slur ends, fermatas, glissando and slide starts, breaths and falls go to the end. Nothing
is dropped (but the extender of a syllable over tied notes that became one): what a later piece
carried goes to the piece at its place in the music, or the nearest
(:mod:`rhythm.formats.musicxml.write.held_pieces`).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from copy import copy

from lxml import etree

from rhythm.formats.musicxml.write import child_order
from rhythm.formats.musicxml.write.child_order import drop
from rhythm.formats.musicxml.write.held_pieces import HeldPiece, first_and_last, piece_read

__all__ = ["absorbed", "attributes_said", "bare", "crossed", "share", "tail_kind", "turned"]

_ONCE = frozenset({"accidental", "footnote", "level", "lyric", "play", "listen"})
_OWNED = frozenset({"tied", "tuplet"})
_CONTAINERS = frozenset({"ornaments", "technical", "articulations"})
_BOTH_ENDS = frozenset({"slur", "wavy-line", "other-notation"})
_FROM_THE_END = frozenset({"glissando", "slide"})
_TURNED = ("slur", "glissando", "slide", "wavy-line", "tremolo")
_AT_THE_END = frozenset({"fermata", "breath-mark", "caesura", "falloff", "doit"})


def tail_kind(element: etree._Element) -> bool:
    """Does this notation belong to the end of the note?"""
    tag = element.tag
    if tag in _BOTH_ENDS:
        return element.get("type") == "stop"
    if tag in _FROM_THE_END:
        return element.get("type") == "start"
    if tag == "lyric":
        return len(element) == 1 and element.find("extend[@type='stop']") is not None
    return tag in _AT_THE_END


def bare(source: etree._Element) -> etree._Element:
    """A copy of a note without anything it carries once."""
    piece = copy(source)
    _take(piece, _all)
    if piece.get("id") is not None:
        del piece.attrib["id"]
    return piece


def crossed(sources: Sequence[etree._Element], ends: Sequence[str]) -> list[etree._Element]:
    """Copies of a note's pieces with the ends of spans that are cut at the edge of a passage.

    What begins does so on the first piece, what ends on the last.
    """
    pieces = [copy(source) for source in sources]
    for end in ends:
        kind, _, text = end.partition(" ")
        item = etree.Element(kind, attributes_said(text))
        path = ("notations", "ornaments") if kind == "wavy-line" else ("notations",)
        _give(pieces[-1 if item.get("type") == "stop" else 0], path, item)
    return pieces


def attributes_said(text: str) -> dict[str, str]:
    """The attributes of a span's end, said as ``type=stop number=1``."""
    return dict(pair.split("=", 1) for pair in text.split())


def turned(sources: Sequence[etree._Element]) -> list[etree._Element]:
    """Copies of a note's pieces whose slurs and slides run backwards: what began there ends there.

    What stood at the first piece stands at the last one, and the other way about.
    """
    pieces = [copy(source) for source in sources]
    spans = [_take(piece, _has_ends) if len(pieces) > 1 else [] for piece in pieces]
    for piece, taken in zip(reversed(pieces), spans, strict=True):
        for path, item in taken:
            _give(piece, path, item)
    for piece in pieces:
        for notations in piece.iterchildren("notations"):
            for each in notations.iter(*_TURNED):
                if _has_ends(each):
                    each.set("type", "stop" if each.get("type") == "start" else "start")
    return pieces


def absorbed(
    sources: Sequence[etree._Element], others: Sequence[etree._Element]
) -> list[etree._Element]:
    """Copies of a note's pieces that took in ``others`` after it: spans end or begin on the last.

    So do fermatas. A span that began on the note and ended on one of the others is gone.
    """
    pieces = [copy(source) for source in sources]
    for other in others:
        for path, item in _take(copy(other), lambda each: _has_ends(each) or each.tag == "fermata"):
            begun = _begun(pieces, item) if item.get("type") == "stop" else None
            if begun is not None:
                drop(begun)
            elif item.tag != "fermata" or pieces[-1].find("notations/fermata") is None:
                _give(pieces[-1], path, item)
    return pieces


def _begun(pieces: Sequence[etree._Element], stop: etree._Element) -> etree._Element | None:
    """The beginning of the span that ``stop`` ends, where it is on these pieces."""
    for piece in pieces:
        for notations in piece.iterchildren("notations"):
            for each in notations.iter(str(stop.tag)):
                if each.get("type") == "start" and each.get("number") == stop.get("number"):
                    return each
    return None


def _has_ends(element: etree._Element) -> bool:
    return element.tag in _TURNED and element.get("type") in ("start", "stop")


def share(sources: Sequence[etree._Element], written: Sequence[HeldPiece]) -> list[etree._Element]:
    """Copies of a note for the pieces it is written as, the payload of ``sources`` shared out.

    What a piece carried stays at its moment of the music: what begins there on the piece that
    begins nearest to it, what ends there on the one that ends nearest.
    """
    count = len(written)
    if count == len(sources) == 1:
        return [copy(sources[0])]
    places = first_and_last([piece_read(source) for source in sources], written)
    if places == [(index, index) for index in range(count)]:
        return [copy(source) for source in sources]
    last = len(sources) - 1
    pieces = [copy(sources[min(index, last)]) for index in range(count)]
    for piece in pieces[1:]:
        _take(piece, _all)
        piece.attrib.pop("id", "")
    if places[0][1]:
        for path, item in _take(pieces[0], tail_kind):
            _give(pieces[places[0][1]], path, item)
    for source, (begins, ends) in zip(sources[1:], places[1:], strict=True):
        for path, item in _take(copy(source), _all):
            at = ends if tail_kind(item) else begins
            if item.tag == "accidental" and not at:
                continue  # it repeats what the first piece says
            _give(pieces[at], path, item)
    for piece in pieces:
        _close_extenders(piece)
    return pieces


def _close_extenders(note: etree._Element) -> None:
    """Drop a lyric's extender that ends on the note it starts on: it held over tied notes."""
    lyrics = note.findall("lyric")
    for end in lyrics:
        if len(end) != 1 or end.find("extend[@type='stop']") is None:
            continue
        for start in lyrics:
            extender = start.find("extend[@type='start']")
            if extender is not None and start.get("number") == end.get("number"):
                start.remove(extender)
                note.remove(end)
                break


def _is_stray(child: etree._Element) -> bool:
    """Is it nothing that a note can have? What it says is not said twice."""
    return isinstance(child.tag, str) and child.tag not in child_order.NOTE


def _all(_: etree._Element) -> bool:
    return True


def _take(
    note: etree._Element, is_wanted: Callable[[etree._Element], bool]
) -> list[tuple[tuple[str, ...], etree._Element]]:
    """Remove from ``note`` the one-time items that are wanted; each with its containers."""
    taken: list[tuple[tuple[str, ...], etree._Element]] = []
    for child in list(note):
        if (child.tag in _ONCE or _is_stray(child)) and is_wanted(child):
            taken.append(((), child))
        elif child.tag == "notations":
            for item in list(child):
                if item.tag in _CONTAINERS:
                    inner = [part for part in item if is_wanted(part)]
                    taken.extend((("notations", item.tag), part) for part in inner)
                    _remove(item, inner)
                    if not len(item):
                        child.remove(item)
                elif item.tag not in _OWNED and is_wanted(item):
                    taken.append((("notations",), item))
                    child.remove(item)
            if not len(child):
                note.remove(child)
    _remove(note, [item for path, item in taken if not path])
    return taken


def _remove(parent: etree._Element, children: Sequence[etree._Element]) -> None:
    for child in children:
        parent.remove(child)


def _give(note: etree._Element, path: tuple[str, ...], item: etree._Element) -> None:
    parent = note
    for tag in path:
        found = parent.find(tag)
        if found is None:
            found = etree.Element(tag)
            if parent is note:
                child_order.insert(note, found, child_order.NOTE)
            else:
                parent.append(found)
        parent = found
    if path:
        if item.tag not in child_order.NOTATIONS_BEFORE:
            parent.append(item)
        elif parent.find(item.tag) is None:
            parent.insert(0, item)
    elif _is_stray(item):
        note.append(item)
    elif item.tag == "lyric" or note.find(item.tag) is None:
        child_order.insert(note, item, child_order.NOTE)
