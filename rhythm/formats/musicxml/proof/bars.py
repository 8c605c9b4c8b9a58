"""Proof of the bars: number, length, the metre in force and where it is shown, what is counted."""

from __future__ import annotations

from lxml import etree

from rhythm.exact.errors import Place, ProofError
from rhythm.exact.values import format_value
from rhythm.formats.musicxml.write.divisions_plan import same_signature
from rhythm.score.model import Bar, Part

__all__ = ["kept", "place_of", "require_same_bars"]


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
