"""Proof of what stands around the bars: titles, credits, the part list; and of the raw tree."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection

from lxml import etree

from rhythm.exact.errors import Place, ProofError
from rhythm.formats.musicxml.document import Document
from rhythm.formats.musicxml.proof.bars import place_of
from rhythm.formats.musicxml.proof.keys import Key, key, key_without
from rhythm.formats.musicxml.single_names import names_twice
from rhythm.formats.musicxml.titles import read_title
from rhythm.score.model import Part, Score

__all__ = ["around", "require_all_notes", "require_single_names", "require_surroundings"]

_BARS = ("measure", "part")
_TITLES = ("movement-title", "work-title", "credit-words")
_SEEN = etree.XPath("string(count(/descendant::note[not(rest and @print-object='no')]))")


def require_surroundings(meant: Score, written: Score) -> None:
    """Raise ProofError where a title, a credit or an entry of the part list is not as meant."""
    for part, found in zip(meant.parts, written.parts, strict=True):
        if (part.id, part.name, part.program) != (found.id, found.name, found.program):
            raise ProofError("the part is listed otherwise", place=place_of(meant.path, part))
    if written.title != " ".join(meant.title.split()):
        raise ProofError("the title is another in the file", place=Place(meant.path))
    if not isinstance(meant.source, Document) or not isinstance(written.source, Document):
        return
    kept = {part.id for part in meant.parts}
    gone = {part.id for part in meant.source.parts} - kept
    renamed = _renamed(meant)
    titled = meant.title != read_title(meant.source.tree.getroot())
    lost = around(meant.source, titled=titled, aside=gone | renamed) - around(
        written.source, titled=titled, aside=renamed
    )
    if lost:
        raise ProofError(f"the {min(lost)[0]} is missing or changed", place=Place(meant.path))


def _renamed(meant: Score) -> set[str]:
    assert isinstance(meant.source, Document)
    were = {part.id: part for part in meant.source.parts}
    return {
        part.id
        for part in meant.parts
        if part.id in were
        and (part.name, part.program) != (were[part.id].name, were[part.id].program)
    }


def around(
    document: Document, *, titled: bool = False, aside: Collection[str] = ()
) -> Counter[Key]:
    """What stands around the bars, without the parts ``aside``, and titles if ``titled`` anew."""
    found: Counter[Key] = Counter()
    left_out = _TITLES if titled else ()
    for child in document.tree.getroot().iterchildren(etree.Element):
        if child.tag in _BARS:
            continue
        if child.tag == "part-list":
            for listed in child.iterchildren(etree.Element):
                if listed.tag == "score-part" and listed.get("id") in aside:
                    continue
                found[key(listed)] += 1
        elif child.tag not in left_out:
            said = key_without(child, left_out, ())
            if not (titled and child.tag in ("work", "credit") and not _holds_more(said)):
                found[said] += 1
    return found


def _holds_more(said: Key) -> bool:
    """Is there anything left in a ``work`` or ``credit`` without its title?"""
    return any(child[0] != "credit-type" for child in said[3])


def require_all_notes(written: Score, file: str) -> None:
    """Raise ProofError where the file has notes that a reader of its bars does not see.

    A hidden rest is nothing that could be lost, nor is one that the reader remarked is not seen.
    """
    assert isinstance(written.source, Document)
    there = int(str(_SEEN(written.source.tree)))
    seen = sum(map(_notes, written.parts))
    if there != seen:
        raise ProofError(f"the file has {there} notes, of which {seen} are read", place=Place(file))


def _notes(part: Part) -> int:
    found = sum(
        remark.kind == "odd" and not remark.written for bar in part.bars for remark in bar.remarks
    )
    for voice in part.voices:
        for event in voice.events:
            if not (event.hidden and event.is_rest):
                found += sum(len(note.sources) for note in event.notes)
            found += len(event.graces) + len(event.after)
    return found


def require_single_names(meant: Score, written: Score) -> None:
    """Raise ProofError where two elements have one id, unless they had it in the source."""
    assert isinstance(written.source, Document)
    twice = names_twice(written.source.tree)
    if twice and isinstance(meant.source, Document):
        twice -= names_twice(meant.source.tree)
    if twice:
        raise ProofError(f"the id {min(twice)} names two elements", place=Place(meant.path))
