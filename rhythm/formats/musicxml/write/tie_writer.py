"""Ties on the way out: between the pieces of an event, and those that lead out of it.

Tied pieces carry both ``tie`` (sound) and ``tied`` (notation), stop before start. What reaches
outside the event stays as the source had it, if it had it.
"""

from __future__ import annotations

from collections.abc import Sequence
from copy import copy

from lxml import etree

from rhythm.formats.musicxml.write import child_order
from rhythm.formats.musicxml.write.child_order import drop, notations_of
from rhythm.score.model import Note

__all__ = ["set_ties", "untie"]


def _outer(source: etree._Element, type: str) -> list[tuple[str, etree._Element]]:
    """The tie and tied elements of one type, as ("tie" or "tied", element)."""
    found = [("tie", tie) for tie in source.iterchildren("tie") if tie.get("type") == type]
    for notations in source.iterchildren("notations"):
        found.extend(
            ("tied", tied) for tied in notations.iterchildren("tied") if tied.get("type") == type
        )
    return found


def untie(note: etree._Element) -> None:
    """Take every tie, and the sign of every tie, off a note that no longer has one."""
    if next(note.iter("tie", "tied"), None) is not None:
        for type in ("stop", "start"):
            for _, element in _outer(note, type):
                drop(element)


def set_ties(
    pieces: Sequence[etree._Element],
    sources: Sequence[etree._Element],
    note: Note,
    *,
    before: bool = False,
    after: bool = False,
) -> None:
    """Ties between the pieces, and at both ends those that lead outside.

    ``before`` and ``after`` say that the event has more pieces there, in bars kept as they were.
    """
    last = len(pieces) - 1
    alone = not (before or after or last)
    if alone and len(sources) == 1 and _plain(sources[0], note):
        return
    same = len(pieces) == len(sources)
    for index, piece in enumerate(pieces):
        for type, inner, end, reaches in (
            ("stop", index > 0 or before, sources[0], note.tie_in),
            ("start", index < last or after, sources[-1], note.tie_out),
        ):
            had = _outer(piece, type)
            if inner and same:
                kept = {kind for kind, _ in had}
                for kind in _kinds(piece):
                    if kind not in kept:
                        _add(piece, kind, etree.Element(kind, type=type))
                continue
            for _, element in had:
                drop(element)
            if inner:
                for kind in _kinds(piece):
                    _add(piece, kind, etree.Element(kind, type=type))
            elif reaches:
                for kind, element in _outer(end, type) or _made(type):
                    if kind in _kinds(piece):
                        _add(piece, kind, copy(element))


def _kinds(note: etree._Element) -> tuple[str, ...]:
    """A cue note is silent: it has the sign of a tie, not its sound."""
    return ("tied",) if note.find("cue") is not None else ("tie", "tied")


def _made(type: str) -> list[tuple[str, etree._Element]]:
    """A tie that no source had: notes are cut at the edge of a passage."""
    return [(kind, etree.Element(kind, type=type)) for kind in ("tie", "tied")]


def _plain(source: etree._Element, note: Note) -> bool:
    """Nothing to do for a single piece whose ties are those of its source."""
    return note.tie_in == bool(_outer(source, "stop")) and note.tie_out == bool(
        _outer(source, "start")
    )


def _add(note: etree._Element, kind: str, element: etree._Element) -> None:
    """Add a tie or tied element, a stop before every start."""
    stops = element.get("type") == "stop"
    if kind == "tie":
        first = note.find("tie")
        if stops and first is not None:
            first.addprevious(element)
        else:
            child_order.insert(note, element, child_order.NOTE)
        return
    notations = notations_of(note)
    at = 0
    for index, child in enumerate(notations):
        if child.tag in child_order.NOTATIONS_BEFORE or (child.tag == "tied" and not stops):
            at = index + 1
    notations.insert(at, element)
