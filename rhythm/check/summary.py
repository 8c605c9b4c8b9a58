"""A score at a glance: bars, voices, metres in use, and how long it lasts.

Conventions
-----------
Lengths are whole notes as written; repeats are not played. A tempo is quarters per minute, so a
whole note at tempo *t* lasts 240/t seconds. Everything is exact.
"""

from __future__ import annotations

import re
from collections import Counter

from gmpy2 import mpq

from rhythm.check.rows import Summary
from rhythm.score.model import Mark, Score

__all__ = ["summarise"]

_NUMBER = re.compile(r"\d{1,6}(?:\.\d{1,6})?")


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
    tempos: dict[mpq, mpq] = {}
    for part in score.parts:
        for mark in part.marks:
            tempo = _tempo_of(mark)
            if tempo:
                tempos.setdefault(mark.onset + mark.reach, tempo)
    if not tempos:
        return None, score.length
    moments = sorted(tempos)
    seconds = mpq(0)
    for moment, after in zip(moments, [*moments[1:], score.length], strict=True):
        if after > moment:
            seconds += (after - moment) * 240 / tempos[moment]
    return seconds, max(moments[0], mpq(0))


def _tempo_of(mark: Mark) -> mpq | None:
    """Quarters per minute: what the playback says, else the metronome mark."""
    if mark.tempo:
        return mark.tempo if mark.tempo > 0 else None
    if mark.metronome is None or mark.metronome.other is not None:
        return None
    found = _NUMBER.search(mark.metronome.per_minute)
    if not found:
        return None
    whole, _, part = found.group().partition(".")
    return mpq(int(whole + part), 10 ** len(part)) * mark.metronome.unit * 4 or None
