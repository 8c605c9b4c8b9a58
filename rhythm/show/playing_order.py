"""The order in which bars are played: repeats and endings followed, the page unfolded.

Conventions
-----------
Bars are named by index. A repeat without endings is played as often as it says, or twice. Endings
are played in the turns their brackets name (``1, 2`` in the first and second); the turn after the
last one named leaves the repeat. A backward repeat with no forward one returns to the end of the
repeat before it, or to the beginning. No repeat is played more than 99 times, whatever it says.
Words that send the player elsewhere (da capo, dal segno) are not followed.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from rhythm.score.model import Bar

__all__ = ["playing_order"]

_TURNS = 2  # how often a repeat is played where nothing says otherwise
_MOST_TURNS = 99


def playing_order(bars: Sequence[Bar]) -> list[int]:
    """Indices of ``bars`` in the order in which they sound."""
    endings = _endings(bars)
    order: list[int] = []
    start, turn, index = 0, 1, 0
    while index < len(bars):
        bar, ending = bars[index], endings[index]
        if bar.left is not None and bar.left.repeat == "forward" and index != start:
            start, turn = index, 1
        if ending and turn not in ending:
            index += 1
            continue
        order.append(index)
        backward = bar.right is not None and bar.right.repeat == "backward"
        if backward and turn < _turns(bars, endings, index):
            turn, index = turn + 1, start
            continue
        leaves_endings = bool(ending) and not (index + 1 < len(bars) and endings[index + 1])
        if backward or leaves_endings:
            start, turn = index + 1, 1
        index += 1
    return order


def _endings(bars: Sequence[Bar]) -> list[frozenset[int]]:
    """For every bar the turns in which it is played; empty where no ending bracket is over it."""
    found: list[frozenset[int]] = []
    current: frozenset[int] = frozenset()
    for bar in bars:
        if bar.left is not None and bar.left.ending_type == "start":
            current = frozenset(int(n) for n in re.findall(r"\d+", bar.left.ending))
        found.append(current)
        if bar.right is not None and bar.right.ending_type in ("stop", "discontinue"):
            current = frozenset()
    return found


def _turns(bars: Sequence[Bar], endings: Sequence[frozenset[int]], index: int) -> int:
    """How many turns the repeat that closes at ``index`` has: what it or the last ending says."""
    line = bars[index].right
    if not endings[index]:
        said = line.times if line is not None and line.times is not None else _TURNS
        return min(said, _MOST_TURNS)
    highest = _TURNS
    for ending in endings[index:]:
        if not ending:
            break
        highest = max(highest, *ending)
    return min(highest, _MOST_TURNS)
