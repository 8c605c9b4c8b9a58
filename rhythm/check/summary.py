"""A score at a glance: bars, voices, metres in use, and how long it lasts.

Conventions
-----------
Lengths are whole notes as written; repeats are not played. Everything is exact.
"""

from __future__ import annotations

from collections import Counter

from gmpy2 import mpq

from rhythm.check.ledger_rows import Summary
from rhythm.score.model import Score
from rhythm.score.tempo import tempi

__all__ = ["summarise"]


def summarise(score: Score) -> Summary:
    """The summary of a score."""
    metres: Counter[str] = Counter()
    for bar in score.bars:
        if bar.metre is not None:
            metres[str(bar.metre)] += 1
    seconds, untimed = _time(score)
    return Summary(
        bars=len(score.bars),
        voices=sum(len(part.voices) for part in score.parts),
        metres=tuple(metres.most_common()),
        length=score.length,
        seconds=seconds,
        untimed=untimed,
    )


def _time(score: Score) -> tuple[mpq | None, mpq]:
    """The seconds it lasts from its first tempo on, and how much goes before that."""
    marked = tempi(score)
    if not marked:
        return None, score.length
    ends = [*(tempo.moment for tempo in marked[1:]), score.length]
    seconds = (
        (end - tempo.moment) * 240 / tempo.quarters for tempo, end in zip(marked, ends, strict=True)
    )
    return sum(seconds, mpq(0)), marked[0].moment
