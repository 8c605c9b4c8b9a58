"""The verbs whose results may be counted: restating and varying, with syllables under the notes.

Counting belongs to practice, restating and varying to transform; these two join them, so that every
option of a command is a keyword of its function.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable

from rhythm.score.model import Score
from rhythm.transform import restate as restating
from rhythm.transform import vary as varying
from rhythm.transform.targets import Target

__all__ = ["restate", "vary"]


def restate(
    score: Score,
    to: Target,
    *,
    by: str | None = None,
    lilt: str = "trochee",
    fit: str | None = None,
    tempo: str = "beat",
    bars: str | Collection[int] | None = None,
    place: str = "here",
    mapping: str | None = None,
    count: str | None = None,
) -> Score:
    """The score in another metre or feel; see :func:`rhythm.transform.restate.restated`.

    ``count`` names a way of counting (numbers, takadimi, gordon, kodaly) to write under the notes.
    """
    chosen = {} if fit is None else {"fit": fit}
    result = restating.restate(
        score,
        to,
        by=by,
        lilt=lilt,
        tempo=tempo,
        bars=bars,
        place=place,
        mapping=mapping,
        **chosen,
    )
    return _counted(result, count)


def vary(
    score: Score,
    by: str | Iterable[str],
    *,
    bars: str | None = None,
    part: str | None = None,
    voice: str | None = None,
    count: str | None = None,
) -> Score:
    """The score put through rhythmic devices; see :func:`rhythm.transform.vary.vary`.

    ``count`` names a way of counting (numbers, takadimi, gordon, kodaly) to write under the notes.
    """
    return _counted(varying.vary(score, by, bars=bars, part=part, voice=voice), count)


def _counted(score: Score, system: str | None) -> Score:
    if system is None:
        return score
    from rhythm.practice.counting import count

    return count(score, system)
