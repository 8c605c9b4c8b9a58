"""A score laid open for mending: its bars and events in lists, and which bars were touched."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from gmpy2 import mpq

from rhythm.check.survey import PartBar, survey
from rhythm.notate.score_notation import spell_score
from rhythm.score.model import Bar, Event, Mark, Piece, Score, Voice
from rhythm.score.ties import join_tied

__all__ = ["Draft", "whole_bar"]

ZERO = mpq(0)


@dataclass(slots=True)
class Draft:
    """The parts of a score as lists that may be changed, by the index of the part.

    ``touched`` holds (part, bar) pairs that must be written afresh, ``respelled`` those among them
    whose values must be chosen anew.
    """

    score: Score
    columns: list[list[PartBar]]
    bars: list[list[Bar]] = field(default_factory=list)
    voices: list[dict[str, list[Event]]] = field(default_factory=list)
    marks: list[list[Mark]] = field(default_factory=list)
    touched: set[tuple[int, int]] = field(default_factory=set)
    respelled: set[tuple[int, int]] = field(default_factory=set)

    @classmethod
    def of(cls, score: Score) -> Draft:
        """Lay ``score`` open."""
        return cls(
            score,
            survey(score),
            [list(part.bars) for part in score.parts],
            [{voice.name: list(voice.events) for voice in part.voices} for part in score.parts],
            [list(part.marks) for part in score.parts],
        )

    def touch(self, part: int, bars: Iterable[int]) -> None:
        """These bars of a part are to be written afresh."""
        self.touched.update((part, bar) for bar in bars)

    def respell(self, part: int, bar: int) -> None:
        """The values of this bar are to be chosen anew."""
        self.touched.add((part, bar))
        self.respelled.add((part, bar))

    def move_marks(
        self, part: int, bar: Bar, stream: str, moves: Sequence[tuple[mpq, mpq]]
    ) -> None:
        """Let the marks of a voice go along with its events in one bar.

        ``moves`` are (offset, by how much what stands from there on moves), in order.
        """
        marks = self.marks[part]
        for at, mark in enumerate(marks):
            if mark.bar != bar.index or mark.stream != stream:
                continue
            passed = [by for offset, by in moves if bar.start + offset <= mark.onset]
            if passed and passed[-1]:
                marks[at] = mark.replace(onset=mark.onset + passed[-1])

    def resize(self, lengths: Mapping[int, mpq]) -> None:
        """Give bars new lengths, in all parts, and move everything after them.

        Whole-bar rests last as long as their bar.
        """
        for index, length in lengths.items():
            self._stretch_whole_bars(index, length)
        for which, bars in enumerate(self.bars):
            moved: list[mpq] = []
            by = mpq(0)
            for index, bar in enumerate(bars):
                moved.append(by)
                length = lengths.get(index, bar.length)
                touched = (which, index) in self.touched
                filled = length if touched else min(bar.filled, length)
                bars[index] = bar.replace(start=bar.start + by, length=length, filled=filled)
                by += length - bar.length
            if not any(moved):
                continue
            for events in self.voices[which].values():
                events[:] = [
                    event.replace(onset=event.onset + moved[event.bar])
                    if moved[event.bar]
                    else event
                    for event in events
                ]
            self.marks[which] = [
                mark.replace(onset=mark.onset + moved[mark.bar]) if moved[mark.bar] else mark
                for mark in self.marks[which]
            ]

    def _stretch_whole_bars(self, index: int, length: mpq) -> None:
        for which, slot in enumerate(self.columns[index]):
            for name, stretch in slot.voices.items():
                if not stretch.elastic or stretch.end == length:
                    continue
                piece, rest = stretch.shown[0]
                events = self.voices[which][name]
                at = next(i for i, event in enumerate(events) if event is rest)
                events[at] = whole_bar(rest, index, length)
                if piece.ticks != length:
                    self.touch(which, [index])

    def done(self) -> Score:
        """The score again, touched bars without their source and remarks."""
        if not self.touched:
            return self.score
        for which, index in self.touched:
            self.bars[which][index] = self.bars[which][index].replace(source=None, remarks=())
        parts = []
        for which, part in enumerate(self.score.parts):
            bars = {index for owner, index in self.touched if owner == which}
            voices = tuple(
                Voice(name, join_tied([_exact(event, bars) for event in events]))
                for name, events in self.voices[which].items()
            )
            part = part.replace(
                bars=tuple(self.bars[which]), voices=voices, marks=tuple(self.marks[which])
            )
            again = {index for owner, index in self.respelled if owner == which}
            if again:
                part = spell_score(Score((part,)), keep=True, bars=again).parts[0]
            parts.append(part)
        return self.score.replace(parts=tuple(parts))


def whole_bar(event: Event, index: int, length: mpq) -> Event:
    """A rest as the whole-bar rest of a bar."""
    piece = Piece(index, ZERO, length, "", whole_bar=True)
    return event.replace(duration=length, pieces=(piece,))


def _exact(event: Event, bars: set[int]) -> Event:
    """In touched bars the ticks are those that will be written."""
    if not any(piece.bar in bars and piece.ticks != piece.duration for piece in event.pieces):
        return event
    return event.replace(
        pieces=tuple(
            replace(piece, ticks=piece.duration) if piece.bar in bars else piece
            for piece in event.pieces
        )
    )
