"""A voice that leaves whole bars to another, once the bar lines have moved.

On one staff a line may pass from voice to voice at a bar line: each voice fills the bars that it
stands in and is not written in the others. On new bars the line passes within a bar. There the
voice that stops rests to the end of the bar, and the one that comes in rests from its beginning
(common practice, no source): otherwise it would seem to lack a note. Where a bar line falls on such
a place again, rests that stood there for no other reason go. And where a device has moved one voice
against another, no time is left in which a part does nothing that always did something.

Conventions
-----------
Positions are whole notes from the passage's start.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace
from functools import partial
from itertools import pairwise

from gmpy2 import mpq

from rhythm.rebar.marks import Edges
from rhythm.rebar.passage import Passage, PlacedEvent, VoiceLine, rest
from rhythm.score.model import Bar, Event

__all__ = ["with_voices_rested"]

Span = tuple[mpq, mpq]

_SCRAP = mpq(1, 4)
"""A silence that a bar line has made shorter than that looks like a note forgotten."""


def with_voices_rested(passage: Passage, edges: Edges) -> Passage:
    """The passage with rests where voices that filled their bars stop or come in within one."""
    lines = [
        _Line(
            passage.voice(strand).events,
            passage.score.parts[strand.part].bars,
            loose=passage.loose,
            alone=len(passage.score.parts[strand.part].voices) == 1,
        )
        for strand in passage.strands
    ]
    covers: dict[tuple[int, str], list[Span]] = {}

    def is_covered(part: int, staff: str, span: Span) -> bool:
        if (part, staff) not in covers:
            covers[part, staff] = _cover(passage.strands, lines, part, staff)
        return any(start <= span[0] and span[1] <= end for start, end in covers[part, staff])

    strands = [
        strand.with_laid(_rested(strand, line, edges, passage, is_covered))
        for strand, line in zip(passage.strands, lines, strict=True)
    ]
    for part in range(len(passage.score.parts)):
        _close(part, strands, edges, passage)
    return replace(passage, strands=tuple(strands))


def _close(part: int, strands: list[VoiceLine], edges: Edges, passage: Passage) -> None:
    """Put rests (into ``strands``) where all of a part is silent within a bar, as it never was."""
    bars = passage.score.parts[part].bars[passage.first : passage.last + 1]
    voices = passage.score.parts[part].voices
    stood = _joined(sorted((e.onset, e.end) for voice in voices for e in voice.events))
    before = list(_holes(list(stood), [(bar.start, bar.end) for bar in bars]))
    if any(hole not in {(bar.start, bar.end) for bar in bars} for hole in before):
        return
    mine = [i for i, strand in enumerate(strands) if strand.part == part]
    stands = [(each.onset, each.end) for i in mine for each in strands[i].laid if each.duration]
    last = max((end for _, end in stands), default=mpq(0))
    new = [(start, min(end, last)) for start, end in pairwise((*edges.starts, edges.end))]
    holes = list(_holes(list(_joined(sorted(stands))), [bar for bar in new if bar[0] < last]))
    ends = (
        {each.end: (i, each) for i in reversed(mine) for each in strands[i].laid} if holes else {}
    )
    for start, end in holes:
        if before and (start, end) in new:
            continue  # bars that nothing stands in are the source's own
        at, beside = ends.get(start) or next(iter(ends.values()))
        silence = PlacedEvent(rest(start, end - start, _staff_of(beside)))
        laid = sorted((*strands[at].laid, silence), key=lambda each: each.onset)
        strands[at] = strands[at].with_laid(laid)


def _holes(stands: Sequence[Span], bars: Iterable[Span]) -> Iterator[Span]:
    """What of each bar nothing stands in; both in order."""
    at = 0
    for bar in bars:
        while at < len(stands) and stands[at][1] <= bar[0]:
            at += 1
        upto = at
        while upto < len(stands) and stands[upto][0] < bar[1]:
            upto += 1
        yield from _without(bar, stands[at:upto])


class _Line:
    """A voice as it was written: which events came in at a bar line after nothing, or left at one.

    ``idle`` are its rests in bars in which it has notes: what they say, another voice's notes over
    a whole bar say as well. There are none in a voice that is ``alone``. In a passage that is
    ``loose`` events may have changed their order: one side of an event tells of the other, and no
    rest is idle.
    """

    def __init__(
        self, events: Sequence[Event], bars: Sequence[Bar], *, loose: bool, alone: bool
    ) -> None:
        self._starts = [bar.start for bar in bars]
        stands = [
            i
            for i, event in enumerate(events)
            if event.duration > 0 and not PlacedEvent(event).is_unseen_rest
        ]
        silent = {i for i in stands if PlacedEvent(events[i]).is_silence}
        noted = {bar for i in stands if i not in silent for bar in _bars_of(events[i])}
        self.idle = {i for i in silent if events[i].bar in noted and not (loose or alone)}
        firm = [i for i in stands if i not in self.idle]
        self._gaps = {(events[i].end, events[j].onset) for i, j in pairwise(firm)}
        ends = [None, *(events[i].end for i in stands)]
        onsets = [*(events[i].onset for i in stands[1:]), None]
        self.coming = {
            i
            for i, end in zip(stands, ends, strict=False)
            if events[i].onset == bars[events[i].bar].start and end != events[i].onset
        }
        self.leaving = {
            i
            for i, onset in zip(stands, onsets, strict=False)
            if events[i].end == bars[max(_bars_of(events[i]))].end and onset != events[i].end
        }
        if loose:
            self.coming = self.leaving = self.coming | self.leaving

    def is_as_it_was(self, start: mpq, end: mpq, edges: Edges) -> bool:
        """Whether the voice had this gap, over the same bar lines."""
        if (start + edges.base, end + edges.base) not in self._gaps:
            return False
        old = self._starts[
            bisect_right(self._starts, start + edges.base) : bisect_left(
                self._starts, end + edges.base
            )
        ]
        new = edges.starts[bisect_right(edges.starts, start) : bisect_left(edges.starts, end)]
        return [at - edges.base for at in old] == list(new)


def _bars_of(event: Event) -> set[int]:
    return {event.bar, *(piece.bar for piece in event.pieces)}


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
            start = last.end if last is not None else mpq(0)
            end = each.onset if each is not None else edges.end
            if start >= end or line.is_as_it_was(start, end, edges):
                yield from aside
            else:
                spans = list(_seen(last, each, bool(aside), line, edges, passage.closes_score))
                staff = _staff_of(beside) if (beside := last or each) is not None else ""
                bars = _bars_within(start, end, edges)
                yield from _put_between(aside, spans, bars, staff, partial(is_covered, strand.part))
            aside = []
            last = each if last is None or each is None or each.end > last.end else last
        if each is not None:
            yield each


def _seen(
    last: PlacedEvent | None,
    following: PlacedEvent | None,
    rests: bool,
    line: _Line,
    edges: Edges,
    closes: bool,
) -> Iterator[Span]:
    """What of the silence between two events is to be seen: what is in a bar with one of them.

    ``rests`` stood there, or none. Behind a voice's last event in the last bar, where the passage
    ``closes`` the score, it is for others to say, but for a scrap.
    """
    start = last.end if last is not None else mpq(0)
    end = following.onset if following is not None else edges.end
    leaves = last is not None and last.event.visible and last.origin in line.leaving
    comes = following is not None and following.event.visible and following.origin in line.coming
    rests = rests or any(each is not None and each.is_silence for each in (last, following))
    bar, next_bar = edges.before(start), edges.at(end)
    head, stop = edges.starts[next_bar - edges.first], edges.end_of(bar)

    def is_scrap(length: mpq) -> bool:
        return length < _SCRAP and length < end - start

    if last is not None and following is not None and bar == next_bar and start < stop:
        if rests or (leaves and comes):
            yield start, end
        return
    if following is None and closes and start > edges.starts[-1]:
        if leaves and stop - start < _SCRAP:
            yield start, stop
        return
    if last is not None and start < stop and (leaves or rests or is_scrap(stop - start)):
        yield start, stop
    if following is not None and head < end and (comes or rests or is_scrap(end - head)):
        yield head, end


def _bars_within(start: mpq, end: mpq, edges: Edges) -> list[Span]:
    """The bars that a silence fills from line to line."""
    first, last = bisect_left(edges.starts, start), bisect_right(edges.starts, end)
    lines = [*edges.starts[first:last], *([edges.end] if edges.end <= end else [])]
    return list(pairwise(lines))


def _put_between(
    aside: Sequence[PlacedEvent],
    spans: Sequence[Span],
    bars: Sequence[Span],
    staff: str,
    is_covered: Callable[[str, Span], bool],
) -> Iterable[PlacedEvent]:
    """Rests over these spans, and over the ``bars`` in which idle ones stand.

    Bars in which another voice stands throughout are left to it.
    """
    there = [(each.onset, each.end) for each in aside]
    gone = [bar for bar in bars if aside and is_covered(_staff_of(aside[0]), bar)]
    rested = [
        bar for bar in bars if bar not in gone and any(a < bar[1] and bar[0] < b for a, b in there)
    ]
    found: list[PlacedEvent] = []
    for each in aside:
        kept = list(_without((each.onset, each.end), gone))
        whole = kept == [(each.onset, each.end)]
        found += [each] if whole else [each.at(at, end - at) for at, end in kept]
    for span in (*spans, *rested):
        found += [PlacedEvent(rest(at, end - at, staff)) for at, end in _without(span, there)]
    return sorted(found, key=lambda each: each.onset)


def _staff_of(each: PlacedEvent) -> str:
    return each.event.notes[0].staff if each.event.notes else ""


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
