"""A score laid open for mending: its bars and events in lists, and which bars were touched.

Conventions
-----------
Everything is kept by the index of its part; a bar's ``start`` and the onsets of its events and
marks belong together and may drift apart from the other parts' until :meth:`Draft.done` gives all
bars their lengths and starts anew.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace

from gmpy2 import mpq

from rhythm.check.survey import PartBar, is_elastic, survey
from rhythm.notate.score_notation import spell_score
from rhythm.score.model import Bar, Event, Mark, Piece, Score, Voice
from rhythm.score.ties import join_tied

__all__ = ["Draft", "whole_bar"]

ZERO = mpq(0)


@dataclass(slots=True)
class Draft:
    """The parts of a score as lists that may be changed.

    ``slots`` is what stood in every bar when the draft was made. ``touched`` holds (part, bar)
    pairs that must be written afresh, ``respelled`` those among them whose values must be chosen
    anew; ``rebarred`` says that bars were added, taken out, joined or divided.
    """

    score: Score
    slots: list[list[PartBar]]
    bars: list[list[Bar]] = field(default_factory=list)
    voices: list[dict[str, list[Event]]] = field(default_factory=list)
    marks: list[list[Mark]] = field(default_factory=list)
    touched: set[tuple[int, int]] = field(default_factory=set)
    respelled: set[tuple[int, int]] = field(default_factory=set)
    rebarred: bool = False
    changed: bool = False

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

    def parts_of(self, which: int) -> Iterable[int]:
        """The parts that a remedy for ``which`` concerns: one, or all where it is negative."""
        return range(len(self.bars)) if which < 0 else (which,)

    def touch(self, part: int, bars: Iterable[int]) -> None:
        """These bars of a part are to be written afresh."""
        self.touched.update((part, bar) for bar in bars)

    def respell(self, part: int, bar: int) -> None:
        """The values of this bar are to be chosen anew."""
        self.touched.add((part, bar))
        self.respelled.add((part, bar))

    def put(self, part: int, voice: str, bar: int, made: Sequence[Event]) -> None:
        """Put events of one bar into a voice, in order of time."""
        events = self.voices[part].setdefault(voice, [])
        for event in made:
            at = next(
                (
                    place
                    for place, other in enumerate(events)
                    if (other.bar, other.onset) > (bar, event.onset)
                ),
                len(events),
            )
            events.insert(at, event)
        self.touched.add((part, bar))

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

    def done(self) -> Score:
        """The score again, touched bars without their source and remarks."""
        if not (self.touched or self.rebarred or self.changed):
            return self.score
        self._settle()
        parts = []
        for which, part in enumerate(self.score.parts):
            bars = {index for owner, index in self.touched if owner == which}
            for index in bars:
                self.bars[which][index] = self.bars[which][index].replace(source=None, remarks=())
            # Ties that a bar of a wrong length had torn meet again, in untouched parts too.
            voices = tuple(
                Voice(name, join_tied([_exact(event, bars) for event in events]))
                for name, events in self.voices[which].items()
                if events
            )
            part = part.replace(
                bars=tuple(self.bars[which]), voices=voices, marks=tuple(self.marks[which])
            )
            again = {index for owner, index in self.respelled if owner == which}
            if again:
                alone = self.score.replace(parts=(part,))
                part = spell_score(alone, keep=True, bars=again).parts[0]
            parts.append(part)
        return self.score.replace(parts=tuple(parts))

    def _settle(self) -> None:
        """Give all bars their lengths and starts anew, and move what stands in them along."""
        count = max(map(len, self.bars))
        loose = set(range(count)) if self.rebarred else {index for _, index in self.touched}
        ends: list[dict[int, mpq]] = [self._ends(which, loose) for which in range(len(self.bars))]
        starts = [ZERO]
        lengths: list[mpq] = []
        for index in range(count):
            bars = [own[index] for own in self.bars if index < len(own)]
            length = bars[0].length
            if index in loose:
                held = max((each.get(index, ZERO) for each in ends), default=ZERO)
                length = held or _of_rests(bars[0])
            lengths.append(length)
            starts.append(starts[-1] + length)
        for which in range(len(self.bars)):
            self._lay(which, starts, lengths, loose, ends[which])

    def _ends(self, which: int, loose: set[int]) -> dict[int, mpq]:
        """Where the visible music of a part that decides ends, in these bars."""
        found: dict[int, mpq] = {}
        for events in self.voices[which].values():
            count: dict[int, int] = {}
            for event in events:
                for piece in event.pieces:
                    count[piece.bar] = count.get(piece.bar, 0) + 1
            for event in events:
                if not event.visible:
                    continue
                for piece in event.pieces or (_unspelled(event, self.bars[which]),):
                    if piece.bar not in loose:
                        continue
                    if count.get(piece.bar) == 1 and is_elastic(piece, event):
                        continue
                    found[piece.bar] = max(found.get(piece.bar, ZERO), piece.end)
        return found

    def _lay(
        self,
        which: int,
        starts: Sequence[mpq],
        lengths: Sequence[mpq],
        loose: set[int],
        ends: dict[int, mpq],
    ) -> None:
        moves = [starts[index] - bar.start for index, bar in enumerate(self.bars[which])]
        for index, bar in enumerate(self.bars[which]):
            filled = ends.get(index, lengths[index]) if index in loose else bar.filled
            self.bars[which][index] = bar.replace(
                index=index, start=starts[index], length=lengths[index], filled=filled
            )
        for events in self.voices[which].values():
            # A hidden rest that fills a bar up to its metre is no music: a shorter bar has it not.
            events[:] = [
                event
                for event in events
                if not (event.hidden and event.is_rest and event.bar in loose and not event.graces)
                or any(p.offset < lengths[p.bar] for p in event.pieces)
                or not event.pieces
            ]
            for at, event in enumerate(events):
                by = moves[event.bar]
                if by:
                    event = events[at] = event.replace(onset=event.onset + by)
                if event.bar in loose and len(event.pieces) == 1 and event.pieces[0].whole_bar:
                    length, piece = lengths[event.bar], event.pieces[0]
                    if piece.duration != length:
                        events[at] = whole_bar(event, event.bar, length)
                        if piece.ticks != length:
                            self.touch(which, [event.bar])
        self.marks[which] = [
            mark.replace(onset=mark.onset + moves[mark.bar]) if moves[mark.bar] else mark
            for mark in self.marks[which]
        ]

    def shift_bars(self, which: int, start: int, by: int) -> None:
        """Let everything that stands from bar ``start`` on stand ``by`` bars later."""
        for events in self.voices[which].values():
            events[:] = [_later(event, start, by) for event in events]
        self.marks[which] = [
            mark.replace(bar=mark.bar + by) if mark.bar >= start else mark
            for mark in self.marks[which]
        ]
        self.touched = set(self._shifted(self.touched, which, start, by))
        self.respelled = set(self._shifted(self.respelled, which, start, by))
        self.rebarred = True

    @staticmethod
    def _shifted(
        pairs: Iterable[tuple[int, int]], which: int, start: int, by: int
    ) -> Iterator[tuple[int, int]]:
        for part, bar in pairs:
            yield part, bar + by if part == which and bar >= start else bar


def _of_rests(bar: Bar) -> mpq:
    """The length of a bar that holds nothing but rests: its metre's, but an upbeat stays one."""
    if bar.metre is None or not bar.metre.length:
        return bar.length
    opens = bar.implicit or not bar.index
    return bar.length if opens and bar.length < bar.metre.length else bar.metre.length


def _later(event: Event, start: int, by: int) -> Event:
    pieces = event.pieces
    if event.bar < start and not any(piece.bar >= start for piece in pieces):
        return event
    return event.replace(
        bar=event.bar + by if event.bar >= start else event.bar,
        pieces=tuple(
            replace(piece, bar=piece.bar + by) if piece.bar >= start else piece for piece in pieces
        ),
    )


def _unspelled(event: Event, bars: Sequence[Bar]) -> Piece:
    bar = bars[event.bar]
    return Piece(event.bar, event.onset - bar.start, min(event.end, bar.end) - event.onset, "")


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
