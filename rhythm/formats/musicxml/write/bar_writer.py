"""A bar written afresh: its head, then each voice's stream, joined by backup and forward.

The order is the source's: marks at the head of the bar, then for every voice its notes with the
marks that stand in its stream, then bar lines. The cursor is moved to wherever the next thing
stands, so gaps, overlaps and voices that fill part of a bar are carried as they are.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from copy import copy

from gmpy2 import mpq
from lxml import etree

from rhythm.formats.musicxml.write import child_order
from rhythm.formats.musicxml.write.attributes_writer import fresh_attributes, set_attributes
from rhythm.formats.musicxml.write.bar_content import Content, Line
from rhythm.formats.musicxml.write.divisions_plan import BarPlan
from rhythm.formats.musicxml.write.mark_writer import bar_line_side, write_sign
from rhythm.formats.musicxml.write.note_writer import NoteSetter
from rhythm.formats.musicxml.write.stems import free_stems
from rhythm.formats.musicxml.write.tuplet_ends import tuplet_ends
from rhythm.score.model import Bar, Mark
from rhythm.score.whole_numbers import whole_number

__all__ = ["write_bar"]

_ZERO = mpq(0)


def write_bar(bar: Bar, content: Content, plan: BarPlan) -> list[etree._Element]:
    """The children of the ``measure`` element."""
    return _Writer(bar, plan).write(content)


class _Writer:
    def __init__(self, bar: Bar, plan: BarPlan) -> None:
        self.bar = bar
        self.plan = plan
        self.out: list[etree._Element] = []
        self.cursor = self.furthest = _ZERO
        self.setter = NoteSetter(plan.divisions)

    def write(self, content: Content) -> list[etree._Element]:
        voices = sorted(content.voices.items(), key=_staff)
        head, streams, tail = self._sort(content.marks, voices[0][0] if voices else "")
        self._head(head)
        for voice, lines in voices:
            self._voice(lines, streams.pop(voice, []))
        for marks in streams.values():
            self._marks(marks)
        if self.furthest < self.bar.length:
            self._go(self.bar.length)
        for mark in tail:
            self._sign(mark)
        return self.out

    def _sort(
        self, marks: Sequence[Mark], first: str
    ) -> tuple[list[Mark], dict[str, list[Mark]], list[Mark]]:
        """The marks at the bar's head, those in each voice's stream, and closing bar lines.

        What stood at a bar's head and is inside a bar now goes with the ``first`` voice, so that
        spans begin before they end in the order of the file too.
        """
        head: list[Mark] = []
        streams: dict[str, list[Mark]] = {}
        tail: list[Mark] = []
        for mark in marks:
            location = bar_line_side(mark)
            if location == "right":
                tail.append(mark)
            elif location == "left":
                head.append(mark)
            elif stream := mark.stream or (first if mark.onset > self.bar.start else ""):
                streams.setdefault(stream, []).append(mark)
            else:
                head.append(mark)
        head.sort(key=lambda mark: mark.onset)
        for found in streams.values():
            found.sort(key=lambda mark: mark.onset)
        return head, streams, tail

    def _head(self, marks: Sequence[Mark]) -> None:
        """The bar's head; its first attributes take the new divisions and signature."""
        plan = self.plan
        wanted: BarPlan | None = plan if plan.sets_divisions or plan.time is not None else None
        if wanted is not None and not _has_place(marks, self.bar):
            at = next((i for i, mark in enumerate(marks) if mark.kind != "print"), len(marks))
            for mark in marks[:at]:
                self._sign(mark)
            made = fresh_attributes(wanted)
            if made is not None:
                self.out.append(made)
            wanted = None
            marks = marks[at:]
        for mark in marks:
            self._go(mark.onset - self.bar.start)
            if mark.kind == "attributes" and wanted is not None:
                self._sign(mark, wanted)
                wanted = None
            else:
                self._sign(mark)

    def _voice(self, lines: Sequence[Line], marks: Sequence[Mark]) -> None:
        ends, kept = tuplet_ends(lines)
        following = 0
        start = self.bar.start
        for at, line in enumerate(lines):
            while following < len(marks) and marks[following].onset - start <= line.offset:
                self._marks(marks[following : following + 1])
                following += 1
            event, piece = line.event, line.piece
            if line.offset != self.cursor:
                self._go(line.offset)
            if event.graces and line.index == 0:
                self.out.extend([_grace(element) for element in event.graces])
            if piece is None:
                continue
            chord = False
            for element, note in zip(line.elements, event.notes, strict=True):
                stem = self.setter.set(
                    element,
                    piece,
                    chord=chord,
                    ends=() if chord else ends[at],
                    keep_tuplets=kept[at],
                    loose=not (note.tie_in or note.tie_out or len(event.pieces) > 1),
                )
                if stem is not None:
                    line.stems.append(stem)
                self.out.append(element)
                chord = True
            if event.additions and line.elements:
                _add(line)
            self.cursor = line.offset + piece.duration
            if self.cursor > self.furthest:
                self.furthest = self.cursor
            if event.after and line.index == len(event.pieces) - 1:
                self.out.extend([_grace(element) for element in event.after])
        free_stems(_joined(lines))
        self._marks(marks[following:])

    def _marks(self, marks: Sequence[Mark]) -> None:
        for mark in marks:
            self._go(mark.onset - self.bar.start)
            self._sign(mark)

    def _sign(self, mark: Mark, plan: BarPlan | None = None) -> None:
        if mark.kind == "measure":
            return
        element = write_sign(mark, self.plan.divisions)
        if element is None:
            return
        if element.tag == "attributes" and not set_attributes(element, plan):
            return
        element.tail = None
        self.out.append(element)

    def _go(self, offset: mpq) -> None:
        """Move the cursor."""
        if offset == self.cursor:
            return
        move = etree.Element("backup" if offset < self.cursor else "forward")
        duration = etree.SubElement(move, "duration")
        duration.text = self.setter.ticks(abs(offset - self.cursor))
        self.out.append(move)
        self.cursor = offset
        self.furthest = max(self.furthest, offset)


