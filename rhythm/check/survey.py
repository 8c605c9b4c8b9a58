"""What stands in every bar: the pieces of a score sorted into part, bar and voice.

Everything the checker decides, it decides from a :class:`SurveyedVoice`: one voice in one bar, its
visible pieces in order of position, its hidden and cue pieces apart.

Conventions
-----------
Positions are counted from the bar's start, in whole notes. A whole-bar rest that stands alone in
its voice is *elastic*: it fits a bar of any length and decides nothing. A rest without a type is
one only where it lasts its metre's bar or a whole note.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from gmpy2 import mpq

from rhythm.exact.metre import Metre
from rhythm.score.model import Bar, Event, Part, Piece, Score

__all__ = ["Entry", "PartBar", "SurveyedVoice", "is_elastic", "survey"]

ZERO = mpq(0)
_LARGEST_SLACK = mpq(1, 60)
_UNWRITTEN = mpq(1, 256)  # less than any note or rest on a page
Entry = tuple[Piece, Event]
"""A written piece and the event it belongs to."""


@dataclass(slots=True)
class SurveyedVoice:
    """One voice in one bar: visible pieces, hidden ones, and the sums and ends they come to.

    ``written`` is the sum of the written values of the visible pieces (of the hidden ones where
    all are hidden). A *smooth* voice has neither holes nor overlaps between its start and its end.
    """

    voice: str
    shown: list[Entry] = field(default_factory=list)
    unseen: list[Entry] = field(default_factory=list)
    start: mpq = ZERO
    end: mpq = ZERO
    written: mpq = ZERO
    unseen_end: mpq = ZERO
    elastic: bool = False
    smooth: bool = True
    tuplets: bool = False

    def settle(self) -> None:
        """Find where the pieces start and end, and put them in order of position."""
        shown = self.shown
        if shown:
            self.start = reached = shown[0][0].offset
            total = ZERO
            for piece, _ in shown:
                if piece.offset != reached:
                    self.smooth = False
                total += piece.duration
                reached = piece.offset + piece.duration
            self.written, self.end = total, reached
            if not self.smooth:
                shown.sort(key=_position)
                self.start = shown[0][0].offset
                self.end = max(piece.end for piece, _ in shown)
            self.elastic = len(shown) == 1 and is_elastic(*shown[0])
        if self.unseen:
            self.unseen_end = max(piece.end for piece, _ in self.unseen)
            if not shown:
                self.written = sum((piece.duration for piece, _ in self.unseen), ZERO)

    @property
    def ticks(self) -> mpq | None:
        """The sum of the ``duration`` elements, None where one has none."""
        total = ZERO
        for piece, _ in self.shown or self.unseen:
            if piece.ticks is None:
                return None
            total += piece.ticks
        return total


@dataclass(slots=True)
class PartBar:
    """All voices of one part in one bar.

    ``firm`` are the voices whose visible music decides the bar's length, ``elastic`` tells of a
    whole-bar rest in some voice, ``untyped`` counts the visible pieces of which the ticks alone
    tell the length. An ``absent`` bar stands where the part has ended already, or where a bar is
    ``missing`` that the other parts have. ``printed`` is the signature on the page where ``bar``
    has another by which it is judged.
    """

    part: Part
    bar: Bar
    voices: dict[str, SurveyedVoice] = field(default_factory=dict)
    absent: bool = False
    missing: bool = False
    printed: Metre | None = None
    firm: list[SurveyedVoice] = field(default_factory=list)
    elastic: bool = False
    untyped: int = 0
    metre: mpq = ZERO  # the length of the metre in force, 0 where there is none
    plain_end: mpq | None = None

    def settle(self) -> None:
        """Settle every voice.

        ``plain_end`` is set where the commonest kind of bar leaves nothing to look at but its
        length: one visible voice without tuplets or remarks that starts at the bar's start.
        """
        if self.bar.metre is not None:
            self.metre = self.bar.metre.length
        for stretch in self.voices.values():
            stretch.settle()
            if stretch.elastic:
                self.elastic = True
            elif stretch.shown:
                self.firm.append(stretch)
        if len(self.firm) == len(self.voices) == 1 and not self.bar.remarks:
            only = self.firm[0]
            if only.smooth and not (only.start or only.unseen or only.tuplets):
                self.plain_end = only.end

    @property
    def held(self) -> mpq | None:
        """Where the visible music that decides ends, None where there is none."""
        return max((stretch.end for stretch in self.firm), default=None)

    def measure_by(self, metre: Metre) -> None:
        """Judge this bar by another metre than the one on the page."""
        if self.printed is None:
            self.printed = self.bar.metre
        self.bar = self.bar.replace(metre=metre)
        self.metre = metre.length

    @property
    def slack(self) -> mpq:
        """How far rounding may have moved an end: one grain a note whose ticks alone decide.

        Never more than a sixteenth of the bar, nor than a sixtieth of a whole note: no written
        value that a musician could miss is as small.
        """
        remarks = self.bar.remarks
        grain = self.bar.grain
        if grain is None or not (self.untyped or remarks):
            return ZERO
        count = self.untyped
        if any(remark.kind == "rounded" and remark.voice for remark in remarks):
            count = sum(len(stretch.shown) for stretch in self.voices.values())
        if not count:
            return ZERO
        slack = max(count * grain, _UNWRITTEN)
        return min(slack, self.metre / 16, _LARGEST_SLACK)

    @property
    def reached(self) -> mpq:
        """How far past its visible music a forward leads, 0 where none does."""
        return max((r.offset for r in self.bar.remarks if r.kind == "reached"), default=ZERO)


def survey(score: Score) -> list[list[PartBar]]:
    """For every part, what stands in each of its bars."""
    parts = []
    for part in score.parts:
        slots = [PartBar(part, bar) for bar in part.bars]
        for voice in part.voices:
            _enter(voice.name, voice.events, slots)
        for slot in slots:
            slot.settle()
        parts.append(slots)
    return parts


def _enter(name: str, events: tuple[Event, ...], slots: list[PartBar]) -> None:
    index = -1
    for event in events:
        unseen = event.hidden or event.cue
        for piece in event.pieces or _unspelled(event, slots):
            if piece.bar != index:
                index = piece.bar
                slot = slots[index]
                stretch = slot.voices.setdefault(name, SurveyedVoice(name))
            if not piece.duration:
                continue
            if unseen:
                stretch.unseen.append((piece, event))
                continue
            stretch.shown.append((piece, event))
            if not piece.type:
                slot.untyped += 1
            elif piece.ratio[0] != piece.ratio[1]:
                stretch.tuplets = True


def _unspelled(event: Event, slots: list[PartBar]) -> list[Piece]:
    """The stretches of an event that no spelling has written yet, bar by bar."""
    pieces = []
    for slot in slots[event.bar :]:
        bar = slot.bar
        start, end = max(event.onset, bar.start), min(event.end, bar.end)
        if start >= event.end:
            break
        pieces.append(Piece(bar.index, start - bar.start, end - start, ""))
    return pieces


def _position(entry: Entry) -> mpq:
    return entry[0].offset


def is_elastic(piece: Piece, event: Event) -> bool:
    """A whole-bar rest: read as one, or a lone whole rest at the bar's start."""
    if piece.whole_bar:
        return True
    if not event.is_rest or piece.offset:
        return False
    return piece.type == "whole" and not piece.dots and piece.ratio == (1, 1)
