"""From a parsed MusicXML document to a :class:`~rhythm.score.model.Score`.

Two passes: every part's bars are gathered with positions from the bar's start; then the bars'
lengths are settled from what all parts show, and events, pieces and marks placed on one timeline.

Conventions
-----------
A voice is named by its ``voice`` text. Notes without one make one voice a staff: "1" on the first
staff, "staff 2" on the second. Visible music decides a bar's length; whole-bar rests, hidden
and cue notes only where there is nothing else.
"""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import replace

from gmpy2 import mpq
from lxml import etree

from rhythm.exact.errors import FileError, Place
from rhythm.formats.files import Input, load
from rhythm.formats.musicxml import keeping  # noqa: F401 - compares and pickles what is read
from rhythm.formats.musicxml.document import Document, PartSource, Reading, parse
from rhythm.formats.musicxml.read import tuplet_groups
from rhythm.formats.musicxml.read.bar_lengths import bar_lengths, settle_bar
from rhythm.formats.musicxml.read.bar_reader import Gathered, gather
from rhythm.formats.musicxml.read.note_reader import Written
from rhythm.formats.musicxml.read.second_look import look_again
from rhythm.formats.musicxml.read.tied_notes import VoiceBuilder
from rhythm.formats.musicxml.titles import read_title
from rhythm.score.bar_roles import Role
from rhythm.score.model import Bar, Mark, Part, Remark, Score, Voice
from rhythm.score.uncollected import uncollected

__all__ = ["as_it_was_read", "read", "read_bytes", "read_document"]

_ZERO = mpq(0)


def read(source: Input, name: str = "") -> Score:
    """Read a MusicXML score from a path (``-`` is standard input), bytes or an open file.

    ``name`` is what to call it in messages. Raises :class:`~rhythm.exact.errors.FileError`.
    """
    data, name = load(source, name)
    file = ""
    if isinstance(source, (str, os.PathLike)) and source != "-":
        file = os.path.abspath(source)
    return read_bytes(data, name, file)


def read_bytes(data: bytes, name: str, file: str = "") -> Score:
    """Read the XML of a score that was loaded already, from the file of this absolute path."""
    with uncollected():
        return read_document(parse(data, name, file))


def read_document(document: Document) -> Score:
    """The score that a parsed document holds."""
    gathered: list[list[Gathered]] = []
    for part in document.parts:
        try:
            gathered.append(gather(part, gathered[0] if gathered else None))
        except FileError as error:
            raise error.at(Place(document.name)) from None
    look_again(gathered)
    lengths, found = bar_lengths(gathered)
    starts = [_ZERO]
    for length in lengths:
        starts.append(starts[-1] + length)
    parts = tuple(
        _part(part, bars, starts, lengths, found)
        for part, bars in zip(document.parts, gathered, strict=True)
    )
    sources = tuple(part.source for part in parts if isinstance(part.source, PartSource))
    title = read_title(document.tree.getroot())
    return Score(parts, path=document.name, title=title, source=replace(document, parts=sources))


def as_it_was_read(document: Document) -> Score:
    """The score that a document held when it was read; read again where nobody kept that."""
    parts = []
    for part in document.parts:
        seen = part.reading
        if seen is None:
            return read_document(document)
        parts.append(
            Part(part.id, part.name, seen.bars, seen.voices, seen.marks, part.program, part)
        )
    return Score(tuple(parts), path=document.name, source=document)


def _part(
    part: PartSource,
    bars: Sequence[Gathered],
    starts: Sequence[mpq],
    lengths: Sequence[mpq],
    found: Sequence[Role],
) -> Part:
    builders: dict[str, VoiceBuilder] = {}
    made = []
    marks: list[Mark] = []
    plain: list[object] = []
    _remark_brackets(bars)
    for index, bar in enumerate(bars):
        filled = settle_bar(bar, lengths[index])
        if bar.reached > filled:
            bar.remarks.append(Remark("reached", "", bar.reached))
        if bar.tuplets:
            _bracket(bar)
        for note in bar.notes:
            note.bar = index
            if not note.rich:
                plain.append(note.element)
            if note.members is not None:
                plain += [member.element for member in note.members if not member.rich]
            builder = builders.get(note.voice)
            if builder is None:
                builder = builders[note.voice] = VoiceBuilder()
            builder.add(note, starts[index])
        marks.extend(_marks(bar, index, starts[index]))
        made.append(_bar(bar, index, starts[index], lengths[index], found[index].shift, filled))
    voices = tuple(Voice(name, builder.finish()) for name, builder in builders.items())
    held, said = tuple(made), tuple(marks)
    source = replace(part, reading=Reading.of(held, voices, said, frozenset(plain)))
    return Part(part.id, part.name, held, voices, said, part.program, source)


def _bracket(bar: Gathered) -> None:
    voices: dict[str, list[Written]] = {}
    for note in bar.notes:
        if note.ratio != (1, 1):
            voices.setdefault(note.voice, [])
    if not voices:
        return
    for note in bar.notes:
        if note.voice in voices:
            voices[note.voice].append(note)
    for notes in voices.values():
        tuplet_groups.group(notes, bar.metre)


def _remark_brackets(bars: Sequence[Gathered]) -> None:
    """Remark tuplet marks that lack their other end in the same bar or the next."""
    waiting: dict[str, tuple[Gathered, list[Written]]] = {}
    for bar in bars:
        if not bar.tuplets and not waiting:
            continue
        voices: dict[str, list[Written]] = {voice: [] for voice in waiting}
        for note in bar.notes:
            if note.tuplet_marks:
                voices.setdefault(note.voice, []).append(note)
        for voice, notes in voices.items():
            before, opened = waiting.pop(voice, (bar, []))
            lost, still = tuplet_groups.unmatched(notes, opened)
            for note in lost:
                owner = before if note in opened else bar
                owner.remarks.append(Remark("bracket", voice, note.offset))
            if still:
                waiting[voice] = (bar, still)
    for voice, (bar, still) in waiting.items():
        bar.remarks.extend(Remark("bracket", voice, note.offset) for note in still)


def _marks(bar: Gathered, index: int, start: mpq) -> list[Mark]:
    return [
        Mark(
            start + placed.offset,
            index,
            placed.kind,
            placed.order,
            placed.stream or "",
            placed.sign.staff,
            placed.reach,
            placed.length,
            placed.sign.metronome,
            placed.sign.tempo,
            placed.sign.transpose,
            _contents(placed.element) if placed.kind == "attributes" else "",
            placed.element,
        )
        for placed in bar.signs
    ]


def _contents(element: etree._Element) -> str:
    """The names of what an ``attributes`` element says."""
    return " ".join(str(child.tag) for child in element.iterchildren(etree.Element))


def _bar(bar: Gathered, index: int, start: mpq, length: mpq, shift: mpq, filled: mpq) -> Bar:
    divisions = bar.divisions
    whole = divisions is not None and divisions.denominator == 1
    return Bar(
        index,
        bar.number,
        start,
        length,
        bar.metre,
        bar.shows_metre,
        bar.implicit,
        shift,
        filled,
        bar.left,
        bar.right,
        int(divisions.numerator) if divisions is not None and whole else None,
        tuple(bar.remarks),
        bar.grain if bar.divisions is not None and (bar.guessed or bar.remarks) else None,
        bar.source,
    )
