"""The repeats of a passage that stands apart: it plays itself, and not the movement again.

A backward repeat whose beginning lies before the passage would lead back into the movement, or
repeat half a section: it goes, and the endings that hang on it. One whose section begins in the
passage is given its forward repeat, which the score may have left to its own beginning.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from rhythm.score.model import Bar, Barline, Mark, Part, Score

__all__ = ["with_whole_repeats"]


def with_whole_repeats(source: Score, passage: Score, first: int) -> Score:
    """``passage``, taken from place ``first`` of ``source``, with no half repeat in it."""
    edits = _edits(source.bars, first, len(passage.bars))
    if not edits:
        return passage
    return passage.replace(parts=tuple(_edited(part, edits) for part in passage.parts))


def _edits(bars: Sequence[Bar], first: int, count: int) -> dict[tuple[int, str], str]:
    """What to do at a side of a bar of the passage: "open" it, "close" it without a repeat."""
    found: dict[tuple[int, str], str] = {}
    start = 0
    for index, bar in enumerate(bars[: first + count]):
        if _opens(bar):
            start = index
        if bar.right is None or bar.right.repeat != "backward":
            continue
        if index >= first:
            if start < first:
                found[index - first, "right"] = "close"
                found.update(_endings(bars, first, start, index))
            elif not _opens(bars[start]):
                found[start - first, "left"] = "open"
        start = index + 1
    return found


def _opens(bar: Bar) -> bool:
    return bar.left is not None and bar.left.repeat == "forward"


def _endings(bars: Sequence[Bar], first: int, start: int, end: int) -> dict[tuple[int, str], str]:
    """The sides of bars whose ending brackets go with a repeat that goes."""
    found: dict[tuple[int, str], str] = {}
    index = max(first, start)
    while index < len(bars):
        bar = bars[index]
        for side, line in (("left", bar.left), ("right", bar.right)):
            if line is not None and line.ending:
                found[index - first, side] = "close"
        if index > end and not (bar.left and bar.left.ending):
            break
        index += 1
    return found


def _edited(part: Part, edits: dict[tuple[int, str], str]) -> Part:
    bars = list(part.bars)
    for (index, side), edit in edits.items():
        if index >= len(bars):
            continue
        bar = bars[index]
        line = bar.left if side == "left" else bar.right
        bars[index] = bar.replace(**{side: _line(line, edit, side)})
    marks = tuple(mark for mark in part.marks if not _draws(mark, part.bars, edits))
    return part.replace(bars=tuple(bars), marks=marks)


def _line(line: Barline | None, edit: str, side: str) -> Barline | None:
    if edit == "open":
        return replace(line or Barline(), style="heavy-light", repeat="forward")
    if line is None or side == "left":
        return None
    return Barline("light-light") if line.repeat else None


def _draws(mark: Mark, bars: Sequence[Bar], edits: dict[tuple[int, str], str]) -> bool:
    """Does the mark draw a bar line that is edited?"""
    if mark.kind != "barline":
        return False
    side = "left" if mark.onset == bars[mark.bar].start else "right"
    return (mark.bar, side) in edits
