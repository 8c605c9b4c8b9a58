"""What stands in every bar: the pieces of a score sorted into part, bar and voice.

Everything the checker decides, it decides from a :class:`Stretch`: one voice in one bar, its
visible pieces in order of position, its hidden and cue pieces apart.

Conventions
-----------
Positions are counted from the bar's start, in whole notes. A whole-bar rest that stands alone in
its voice is *elastic*: it fits a bar of any length and decides nothing.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from gmpy2 import mpq

from rhythm.score.model import Bar, Event, Part, Piece, Score

__all__ = ["Entry", "PartBar", "Stretch", "survey"]

ZERO = mpq(0)
_LARGEST_SLACK = mpq(1, 60)
_UNWRITTEN = mpq(1, 256)  # less than any note or rest on a page
Entry = tuple[Piece, Event]
"""A written piece and the event it belongs to."""


@dataclass(slots=True)
class Stretch:
    """One voice in one bar: visible pieces, hidden ones, and the sums and ends they come to."""

    voice: str
    shown: list[Entry] = field(default_factory=list)
    unseen: list[Entry] = field(default_factory=list)
    start: mpq = ZERO
    end: mpq = ZERO
    unseen_end: mpq = ZERO
    elastic: bool = False

    def settle(self) -> None:
        """Put the pieces in order of position and find where they start and end."""
        shown = self.shown
        if len(shown) > 1:
            here = shown[0][0].offset
            for piece, _ in shown:
                if piece.offset < here:
                    shown.sort(key=_position)
                    break
                here = piece.offset
        if shown:
            self.start = shown[0][0].offset
            self.end = max([piece.end for piece, _ in shown]) if len(shown) > 1 else shown[0][0].end
            self.elastic = len(shown) == 1 and _is_elastic(*shown[0])
        if self.unseen:
            self.unseen_end = max(piece.end for piece, _ in self.unseen)

    @property
    def written(self) -> mpq:
        """The sum of the written values of the visible pieces (hidden ones if all are hidden)."""
        return sum([piece.duration for piece, _ in self.shown or self.unseen], ZERO)

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
    """All voices of one part in one bar."""

    part: Part
    bar: Bar
    voices: dict[str, Stretch] = field(default_factory=dict)
    absent: bool = False  # the part has ended before this bar

    @property
    def firm(self) -> list[Stretch]:
        """The voices whose visible music decides the bar's length."""
        return [each for each in self.voices.values() if each.shown and not each.elastic]

    @property
    def elastic(self) -> bool:
        """Does a whole-bar rest stand in some voice?"""
        return any(each.elastic for each in self.voices.values())

    @property
    def slack(self) -> mpq:
        """How far rounding may have moved an end: one division a note whose ticks alone decide.

        Never more than a sixteenth of the bar, nor than a sixtieth of a whole note: no written
        value that a musician could miss is as small.
        """
        rounded = any(remark.kind == "rounded" for remark in self.bar.remarks)
        count = 0
        for stretch in self.voices.values():
            for piece, _ in stretch.shown:
                if rounded or not piece.type:
                    count += 1
        if not count or not self.bar.divisions:
            return ZERO
        slack = max(mpq(count, 4 * self.bar.divisions), _UNWRITTEN)
        return min(slack, self.metre / 16, _LARGEST_SLACK)

    @property
    def reached(self) -> mpq:
        """How far past its visible music a forward leads, 0 where none does."""
        return max((r.offset for r in self.bar.remarks if r.kind == "reached"), default=ZERO)

    @property
    def metre(self) -> mpq:
        """The length of the metre in force, 0 where there is none."""
        return self.bar.metre.length if self.bar.metre is not None else ZERO


def survey(score: Score) -> list[list[PartBar]]:
    """For every bar index, what each part has there, in the order of the parts."""
    timeline = score.bars
    columns: list[list[PartBar]] = [[] for _ in timeline]
    for part in score.parts:
        slots = [PartBar(part, bar) for bar in part.bars]
        for voice in part.voices:
            _enter(voice.name, voice.events, slots)
        for slot in slots:
            for stretch in slot.voices.values():
                stretch.settle()
        slots += [PartBar(part, bar, absent=True) for bar in timeline[len(slots) :]]
        for column, slot in zip(columns, slots, strict=True):
            column.append(slot)
    return columns


def _enter(name: str, events: tuple[Event, ...], slots: list[PartBar]) -> None:
    for event in events:
        unseen = event.hidden or event.cue
        for piece in event.pieces or _unspelled(event, slots):
            voices = slots[piece.bar].voices
            stretch = voices.get(name)
            if stretch is None:
                stretch = voices[name] = Stretch(name)
            if piece.duration:
                (stretch.unseen if unseen else stretch.shown).append((piece, event))


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


def _is_elastic(piece: Piece, event: Event) -> bool:
    """A whole-bar rest: said so, or a lone whole rest or rest of no type at the bar's start."""
    if piece.whole_bar:
        return True
    if not event.is_rest or piece.offset:
        return False
    return piece.type in ("", "whole") and not piece.dots and piece.ratio == (1, 1)
