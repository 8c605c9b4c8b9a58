"""Where the systems of a practice sheet begin: no more on a line than can be read.

Conventions
-----------
Widths are counted in symbols: a note or rest without words is 1, however long it lasts. A column is
what begins at one onset, in whatever voice; it is as wide as the widest syllable under it asks for.
"""

from __future__ import annotations

from collections.abc import Sequence

from gmpy2 import mpq

from rhythm.score.model import Event, Mark, Part, Score

__all__ = ["with_systems"]

_SYSTEM = 36  # symbols that fit on a system of a page in portrait
_BAR = 2  # what a bar line and a signature take
_LETTER = mpq(2, 5)
_SUNG = 4  # letters of a syllable that the source brought along, of which only the verse is known


def with_systems(score: Score, starts: Sequence[int]) -> Score:
    """The score with systems: one for each section and as many more as it needs.

    ``starts`` are the indices of the bars that sections begin with, the first of them 0.
    """
    part = score.parts[0]
    widths = _widths(score.parts)
    found: list[int] = []
    for first, end in zip(starts, (*starts[1:], len(part.bars)), strict=True):
        upbeat = 1 if part.bars[first].shift else 0
        groups = widths[first:end]
        if upbeat and len(groups) > 1:
            groups = [groups[0] + groups[1], *groups[2:]]
        now = first
        for count in _shares(groups):
            found.append(now)
            now += count + (upbeat if now == first else 0)
    marks = [Mark(part.bars[i].start, i, "print", order=-20, text="new-system") for i in found if i]
    placed = sorted((*part.marks, *marks), key=lambda mark: (mark.bar, mark.onset, mark.order))
    return score.map_parts({0: part.replace(marks=tuple(placed))})


def _widths(parts: Sequence[Part]) -> list[mpq]:
    """How wide each bar is."""
    columns: list[dict[mpq, mpq]] = [{} for _ in parts[0].bars]
    for voice in (voice for part in parts for voice in part.voices):
        for event in voice.events:
            for number, piece in enumerate(event.pieces):
                wide = max(mpq(1), _words(event)) if number == 0 else mpq(1)
                column = columns[piece.bar]
                column[piece.offset] = max(column.get(piece.offset, wide), wide)
    return [_BAR + sum(column.values(), mpq(0)) for column in columns]


def _words(event: Event) -> mpq:
    """The width of the longest syllable under an event, with the gap behind it."""
    letters = [len(each.text) for each in event.additions if each.kind == "lyric"]
    letters += [_SUNG] * bool(event.verses)
    return (max(letters) + 1) * _LETTER if letters else mpq(0)


def _shares(widths: Sequence[mpq]) -> list[int]:
    """How many bars go on each system: equally many, four or two, where they all have room.

    Else as few systems as can be, filled as evenly as can be; a bar too wide has one of its own.
    """
    count = len(widths)
    for size in (4, 3, 2):
        runs = [widths[i : i + size] for i in range(0, count, size)]
        alone = len(runs) > 1 and len(runs[-1]) == 1
        if not alone and all(sum(run) <= _SYSTEM for run in runs):
            return [len(run) for run in runs]
    best: list[tuple[int, mpq, list[int]]] = [(0, mpq(0), [])]
    for end in range(1, count + 1):
        ways = []
        for size in range(1, min(4, end) + 1):
            left = _SYSTEM - sum(widths[end - size : end], mpq(0))
            if size == 1 or left >= 0:
                systems, slack, shares = best[end - size]
                ways.append((systems + 1, slack + left * left, [*shares, size]))
        best.append(min(ways))
    return best[count][2]
