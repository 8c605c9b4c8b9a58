"""Fair copies: a score written out afresh in its own metres, as a copyist does who only heard it.

Every event keeps its onset and duration; values, dots, ties, rests, tuplets and beams are chosen
anew by :mod:`rhythm.notate.score_notation`. This is also how notation is measured: the fair copy of
a score that an editor wrote should look as the editor had it.
"""

from __future__ import annotations

from rhythm.notate.manner import in_manner
from rhythm.notate.score_notation import spell_score
from rhythm.score.conservation import require_conserved
from rhythm.score.model import Score

__all__ = ["faircopy"]


def faircopy(score: Score, keep: bool = False, *, manner: str | Score = "house") -> Score:
    """``score`` written afresh from onsets and durations alone.

    ``keep`` honours the tuplets, double dots and beams it was written with, and leaves out the
    numbers of tuplets that it left out. ``manner`` says how what handbooks leave open is written:
    as the ``house`` does, as the ``source``'s editor did, or as the editor of another score.
    """
    score = in_manner(score, manner)
    parts = tuple(
        part.replace(bars=tuple(bar.replace(source=None, remarks=()) for bar in part.bars))
        for part in score.parts
    )
    copy = spell_score(score.replace(parts=parts, afresh=not keep), keep=keep, hints=keep)
    require_conserved(score, copy)
    return copy
