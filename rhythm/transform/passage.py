"""Music lifted off its bars: voices on a timeline of their own, and where everything else goes.

A device does not think in bars. It takes a :class:`Passage`, moves, lengthens, splits or reorders
the events of its strands, says where positions without an event go, and plans new bars. Devices
follow one another on passages; :mod:`rhythm.transform.relay` lays the last one back into a score.

Conventions
-----------
Positions are whole notes from the passage's start. A :class:`Laid` event remembers, by ``origin``,
which event of its voice it came from: marks at that event go where the first such event goes.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace

from gmpy2 import mpq

from rhythm.score.model import Barline, Event, Note, Part, Piece, Score, Tuplet, Voice
from rhythm.transform.barplan import BarPlan, plan_length, plan_of, replanned

__all__ = ["Laid", "Passage", "Strand", "after", "is_break", "lift", "rest", "unmoved"]


@dataclass(frozen=True, slots=True)
class Laid:
    """An event at its new onset and duration, and the place in its voice that it came from."""

    event: Event
    origin: int | None = None

    @property
    def onset(self) -> mpq:
        """Where it begins."""
        return self.event.onset

    @property
    def duration(self) -> mpq:
        """How long it lasts."""
        return self.event.duration

    @property
    def end(self) -> mpq:
        """Where it ends."""
        return self.event.end

    @property
    def sounds(self) -> bool:
        """A note or chord that takes time: no rest, no bare group of grace notes."""
        return self.event.duration > 0 and not self.event.is_rest

    def at(self, onset: mpq, duration: mpq) -> Laid:
        """The same event elsewhere; how it was written stays as a hint to spelling."""
        return Laid(self.event.replace(onset=onset, duration=duration), self.origin)

    def in_tuplets(self, tuplets: tuple[Tuplet, ...]) -> Laid:
        """The same event, with the tuplets it should be written in, outermost first."""
        hint = Piece(0, mpq(0), self.duration, "", tuplets=tuplets)
        return Laid(self.event.replace(pieces=(hint,)), self.origin)


@dataclass(frozen=True, slots=True)
class Strand:
    """One voice of the passage; ``before`` and ``after`` are its events outside, untouched."""

    part: int
    voice: int
    laid: tuple[Laid, ...]
    before: tuple[Event, ...] = ()
    after: tuple[Event, ...] = ()

    def with_laid(self, laid: Iterable[Laid]) -> Strand:
        """The strand with other events."""
        return replace(self, laid=tuple(laid))

    @property
    def end(self) -> mpq:
        """Where its last event ends."""
        return max((each.end for each in self.laid), default=mpq(0))


def unmoved(position: mpq) -> mpq:
    """The map of a passage in which nothing moved."""
    return position


@dataclass(frozen=True, slots=True)
class Passage:
    """Bars ``first`` to ``last`` of ``score``, on their way to other bars.

    ``bars`` is the plan of the new bars. ``time`` says where a position of the source goes that
    has no event, ``frame`` where bar lines, keys and clefs go. ``breaks`` are the new positions of
    the bar lines that must stay bar lines: repeats, endings, double bars. ``loose`` says that notes
    were dropped or changed their order, so that slurs and hairpins may have lost an end. ``notes``
    collects what the user should be told.
    """

    score: Score
    first: int
    last: int
    strands: tuple[Strand, ...]
    bars: tuple[BarPlan, ...]
    time: Callable[[mpq], mpq] = unmoved
    frame: Callable[[mpq], mpq] = unmoved
    breaks: tuple[mpq, ...] = ()
    loose: bool = False
    notes: tuple[str, ...] = ()

    @property
    def length(self) -> mpq:
        """The length of the planned bars."""
        return plan_length(self.bars)

    @property
    def music_end(self) -> mpq:
        """Where the last event of any strand ends."""
        return max((strand.end for strand in self.strands), default=mpq(0))

    @property
    def is_whole(self) -> bool:
        """Whether it is all bars of the score."""
        return self.first == 0 and self.last == len(self.score.bars) - 1

    def voice(self, strand: Strand) -> Voice:
        """The voice a strand came from."""
        return self.score.parts[strand.part].voices[strand.voice]

    def telling(self, *notes: str) -> Passage:
        """The passage with something more to tell the user."""
        return replace(self, notes=(*self.notes, *notes))

    def each(self, change: Callable[[Strand], Iterable[Laid]]) -> Passage:
        """The passage with every strand's events changed."""
        strands = tuple(strand.with_laid(change(strand)) for strand in self.strands)
        return replace(self, strands=strands)

    def warped(self, image: Callable[[mpq], mpq], bars: Sequence[BarPlan] | None = None) -> Passage:
        """Everything moved by a rising map of time, and new bars planned in the old metres.

        ``bars`` gives the new plan where the usual one (see ``replanned``) is not wanted; they
        must have edges at the images of the breaks.
        """

        def moved(strand: Strand) -> Iterable[Laid]:
            for each in strand.laid:
                onset = image(each.onset)
                yield each.at(onset, image(each.end) - onset)

        breaks = tuple(image(at) for at in self.breaks)
        if bars is None:
            bars = replanned(self.bars, image, breaks=breaks, whole=self.is_whole)
        return replace(
            self.each(moved),
            bars=tuple(bars),
            time=after(self.time, image),
            frame=after(self.frame, image),
            breaks=breaks,
        )

    def filled(self) -> Passage:
        """Rests from the end of the music to the end of the plan, in one voice of each staff.

        A voice that ends with the music goes on in rests; one that ended before stays silent.
        """
        end, music = self.length, self.music_end
        if music >= end:
            return self
        served: set[tuple[int, str]] = set()
        strands = []
        for strand in self.strands:
            staff = _staff(strand)
            if strand.end == music and (strand.part, staff) not in served:
                served.add((strand.part, staff))
                strand = strand.with_laid((*strand.laid, Laid(rest(music, end - music, staff))))
            strands.append(strand)
        return replace(self, strands=tuple(strands))


