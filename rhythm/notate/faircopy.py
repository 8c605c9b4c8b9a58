"""Fair copies: a score written out afresh in its own metres, as a copyist does who only heard it.

Every event keeps its onset and duration; values, dots, ties, rests, tuplets and beams are chosen
anew by :mod:`rhythm.notate.score_notation`. This is also how notation is measured: the fair copy of
a score that an editor wrote should look as the editor had it.
"""

from __future__ import annotations

from typing import Literal

from rhythm.notate.legible import refused
from rhythm.notate.manner import in_manner
from rhythm.notate.score_notation import spell_score
from rhythm.score.conservation import require_conserved
from rhythm.score.model import Score
from rhythm.score.readable import strains
from rhythm.score.select import Bars, select

__all__ = ["faircopy"]


def faircopy(
    score: Score,
    keep: bool = False,
    *,
    bars: str | Bars | None = None,
    part: str | None = None,
    voice: str | None = None,
    manner: Literal["source", "house"] | str | Score = "house",
) -> Score:
    """``score`` written afresh from onsets and durations alone.

    ``keep`` honours the tuplets, double dots and beams it was written with, and leaves out the
    numbers of tuplets that it left out. A bar that only symbols could write which nobody reads
    (:mod:`rhythm.score.readable`) stays as the source wrote it; MusicError where that is no better.
    ``manner`` says how what handbooks leave open is written:
    as the ``house`` does, as the ``source``'s editor did, or as the editor of another score.
    ``bars`` (``5-8``), ``part`` and ``voice`` say what is written afresh (all where they are None);
    the rest stays as it is. Raises RequestError for what the score does not have.
    """
    wanted = select(score, bars=bars, part=part, voice=voice)
    score = in_manner(score, manner)
    chosen = None if wanted.bars is None else frozenset(wanted.bars)
    left = {
        (p, v, bar.index)
        for p, each in enumerate(score.parts)
        for v, line in enumerate(each.voices)
        if not wanted.has_voice(p, line.name)
        for bar in each.bars
    }
    parts = (
        each.replace(
            bars=tuple(
                bar.replace(source=None, remarks=()) if wanted.has_bar(bar.index) else bar
                for bar in each.bars
            )
        )
        if p in wanted.parts
        else each
        for p, each in enumerate(score.parts)
    )
    fresh = score.replace(parts=tuple(parts), afresh=not keep)
    copy = spell_score(fresh, keep=keep, hints=keep, bars=chosen, spared=left)
    strained = strains(copy, score)
    if strained:
        spared = {(strain.part, strain.voice, strain.bar) for strain in strained}
        copy = spell_score(fresh, keep=keep, hints=keep, bars=chosen, spared=spared | left)
        still = [strain for strain in strains(copy, score) if strain.kind != "lone"]
        if still:
            raise refused(copy, still[0])
    require_conserved(score, copy)
    return copy
