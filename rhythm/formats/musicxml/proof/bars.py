"""Proof of the bars: number, length, the metre in force and where it is shown, what is counted."""

from __future__ import annotations

from lxml import etree

from rhythm.exact.errors import Place, ProofError
from rhythm.exact.values import format_value
from rhythm.formats.musicxml.proof.keys import Key, key, key_without
from rhythm.formats.musicxml.write.divisions_plan import same_signature
from rhythm.score.model import Bar, Part

__all__ = ["kept", "place_of", "require_same_bars", "require_untouched"]

_PLANNED = frozenset({"divisions", "time"})


def place_of(file: str, part: Part, bar: int = -1, voice: str = "") -> Place:
    """Where in a score something went wrong."""
    number = part.bars[bar].number if 0 <= bar < len(part.bars) else ""
    return Place(file, part.name or part.id, number, voice)


def require_same_bars(file: str, meant: Part, written: Part) -> None:
    """Raise ProofError where the bars of a part are not those that were meant."""
    if len(meant.bars) != len(written.bars):
        raise ProofError("bars were lost or added in writing", place=place_of(file, meant))
    before: Bar | None = None
    for bar, found in zip(meant.bars, written.bars, strict=True):
        problem = _difference(bar, found, before)
        if problem:
            raise ProofError(problem, place=place_of(file, meant, bar.index))
        before = bar


def _difference(bar: Bar, found: Bar, before: Bar | None) -> str:
    if bar.length != found.length:
        return f"the written bar holds {format_value(found.length)}, not {format_value(bar.length)}"
    if bar.start != found.start:
        return f"the written bar begins at {format_value(found.start)}"
    if bar.number != found.number:
        return f"the written bar is numbered {found.number}"
    if bar.implicit != found.implicit:
        return "the written bar is counted where it is not meant to be, or the other way about"
    if bar.metre is None:
        return ""
    if not same_signature(bar.metre, found.metre):
        return f"the written bar stands in {found.metre}, not in {bar.metre}"
    changes = before is None or not same_signature(before.metre, bar.metre)
    if bar.shows_metre and not found.shows_metre:
        return f"the signature {bar.metre} is not shown"
    if found.shows_metre and not (bar.shows_metre or changes):
        return f"the signature {bar.metre} is shown where it is not meant to be"
    return ""


def require_untouched(file: str, meant: Part, written: Part, same: frozenset[int]) -> None:
    """Raise ProofError where a bar that nothing changed says anything else than when it was read.

    It may only say its divisions and signature again, and over how many bars a rest lasts, which
    goes by the bars behind it.
    """
    for bar, found in zip(meant.bars, written.bars, strict=True):
        one, other = bar.source, found.source
        if bar.index in same or not isinstance(one, etree._Element):
            continue
        if not isinstance(other, etree._Element) or _said(one) != _said(other):
            raise ProofError(
                "a bar that nothing changed is not as it was read",
                place=place_of(file, meant, bar.index),
            )


def _said(measure: etree._Element) -> list[Key]:
    found = []
    for child in measure.iterchildren(etree.Element):
        if child.tag == "attributes":
            name, attributes, text, things = key_without(child, _PLANNED, ())
            things = tuple(thing for thing in things if not _counts_rests(thing))
            if attributes or things:
                found.append((name, attributes, text, things))
        else:
            found.append(key(child))
    return found


def _counts_rests(said: Key) -> bool:
    return said[0] == "measure-style" and any(child[0] == "multiple-rest" for child in said[3])


def kept(meant: Part, written: Part) -> frozenset[int]:
    """The bars that stand in the file exactly as they were read: their payload needs no look."""
    return frozenset(
        bar.index
        for bar, found in zip(meant.bars, written.bars, strict=True)
        if bar.source is not None
        and isinstance(bar.source, etree._Element)
        and isinstance(found.source, etree._Element)
        and _text(bar.source) == _text(found.source)
    )


def _text(measure: etree._Element) -> bytes:
    return etree.tostring(measure, with_tail=False)
