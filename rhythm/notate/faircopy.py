"""Fair copies: a score written out afresh in its own metres, as a copyist does who only heard it.

Every event keeps its onset and duration; values, dots, ties, rests, tuplets and beams are chosen
anew by :mod:`rhythm.notate.score_notation`. This is also how notation is measured: the fair copy of
a score that an editor wrote should look as the editor had it.
"""

from __future__ import annotations

from rhythm.notate.legible import refused
from rhythm.notate.manner import in_manner
from rhythm.notate.score_notation import spell_score
from rhythm.score.conservation import require_conserved
from rhythm.score.model import Score
from rhythm.score.readable import strains

__all__ = ["faircopy"]


def faircopy(score: Score, keep: bool = False, *, manner: str | Score = "house") -> Score:
    """``score`` written afresh from onsets and durations alone.

    ``keep`` honours the tuplets, double dots and beams it was written with, and leaves out the
    numbers of tuplets that it left out. A bar that only symbols could write which nobody reads
    (:mod:`rhythm.score.readable`) stays as the source wrote it; MusicError where that is no better.
    ``manner`` says how what handbooks leave open is written:
    as the ``house`` does, as the ``source``'s editor did, or as the editor of another score.
    """
    score = in_manner(score, manner)
    parts = tuple(
        part.replace(bars=tuple(bar.replace(source=None, remarks=()) for bar in part.bars))
        for part in score.parts
    )
    fresh = score.replace(parts=parts, afresh=not keep)
    copy = spell_score(fresh, keep=keep, hints=keep)
    strained = strains(copy, score)
    if strained:
        spared = {(strain.part, strain.voice, strain.bar) for strain in strained}
        copy = spell_score(fresh, keep=keep, hints=keep, spared=spared)
        still = [strain for strain in strains(copy, score) if strain.kind != "lone"]
        if still:
            raise refused(copy, still[0])
    require_conserved(score, copy)
    return copy
