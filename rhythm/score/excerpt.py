"""Some of a score to look at or to hear: one run of bars, one part, one voice."""

from __future__ import annotations

from rhythm.score.concatenation import extract
from rhythm.score.model import Part, Score
from rhythm.score.select import Bars, select

__all__ = ["excerpt"]


def excerpt(
    score: Score,
    *,
    bars: str | Bars | None = None,
    part: str | None = None,
    voice: str | None = None,
) -> Score:
    """The score narrowed to ``bars`` (one run, such as ``5-8``), a ``part`` and a ``voice``.

    ``part`` is an id or a name; ``voice`` is a voice's name, looked for in every part that is left.
    Raises RequestError for what the score does not have, and for bars that are no single run.
    """
    wanted = select(score, bars=bars, part=part, voice=voice)
    if not wanted.has_all_voices:
        parts = (score.parts[p] for p in wanted.parts)
        score = score.replace(
            parts=tuple(each if voice is None else _alone(each, voice) for each in parts)
        )
    return score if wanted.bars is None else extract(score, *wanted.run)


def _alone(part: Part, voice: str) -> Part:
    """The part with this voice only."""
    return part.replace(voices=tuple(each for each in part.voices if each.name == voice))
