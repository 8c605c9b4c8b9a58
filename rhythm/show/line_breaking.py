"""Where lines of music break: rows that are filled alike, two scores broken at the same bars.

Conventions
-----------
A *column* is what cannot be broken: a bar of a score, or the bars of two scores that say the same
music and end together. Widths are hundredths of a millimetre, as wide as the music wants to be
where nothing stretches it. Breaks are the indices of the columns that open a row, without 0.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

from rhythm.score.model import Score

__all__ = ["best_breaks", "guessed_widths", "likely_widths"]

_HEAD = 1900  # clef, key and what else opens a row
_MARGINS = 200
_AIM = 125  # in percent of its natural width: music that is stretched a little reads best
_BAR, _ONSET, _SIGN = 700, 380, 190
_SAFE = 110  # percent


def best_breaks(widths: Sequence[int], width: int, first: int = 0) -> tuple[int, ...]:
    """The breaks that fill rows ``width`` wide most evenly.

    ``first`` is how much less room the first row has. The least total of squared distances from a
    little stretched is taken; a row is squeezed only where a single column is too wide. Rows of
    four or eight columns are preferred, as phrases mostly are. The last row may stay short.
    """
    room = max(1, width - _MARGINS - _HEAD)
    sums = [0]
    for each in widths:
        sums.append(sums[-1] + max(1, each))
    count = len(widths)
    best: list[tuple[int, int]] = [(0, 0)]  # cost of everything before this column, row's start
    for end in range(1, count + 1):
        found: tuple[int, int] | None = None
        for start in range(end - 1, -1, -1):
            natural = sums[end] - sums[start]
            here = room - (first if start == 0 else 0)
            if natural > here and found is not None:
                break
            cost = best[start][0] + _cost(natural, max(1, here), end - start, end == count)
            if found is None or cost < found[0]:
                found = (cost, start)
        assert found is not None
        best.append(found)
    breaks: list[int] = []
    at = count
    while at > 0:
        at = best[at][1]
        if at:
            breaks.append(at)
    return tuple(reversed(breaks))


@lru_cache(maxsize=4096)
def _cost(natural: int, room: int, columns: int, last: bool) -> int:
    stretch = 100 * room // natural
    off = stretch - _AIM
    if last and off > 0:
        off = min(off // 4, 60)
    cost = off * off + 400  # and a little for every row
    if stretch < 100:
        cost += 40_000
    return cost if columns in (4, 8) else cost + 600


def likely_widths(score: Score, like: Score, measured: Sequence[int]) -> list[int]:
    """How wide the bars may want to be, by the measured widths of a score made of the same music.

    Bar by bar where there are as many, else by how the whole was guessed; a little more than less,
    since a row that is filled too far is worse than one that is not full.
    """
    mine, theirs = guessed_widths(score), guessed_widths(like)
    if len(mine) == len(theirs) == len(measured):
        return [
            wide * guess * _SAFE // (100 * max(1, known))
            for wide, guess, known in zip(measured, mine, theirs, strict=True)
        ]
    whole, known = sum(measured), max(1, sum(theirs))
    return [guess * whole * _SAFE // (100 * known) for guess in mine]


def guessed_widths(score: Score) -> list[int]:
    """How wide the bars may want to be, without engraving: by the onsets and words in them."""
    found: list[int] = []
    onsets: list[set[object]] = [set() for _ in score.bars]
    sung: list[int] = [0 for _ in score.bars]
    for _part, _voice, event in score.events():
        for piece in event.pieces:
            onsets[piece.bar].add(piece.offset)
        if event.verses and event.bar < len(sung):
            sung[event.bar] += 1
    for index in range(len(score.bars)):
        found.append(_BAR + _ONSET * len(onsets[index]) + _SIGN * sung[index])
    return found
