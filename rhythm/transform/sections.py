"""Sections of a passage: what repeats, endings and double bars cut it into.

Devices that reorder or lengthen in steps do so section by section, so that repeat signs stay true:
what is played again is what was changed together. A bar line that a note is held across does not
part sections.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from itertools import pairwise

from gmpy2 import mpq

from rhythm.transform.barplan import BarPlan, starts
from rhythm.transform.passage import Laid, Passage, Strand, after, unmoved

__all__ = ["by_section", "section_edges"]


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
    laid: list[list[Laid]] = [[] for _ in passage.strands]
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


def _between(strand: Strand, start: mpq, end: mpq, closes: bool) -> Iterable[Laid]:
    for each in strand.laid:
        if start <= each.onset < end or (closes and each.onset >= end):
            yield _later(each, -start)


def _later(each: Laid, by: mpq) -> Laid:
    if not by:
        return each
    return Laid(each.event.replace(onset=each.event.onset + by), each.origin)
