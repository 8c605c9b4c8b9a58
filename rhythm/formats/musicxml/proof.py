"""The proof that every written file has to pass before it takes its place.

What is about to be written is read back as any other program would read it: every bar must be as
long as was meant, every event of every voice must stand where it was sent with the pitches it had,
and nothing the score carries may be missing from the page. A failure is a defect of this library.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from typing import NamedTuple

from gmpy2 import mpq
from lxml import etree

from rhythm.exact.errors import Place, ProofError
from rhythm.exact.values import format_value
from rhythm.formats.musicxml.census import count, count_into, skim
from rhythm.formats.musicxml.document import Document, parse
from rhythm.formats.musicxml.read.score_reader import read_document
from rhythm.formats.musicxml.write.note_sources import elements_of
from rhythm.formats.musicxml.write.payload import share
from rhythm.score.model import Event, Note, Part, Score
from rhythm.score.uncollected import uncollected

__all__ = ["prove"]


def prove(score: Score, data: bytes) -> None:
    """Raise :class:`ProofError` where ``data`` does not say exactly what ``score`` does."""
    with uncollected():
        document = parse(data, score.path or "the written score")
        _compare(score, read_document(document))
        if not score.excerpt and not _all_there(score, data):
            _nothing_lost(score, document)


def _compare(score: Score, again: Score) -> None:
    """The bars and events of the score against those that were read back."""
    if len(score.parts) != len(again.parts):
        raise ProofError("the written score has another number of parts")
    for part, other in zip(score.parts, again.parts, strict=True):
        _same_bars(score, part, other)
        _same_events(score, part, other)


def _place(score: Score, part: Part, bar: int = -1, voice: str = "") -> Place:
    number = part.bars[bar].number if 0 <= bar < len(part.bars) else ""
    return Place(score.path, part.name or part.id, number, voice)


def _same_bars(score: Score, part: Part, other: Part) -> None:
    if len(part.bars) != len(other.bars):
        raise ProofError("bars were lost or added in writing", place=_place(score, part))
    for bar, written in zip(part.bars, other.bars, strict=True):
        if bar.length != written.length:
            raise ProofError(
                f"the written bar holds {format_value(written.length)}, "
                f"not {format_value(bar.length)}",
                place=_place(score, part, bar.index),
            )


class _Fact(NamedTuple):
    """What must be the same of an event on paper and in mind."""

    onset: mpq
    duration: mpq
    bar: int
    sound: object
    graces: int
    hidden: bool
    cue: bool


def _fact(event: Event) -> _Fact:
    return _Fact(
        event.onset,
        event.duration,
        event.bar,
        "rest" if event.is_rest else event.pitches or "unpitched",
        len(event.graces) + len(event.after),
        event.hidden,
        event.cue,
    )


def _order(fact: _Fact) -> tuple[mpq, mpq, str]:
    return (fact.onset, fact.duration, str(fact.sound))


def _agree(event: Event, other: Event) -> bool:
    """Do two events agree in every fact? Most do, and it is quicker to ask than to list them."""
    return (
        event.onset == other.onset
        and event.duration == other.duration
        and event.bar == other.bar
        and event.hidden == other.hidden
        and event.cue == other.cue
        and event.is_rest == other.is_rest
        and event.pitches == other.pitches
        and len(event.graces) + len(event.after) == len(other.graces) + len(other.after)
    )


def _same_events(score: Score, part: Part, other: Part) -> None:
    written = {voice.name: voice.events for voice in other.voices}
    for voice in part.voices:
        theirs = written.get(voice.name, ())
        if len(theirs) == len(voice.events) and all(map(_agree, voice.events, theirs)):
            continue
        mine = list(map(_fact, voice.events))
        read = list(map(_fact, theirs))
        mine.sort(key=_order)
        read.sort(key=_order)
        for i, fact in enumerate(mine):
            if i >= len(read) or fact != read[i]:
                at = format_value(fact.onset - part.bars[fact.bar].start)
                raise ProofError(
                    f"what stands at {at} of the bar is not what was meant",
                    place=_place(score, part, fact.bar, voice.name),
                )
        if len(read) > len(mine):
            raise ProofError(
                "the written voice has more in it than was meant",
                place=_place(score, part, voice=voice.name),
            )


def _all_there(score: Score, data: bytes) -> bool:
    """Does the file hold at least as much of everything as the file that was read?

    Most scores keep all they came with, so the whole files are compared first, by their text.
    """
    if not isinstance(score.source, Document):
        return False
    were = skim(etree.tostring(score.source.tree, encoding="UTF-8"))
    now = skim(data)
    return all(now[tag] >= times for tag, times in were.items())


def _nothing_lost(score: Score, document: Document) -> None:
    expected: Counter[str] = Counter()
    for element in _payload(score):
        count_into(expected, element)
    found = count(document.tree)
    for tag, times in expected.items():
        if found[tag] < times:
            raise ProofError(
                f"{times - found[tag]} of {times} {tag!r} elements were lost in writing",
                place=Place(score.path),
            )


def _payload(score: Score) -> Iterator[etree._Element]:
    """Every element the score carries: titles and part list, marks, notes, grace notes."""
    if isinstance(score.source, Document):
        for child in score.source.tree.getroot().iterchildren(etree.Element):
            if child.tag not in ("part", "measure"):
                yield child
    for part in score.parts:
        for mark in part.marks:
            if isinstance(mark.source, etree._Element) and mark.kind != "measure":
                yield mark.source
        for voice in part.voices:
            for event in voice.events:
                carried = [source for note in event.notes for source in _carried(note, event)]
                for source in (*event.graces, *carried, *event.after):
                    if isinstance(source, etree._Element):
                        yield source


def _carried(note: Note, event: Event) -> Sequence[object]:
    """What a note of an event has to bring along: what it was read from, as it is shared out."""
    sources = elements_of(note.sources)
    count = max(1, len(event.pieces))
    if len(sources) <= count or not any(each.find("lyric/extend") is not None for each in sources):
        return sources
    return share(sources, count)
