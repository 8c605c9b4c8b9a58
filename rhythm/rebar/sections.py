"""Sections of a passage: what repeats, endings and double bars cut it into.

Devices that reorder or lengthen in steps do so section by section, so that repeat signs stay true:
what is played again is what was changed together. Devices that reorder cut a note that is held
across such a bar line in two (:func:`cut_at_breaks`); for those that stretch, a bar line that a
note is held across does not part sections (:func:`section_edges`).
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from itertools import accumulate, pairwise

from gmpy2 import mpq

from rhythm.rebar.bar_plan import BarPlan, starts
from rhythm.rebar.passage import Passage, PlacedEvent, VoiceLine, after, unmoved
from rhythm.score.model import Event, Note
from rhythm.score.ties import parted

__all__ = ["by_section", "cut_at_breaks", "section_edges"]


def cut_at_breaks(passage: Passage) -> Passage:
    """The passage with every visible note or rest cut where a repeat or double bar falls into it.

    The parts of a note are tied; the user is told how many notes there were.
    """
    held = 0

    def change(strand: VoiceLine) -> Iterable[PlacedEvent]:
        nonlocal held
        for i, each in enumerate(strand.laid):
            end = min((other.onset for other in strand.laid[i + 1 : i + 2]), default=each.end)
            cuts = [at for at in sorted(passage.breaks) if each.onset < at < each.end]
            if not cuts or end < each.end or not each.event.visible:
                yield each
                continue
            held += each.sounds
            event = each.event
            for at in cuts:
                head, event = _cut(event, at)
                yield PlacedEvent(head, each.origin if head.onset == each.onset else None)
            yield PlacedEvent(event)

    result = passage.each(change)
    if not held:
        return result
    return result.telling(f"notes held over a repeat or double bar and cut there: {held}")


def _cut(event: Event, at: mpq) -> tuple[Event, Event]:
    """The event in two, its pieces parted where one of them ended at ``at``."""
    ends = list(accumulate(piece.duration for piece in event.pieces))
    share = (at - event.onset) / event.duration
    count = next((i for i, end in enumerate(ends, 1) if end == share * ends[-1]), 0)
    head, tail = parted(event if count else event.replace(pieces=()), at, count)
    if event.is_rest:
        fresh = tuple(Note("rest", staff=note.staff) for note in event.notes)
        return head.replace(notes=event.notes), tail.replace(notes=fresh)
    return head, tail


def section_edges(passage: Passage) -> list[mpq]:
    """Where sections begin, and the end of the last."""
    edges = [mpq(0)]
    for at in sorted(passage.breaks):
        crossed = any(
            each.onset < at < each.end and each.event.visible
            for strand in passage.strands
            for each in strand.laid
        )
        if not crossed:
            edges.append(at)
    return [*edges, passage.length]


def by_section(
    passage: Passage, edges: Sequence[mpq], change: Callable[[Passage], Passage]
) -> Passage:
    """Each stretch between two ``edges`` changed by itself, then all set one after the other.

    ``change`` gets a passage that starts at 0 and has no breaks, and may make it longer or shorter.
    The edges must be bar lines that no note is held across.
    """
    if len(edges) <= 2:
        return change(passage)
    laid: list[list[PlacedEvent]] = [[] for _ in passage.strands]
    bars: list[BarPlan] = []
    images = [mpq(0)]
    maps: list[Callable[[mpq], mpq]] = []
    notes: list[str] = []
    begins = starts(passage.bars)
    for start, end in pairwise(edges):
        inside = [bar for bar, at in zip(passage.bars, begins, strict=True) if start <= at < end]
        inside[0] = replace(inside[0], tail=False)
        closes = end == edges[-1]
        section = replace(
            passage.each(lambda s, a=start, b=end, c=closes: _between(s, a, b, c)),  # type: ignore[misc]
            bars=tuple(inside),
            time=unmoved,
            frame=unmoved,
            breaks=(),
            notes=(),
        )
        result = change(section).filled()
        for found, strand in zip(laid, result.strands, strict=True):
            found.extend(_later(each, images[-1]) for each in strand.laid)
        bars.extend(result.bars)
        maps.append(result.time)
        notes.extend(result.notes)
        images.append(images[-1] + result.length)

    def time(at: mpq) -> mpq:
        i = max(0, min(bisect_right(edges, at) - 1, len(maps) - 1))
        return images[i] + maps[i](at - edges[i])

    def frame(at: mpq) -> mpq:
        i = bisect_left(edges, at)
        return images[i] if i < len(edges) and edges[i] == at else time(at)

    return replace(
        passage,
        strands=tuple(s.with_laid(found) for s, found in zip(passage.strands, laid, strict=True)),
        bars=tuple(bars),
        time=after(passage.time, time),
        frame=after(passage.frame, frame),
        breaks=tuple(frame(at) for at in passage.breaks),
        notes=(*passage.notes, *notes),
    )


def _between(strand: VoiceLine, start: mpq, end: mpq, closes: bool) -> Iterable[PlacedEvent]:
    for each in strand.laid:
        if start <= each.onset < end or (closes and each.onset >= end):
            yield _later(each, -start)


def _later(each: PlacedEvent, by: mpq) -> PlacedEvent:
    if not by:
        return each
    return PlacedEvent(each.event.replace(onset=each.event.onset + by), each.origin)
