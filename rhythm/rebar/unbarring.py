"""Lifting bars out of a score as a passage: which events come along, and which bar lines bind.

Conventions
-----------
A note that is written across an edge of the passage is cut there and tied; laying the passage back
joins it again where it can. A hidden rest is no music: where nothing else is seen on its staff it
is taken for the silence that it stands for, elsewhere it stays behind. In bars that are not changed
it is there still.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from gmpy2 import mpq

from rhythm.rebar.bar_plan import plan_of
from rhythm.rebar.passage import Passage, PlacedEvent, VoiceLine, rest
from rhythm.score.concatenation import evened
from rhythm.score.model import Barline, Event, Part, Score, Voice
from rhythm.score.ties import parted

__all__ = ["is_break", "lift"]


def is_break(line: Barline | None) -> bool:
    """Whether a bar line must stay one wherever its music goes: repeat, ending, double bar."""
    return line is not None and bool(
        line.repeat
        or line.ending_type
        or line.style in ("light-light", "light-heavy", "heavy-light", "heavy-heavy", "heavy")
    )


def lift(score: Score, first: int = 0, last: int | None = None) -> Passage:
    """The bars ``first`` to ``last`` (indices, both included) of a score, lifted off their bars.

    A note that sounds across an edge of the passage is cut there and tied. A part with fewer bars
    than the others rests to their end.
    """
    score = evened(score)
    bars = score.bars
    final = len(bars) - 1 if last is None else last
    start, end = bars[first].start, bars[final].end
    strands = []
    for p, part in enumerate(score.parts):
        for v, voice in enumerate(part.voices):
            strand = _strand(part, p, voice, v, (first, final), (start, end))
            strands.append(strand.with_laid(_seen(strand.laid, part, start)))
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
) -> VoiceLine:
    first, last = bars
    start, end = span
    whole = first == 0 and last == len(part.bars) - 1
    before: list[Event] = []
    laid: list[PlacedEvent] = []
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
            laid.append(PlacedEvent(moved, i))
    return VoiceLine(p, v, tuple(laid), tuple(before), tuple(following))


def _seen(laid: Sequence[PlacedEvent], part: Part, start: mpq) -> Iterator[PlacedEvent]:
    """The events, hidden rests shown where nothing else is seen on their staff, else left out."""
    for each in laid:
        if not each.is_unseen_rest:
            yield each
            continue
        onset, end = each.onset + start, each.end + start
        staff = each.event.notes[0].staff
        if not any(
            event.visible and event.onset < end and event.end > onset and _stands_on(event, staff)
            for voice in part.voices
            for event in voice.events
        ):
            yield PlacedEvent(rest(each.onset, each.duration, staff), each.origin)


def _stands_on(event: Event, staff: str) -> bool:
    return event.duration > 0 and any(note.staff == staff for note in event.notes)


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
    head, tail = parted(event, at, sum(piece.bar < bar for piece in event.pieces))
    return head, tail.replace(bar=bar)
