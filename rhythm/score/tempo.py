"""How fast a score goes: the tempo marks of all its parts on one timeline.

Conventions
-----------
A tempo is in quarters a minute, so a whole note at tempo *t* lasts 240/t seconds. What sounds
(``sound``) goes before what is printed, an earlier part before a later one. A printed mark counts
by its first number ("ca. 60-66" is 60); a relation (quarter = dotted quarter) sets no tempo, and
neither does a number that is not above 0.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from typing import NamedTuple

from gmpy2 import mpq

from rhythm.score.model import Mark, Score

__all__ = ["Tempo", "tempi"]

_NUMBER = re.compile(r"-?\d{1,6}(?:\.\d{1,6})?")


class Tempo(NamedTuple):
    """From ``moment`` (whole notes from the start of the score), in the bar of index ``bar``."""

    moment: mpq
    bar: int
    quarters: mpq


def tempi(score: Score) -> list[Tempo]:
    """Every tempo of the score in order, one at a moment; none where nothing says one."""
    sounding: dict[mpq, mpq] = {}
    printed: dict[mpq, mpq] = {}
    for part in score.parts:
        for mark in part.marks:
            moment = max(mark.onset + mark.reach, mpq(0))
            if mark.tempo is not None and mark.tempo > 0:
                sounding.setdefault(moment, mark.tempo)
            elif (tempo := _printed(mark)) is not None:
                printed.setdefault(moment, tempo)
    starts = [bar.start for bar in score.bars]
    return [
        Tempo(moment, bisect_right(starts, moment) - 1, tempo)
        for moment, tempo in sorted((printed | sounding).items())
        if moment < score.length
    ]


def _printed(mark: Mark) -> mpq | None:
    if mark.metronome is None or mark.metronome.other is not None:
        return None
    found = _NUMBER.search(mark.metronome.per_minute)
    tempo = mpq(found.group()) * mark.metronome.unit * 4 if found else mpq(0)
    return tempo if tempo > 0 else None