def _staff(stream: tuple[str, list[Line]]) -> int:
    """The staff a voice of a bar begins on: a new voice goes with its own staff."""
    notes = stream[1][0].event.notes
    name = notes[0].staff if notes else ""
    return whole_number(name) or 0


def _has_place(marks: Sequence[Mark], bar: Bar) -> bool:
    """Is there an ``attributes`` at the head with nothing before it that is counted in ticks?"""
    for mark in marks:
        if mark.onset > bar.start or mark.reach or mark.length:
            return False
        if mark.kind == "attributes":
            return True
    return False


def _joined(lines: Sequence[Line]) -> Iterator[list[Line]]:
    """The lines under each beam, all its levels taken as one."""
    group: list[Line] = []
    for line in lines:
        beam = line.piece.beams[0] if line.piece is not None and line.piece.beams else ""
        if beam == "begin":
            group = []
        if beam in ("begin", "continue", "end"):
            group.append(line)
        if beam == "end":
            yield group


def _grace(element: object) -> etree._Element:
    assert isinstance(element, etree._Element)
    copied = copy(element)
    copied.attrib.pop("default-x", "")
    return copied


def _add(line: Line) -> None:
    """Write what a transformation added to the event where this piece of it stands."""
    element, pieces = line.elements[0], line.event.pieces
    begins = sum((piece.duration for piece in pieces[: line.index]), _ZERO)
    ends = begins + pieces[line.index].duration
    last = line.index == len(pieces) - 1
    for addition in line.event.additions:
        if addition.delay < begins or (addition.delay >= ends and not last):
            continue
        if addition.kind == "accent":
            notations = child_order.notations_of(element)
            articulations = notations.find("articulations")
            if articulations is None:
                articulations = etree.SubElement(notations, "articulations")
            if articulations.find("accent") is None:
                etree.SubElement(articulations, "accent")
        elif addition.kind == "lyric":
            lyric = etree.Element("lyric")
            if addition.number:
                lyric.set("number", addition.number)
            etree.SubElement(lyric, "syllabic").text = "single"
            etree.SubElement(lyric, "text").text = addition.text
            child_order.insert(element, lyric, child_order.NOTE)