def after(
    first: Callable[[mpq], mpq], second: Callable[[mpq], mpq]
) -> Callable[[mpq], mpq]:
    """``first``, then ``second``."""
    if first is unmoved:
        return second
    return lambda position: second(first(position))


def _staff(strand: Strand) -> str:
    for each in reversed(strand.laid):
        if each.event.notes:
            return each.event.notes[0].staff
    return ""


def rest(onset: mpq, duration: mpq, staff: str = "") -> Event:
    """A visible rest that no source knows."""
    return Event(onset, duration, 0, (Note("rest", staff=staff),))


def is_break(line: Barline | None) -> bool:
    """Whether a bar line must stay one wherever its music goes: repeat, ending, double bar."""
    return line is not None and bool(
        line.repeat
        or line.ending_type
        or line.style in ("light-light", "light-heavy", "heavy-light", "heavy-heavy", "heavy")
    )


def lift(score: Score, first: int = 0, last: int | None = None) -> Passage:
    """The bars ``first`` to ``last`` (indices, both included) of a score, lifted off their bars.

    A note that sounds across an edge of the passage is cut there and tied.
    """
    bars = score.bars
    final = len(bars) - 1 if last is None else last
    start, end = bars[first].start, bars[final].end
    strands = []
    for p, part in enumerate(score.parts):
        for v, voice in enumerate(part.voices):
            strands.append(_strand(part, p, voice, v, (first, final), (start, end)))
    return Passage(
        score,
        first,
        final,
        tuple(strands),
        plan_of(bars[first : final + 1]),
        breaks=tuple(sorted(_breaks(score, first, final))),
    )


def _breaks(score: Score, first: int, last: int) -> set[mpq]:
    start, end = score.bars[first].start, score.bars[last].end
    found: set[mpq] = set()
    for part in score.parts:
        for bar in part.bars[first : last + 1]:
            if is_break(bar.left):
                found.add(bar.start - start)
            if is_break(bar.right):
                found.add(bar.end - start)
    return found - {mpq(0), end - start}


def _strand(
    part: Part, p: int, voice: Voice, v: int, bars: tuple[int, int], span: tuple[mpq, mpq]
) -> Strand:
    first, last = bars
    start, end = span
    whole = first == 0 and last == len(part.bars) - 1
    before: list[Event] = []
    laid: list[Laid] = []
    following: list[Event] = []
    for i, event in enumerate(voice.events):
        if whole:
            inner: Event | None = event
        elif event.bar > last:
            following.append(event)
            continue
        else:
            head, inner, tail = _cut(event, part, start, end, bars)
            if head is not None:
                before.append(head)
            if tail is not None:
                following.append(tail)
        if inner is not None:
            moved = inner.replace(onset=inner.onset - start) if start else inner
            laid.append(Laid(moved, i))
    return Strand(p, v, tuple(laid), tuple(before), tuple(following))


def _cut(
    event: Event, part: Part, start: mpq, end: mpq, bars: tuple[int, int]
) -> tuple[Event | None, Event | None, Event | None]:
    """What of an event lies before, in and behind the passage; only notes over an edge are cut."""
    first, last = bars
    head: Event | None = None
    tail: Event | None = None
    inner: Event | None = event
    if event.bar < first:
        if event.end <= start or event.is_rest or not _reaches(event, first):
            return event, None, None
        head, inner = _halves(event, start, first)
    if inner is not None and inner.end > end and _reaches(inner, last + 1):
        inner, tail = _halves(inner, end, last + 1)
    return head, inner, tail


def _reaches(event: Event, bar: int) -> bool:
    """Whether the event is written into this bar or a later one (not merely too long)."""
    return any(piece.bar >= bar for piece in event.pieces)


def _halves(event: Event, at: mpq, bar: int) -> tuple[Event, Event]:
    early = tuple(piece for piece in event.pieces if piece.bar < bar)
    late = tuple(piece for piece in event.pieces if piece.bar >= bar)
    head_notes, tail_notes = [], []
    for note in event.notes:
        split = len(note.sources) == len(event.pieces)
        first, second = (
            (note.sources[: len(early)], note.sources[len(early) :])
            if split
            else (note.sources, ())
        )
        head_notes.append(replace(note, sources=first, tie_out=True))
        tail_notes.append(replace(note, sources=second, tie_in=True))
    head = event.replace(
        duration=at - event.onset, pieces=early, after=(), notes=tuple(head_notes)
    )
    tail = event.replace(
        onset=at,
        duration=event.end - at,
        bar=bar,
        pieces=late,
        graces=(),
        additions=(),
        notes=tuple(tail_notes),
    )
    return head, tail
