"""Halves of one bar on two sides of a change of metre, brought back to the metre they share.

A bar split by a double bar may end in another metre than it began in: two quarters of 3/4, then a
quarter that is an upbeat in 4/4. Together they make one bar. Where both go to the same metre, each
restated from its own would leave them too short or too long for it; so the second is restated as
what it is, the end of the first.
"""

from __future__ import annotations

from collections.abc import Sequence

from rhythm.restate.targets import BarMap
from rhythm.score.model import Bar, Score

__all__ = ["joined_halves"]


def joined_halves(score: Score, maps: Sequence[BarMap | None]) -> tuple[Score, list[BarMap | None]]:
    """The score with second halves placed in the metre of their first, and the maps to match."""
    made = list(maps)
    changed: dict[int, Bar] = {}
    bars = score.bars
    for index in range(1, len(bars)):
        bar, before = bars[index], changed.get(index - 1, bars[index - 1])
        here, there = made[index], made[index - 1]
        if here is None or there is None or before.metre is None:
            continue
        passed = before.shift + before.length
        continues = bar.shift > 0 and bar.metre != before.metre
        fills = before.length > 0 and passed + bar.length == before.metre.length
        if continues and fills and here.written.signature == there.written.signature:
            made[index] = there
            changed[index] = bar.replace(metre=before.metre, shift=passed)
    if not changed:
        return score, made
    parts = tuple(
        part.replace(
            bars=tuple(
                bar.replace(
                    metre=changed[bar.index].metre,
                    shift=changed[bar.index].shift,
                    shows_metre=False,
                )
                if bar.index in changed
                else bar
                for bar in part.bars
            )
        )
        for part in score.parts
    )
    return score.replace(parts=parts), made
