"""A voice that leaves whole bars to another, once the bar lines have moved.

On one staff a line may pass from voice to voice at a bar line: each voice fills the bars that it
stands in and is not written in the others. On new bars the line passes within a bar. There the
voice that stops rests to the end of the bar, and the one that comes in rests from its beginning
(common practice, no source): otherwise it would seem to lack a note. Where a bar line falls on such
a place again, rests that stood there for no other reason go.

Conventions
-----------
Positions are whole notes from the passage's start.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace
from itertools import takewhile

from gmpy2 import mpq

from rhythm.rebar.marks import Edges
from rhythm.rebar.passage import Passage, PlacedEvent, VoiceLine, rest
from rhythm.score.model import Bar, Event

__all__ = ["with_voices_rested"]

Span = tuple[mpq, mpq]


def with_voices_rested(passage: Passage, edges: Edges) -> Passage:
    """The passage with rests where voices that filled their bars stop or come in within one."""
    lines = [
        _Line(passage.voice(strand).events, passage.score.parts[strand.part].bars, passage.loose)
        for strand in passage.strands
    ]
    covers: dict[tuple[int, str], list[Span]] = {}

    def is_covered(part: int, staff: str, span: Span) -> bool:
        if (part, staff) not in covers:
            covers[part, staff] = _cover(passage.strands, lines, part, staff)
        return any(start <= span[0] and span[1] <= end for start, end in covers[part, staff])

    strands = []
    for strand, line in zip(passage.strands, lines, strict=True):
        laid = list(_rested(strand, line, edges, passage, is_covered))
        strands.append(strand.with_laid(laid))
    return replace(passage, strands=tuple(strands))


class _Line:
    """A voice as it was written: which events come in at a bar line after silence, or leave at one.

    ``idle`` are the rests between such an event and the bar line. In a passage that is ``loose``
    events may have changed their order: one side of an event tells of the other, and no rest is
    idle.
    """

    def __init__(self, events: Sequence[Event], bars: Sequence[Bar], loose: bool) -> None:
        self.coming: set[int] = set()
        self.leaving: set[int] = set()
        self.idle: set[int] = set()
        for run in _runs(events):
            first, last = events[run[0]], events[run[-1]]
            bar = max((piece.bar for piece in last.pieces), default=last.bar)
            if first.onset == bars[first.bar].start:
                self._note(events, run, first.bar, self.coming)
            if last.end == bars[bar].end:
                self._note(events, run[::-1], bar, self.leaving)
        if loose:
            self.coming = self.leaving = self.coming | self.leaving
            self.idle = set()

    def _note(self, events: Sequence[Event], run: Sequence[int], bar: int, found: set[int]) -> None:
        rests = list(takewhile(lambda i: PlacedEvent(events[i]).is_silence, run))
        if len(rests) == len(run):
            return
        edge = run[len(rests)]
        if not rests or bar in {events[edge].bar, *(piece.bar for piece in events[edge].pieces)}:
            found.add(edge)
            self.idle.update(rests)


def _runs(events: Sequence[Event]) -> Iterator[list[int]]:
    """The events that follow each other without a gap, by their places; what is unseen is none."""
    run: list[int] = []
    reached = mpq(0)
    for i, event in enumerate(events):
        if not event.duration or PlacedEvent(event).is_unseen_rest:
            continue
        if run and event.onset > reached:
            yield run
            run = []
        run.append(i)
        reached = max(reached, event.end) if len(run) > 1 else event.end
    if run:
        yield run


def _rested(
    strand: VoiceLine,
    line: _Line,
    edges: Edges,
    passage: Passage,
    is_covered: Callable[[int, str, Span], bool],
) -> Iterator[PlacedEvent]:
    """The events of a voice with the rests that it needs at the edges of its silences."""
    last: PlacedEvent | None = None
    aside: list[PlacedEvent] = []
    for each in (*strand.laid, None):
        if each is not None and each.is_silence and each.origin in line.idle:
            aside.append(each)
            continue
        if each is None or each.duration:
            spans = list(_silences(last, each, line, edges, passage))
            yield from _put_between(aside, spans, strand, last or each, edges, is_covered)
            aside = []
            last = each if last is None or each is None or each.end > last.end else last
        if each is not None:
            yield each


def _silences(
    last: PlacedEvent | None,
    following: PlacedEvent | None,
    line: _Line,
    edges: Edges,
    passage: Passage,
) -> Iterator[Span]:
    """The silence between two events that is to be seen: what of it is in a bar with one of them.

    Behind the last event of the score it is for others to say.
    """
    start = last.end if last is not None else mpq(0)
    end = following.onset if following is not None else edges.end
    leaves = last is not None and last.event.visible and last.origin in line.leaving
    comes = following is not None and following.event.visible and following.origin in line.coming
    if start >= end or (following is None and passage.closes_score and start >= passage.music_end):
        return
    bar, next_bar = edges.before(start), edges.at(end)
    if last is not None and following is not None and bar == next_bar and start < edges.end_of(bar):
        if leaves and comes:
            yield start, end
        return
    if leaves and start < edges.end_of(bar):
        yield start, edges.end_of(bar)
    if comes and edges.starts[next_bar - edges.first] < end:
        yield edges.starts[next_bar - edges.first], end


def _put_between(
    aside: Sequence[PlacedEvent],
    spans: Sequence[Span],
    strand: VoiceLine,
    beside: PlacedEvent | None,
    edges: Edges,
    is_covered: Callable[[int, str, Span], bool],
) -> Iterable[PlacedEvent]:
    """Rests over these spans; of the idle ones those just there, or that nothing covers."""
    if not spans and not aside:
        return ()
    if list(_joined((each.onset, each.end) for each in aside)) == list(_joined(spans)):
        return aside
    staff = beside.event.notes[0].staff if beside is not None and beside.event.notes else ""
    found = [PlacedEvent(rest(start, end - start, staff)) for start, end in spans]
    for each in aside:
        for start, end in _without((each.onset, each.end), spans):
            where = each.event.notes[0].staff
            if not is_covered(strand.part, where, (start, end)):
                found.append(each.at(start, end - start))
    return sorted(found, key=lambda each: each.onset)


def _joined(spans: Iterable[Span]) -> Iterator[Span]:
    """The spans, in order, with those that touch in one."""
    whole: Span | None = None
    for start, end in spans:
        if whole is not None and start <= whole[1]:
            whole = whole[0], max(whole[1], end)
            continue
        if whole is not None:
            yield whole
        whole = start, end
    if whole is not None:
        yield whole


def _without(span: Span, others: Sequence[Span]) -> Iterator[Span]:
    """What of a span none of the others, in order, covers."""
    at, end = span
    for start, stop in others:
        if at < start:
            yield at, min(start, end)
        at = max(at, stop)
        if at >= end:
            return
    if at < end:
        yield at, end


def _cover(
    strands: Sequence[VoiceLine], lines: Sequence[_Line], part: int, staff: str
) -> list[Span]:
    """Where something stands on a staff other than rests that may go."""
    spans = sorted(
        (each.onset, each.end)
        for strand, line in zip(strands, lines, strict=True)
        if strand.part == part
        for each in strand.laid
        if each.duration and each.event.visible
        if not (each.is_silence and each.origin in line.idle)
        if any(note.staff == staff for note in each.event.notes)
    )
    return list(_joined(spans))
