"""What stands in a bar that is to be written afresh, gathered from the events of a part."""

from __future__ import annotations

from copy import copy
from dataclasses import dataclass, field

from gmpy2 import mpq
from lxml import etree

from rhythm.formats.musicxml.write.attributes_writer import is_left_to_plan
from rhythm.formats.musicxml.write.mark_writer import bar_line, bar_line_side
from rhythm.formats.musicxml.write.note_edits import amend, notes_read
from rhythm.formats.musicxml.write.note_writer import make_pieces, make_some_pieces
from rhythm.score.model import Bar, Event, Mark, Note, Part, Piece

__all__ = ["Content", "Line", "contents"]


@dataclass(slots=True)
class Line:
    """One written symbol in one voice of the bar: its event, piece, and ``note`` elements.

    ``piece`` is None for grace notes that stand alone; ``index`` is the piece's place in its event;
    ``stems`` are found when the notes are written. ``repitched`` says that a note has another pitch
    than what it was read from.
    """

    event: Event
    index: int
    piece: Piece | None
    elements: list[etree._Element]
    offset: mpq
    stems: list[etree._Element] = field(default_factory=list)
    repitched: bool = False


@dataclass(slots=True)
class Content:
    """What a bar of one part holds: lines by voice in the part's order, and marks."""

    voices: dict[str, list[Line]] = field(default_factory=dict)
    marks: list[Mark] = field(default_factory=list)

    def add(self, voice: str, line: Line) -> None:
        """The next symbol of a voice."""
        lines = self.voices.get(voice)
        if lines is None:
            self.voices[voice] = [line]
        else:
            lines.append(line)


def contents(part: Part) -> list[Content]:
    """What the bars to be written afresh hold; nothing for those written as they were."""
    found = [Content() for _ in part.bars]
    fresh = [bar.source is None for bar in part.bars]
    known = notes_read(part)
    for voice in part.voices:
        name = voice.name
        for event in voice.events:
            pieces = event.pieces
            if len(pieces) == 1:
                piece = pieces[0]
                if fresh[piece.bar]:
                    elements = [_single(event, note, name) for note in event.notes]
                    line = Line(event, 0, piece, elements, piece.offset)
                    line.repitched = bool(elements) and amend(event, name, elements, known)
                    found[piece.bar].add(name, line)
            elif pieces:
                if any(fresh[piece.bar] for piece in pieces):
                    _add_pieces(found, part, name, event, known)
            elif fresh[event.bar]:
                offset = event.onset - part.bars[event.bar].start
                found[event.bar].add(name, Line(event, 0, None, [], offset))
    for mark in part.marks:
        if fresh[mark.bar] and not _says_nothing(mark, part.bars[mark.bar]):
            found[mark.bar].marks.append(mark)
    for bar in part.bars:
        if fresh[bar.index] and (bar.left or bar.right):
            _draw_bar_lines(bar, found[bar.index].marks)
    return found


def _draw_bar_lines(bar: Bar, marks: list[Mark]) -> None:
    """Add the bar lines that the bar itself names and no mark draws."""
    drawn = {bar_line_side(mark) for mark in marks}
    for side, said, onset in (("left", bar.left, bar.start), ("right", bar.right, bar.end)):
        if said is not None and side not in drawn:
            marks.append(Mark(onset, bar.index, "barline", source=bar_line(said, side)))


def _says_nothing(mark: Mark, bar: Bar) -> bool:
    """A signature or divisions that an old bar began with, where no bar begins any more."""
    inside = mark.onset > bar.start or bool(mark.stream)
    return inside and mark.kind == "attributes" and is_left_to_plan(mark.source)


def _single(event: Event, note: Note, voice: str) -> etree._Element:
    """One member of an event of one piece: mostly a plain copy."""
    if len(note.sources) == 1 and not (note.tie_in or note.tie_out or event.additions):
        source = note.sources[0]
        if isinstance(source, etree._Element):
            return copy(source)
    return make_pieces(event, note, voice)[0]


def _add_pieces(
    found: list[Content], part: Part, voice: str, event: Event, known: frozenset[int]
) -> None:
    """The pieces of an event that stand in bars to be written afresh."""
    bars, pieces = part.bars, event.pieces
    wanted = [index for index, piece in enumerate(pieces) if bars[piece.bar].source is None]
    if len(wanted) == len(pieces) or not all(note.sources for note in event.notes):
        whole = [make_pieces(event, note, voice) for note in event.notes]
        members = [[member[index] for index in wanted] for member in whole]
    else:
        kept = {id(bars[piece.bar].source) for piece in pieces}
        members = [make_some_pieces(event, note, wanted, kept) for note in event.notes]
    for place, index in enumerate(wanted):
        piece = pieces[index]
        elements = [member[place] for member in members]
        line = Line(event, index, piece, elements, piece.offset)
        line.repitched = bool(elements) and amend(event, voice, elements, known)
        found[piece.bar].add(voice, line)
