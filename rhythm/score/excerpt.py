"""Some of a score to look at or to hear: one run of bars, one part, one voice."""

from __future__ import annotations

from rhythm.exact.errors import RequestError
from rhythm.score.concatenation import extract
from rhythm.score.model import Part, Score
from rhythm.score.passages import bars_named

__all__ = ["excerpt"]


def excerpt(
    score: Score, *, bars: str | None = None, part: str | None = None, voice: str | None = None
) -> Score:
    """The score narrowed to ``bars`` (one run, such as ``5-8``), a ``part`` and a ``voice``.

    ``part`` is an id or a name; ``voice`` is a voice's name, looked for in every part that is left.
    Raises RequestError for what the score does not have, and for bars that are no single run.
    """
    if part is not None or voice is not None:
        score = score.replace(parts=_chosen(score, part, voice))
    if bars is None:
        return score
    named = bars_named(score.bars, bars)
    if named[-1] - named[0] + 1 != len(named):
        raise RequestError(f"the bars {bars} have gaps", legal="name one run of bars, such as 5-8")
    return extract(score, named[0], named[-1])


def _chosen(score: Score, part: str | None, voice: str | None) -> tuple[Part, ...]:
    parts = [each for each in score.parts if part is None or part in (each.id, each.name)]
    if not parts:
        names = ", ".join(each.name or each.id for each in score.parts)
        raise RequestError(f"there is no part {part!r}", legal=f"there are {names}")
    if voice is None:
        return tuple(parts)
    found = [_alone(each, voice) for each in parts if any(v.name == voice for v in each.voices)]
    if not found:
        names = ", ".join(dict.fromkeys(v.name for each in parts for v in each.voices))
        raise RequestError(f"there is no voice {voice!r}", legal=f"there are {names}")
    return tuple(found)


def _alone(part: Part, voice: str) -> Part:
    """The part with this voice only, to be written afresh."""
    return part.replace(
        bars=tuple(bar.replace(source=None) for bar in part.bars),
        voices=tuple(each for each in part.voices if each.name == voice),
    )
