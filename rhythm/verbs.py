"""The verbs whose results may be counted: restating and varying, with syllables under the notes.

Counting belongs to practice, restating and varying to transform; these two join them, so that
every option of a command is a keyword of its function. They give the score alone; ``restated`` and
``varied`` report as well. Each imports what it needs when it is called.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from typing import TYPE_CHECKING

from rhythm.score.model import Score

if TYPE_CHECKING:
    from rhythm.exact.warp import Warp
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
    mapping: str | Warp | None = None,
    count: str | None = None,
) -> Score:
    """The score in another metre or feel; see :func:`rhythm.transform.restate.restated`.

    ``count`` names a way of counting (numbers, takadimi, gordon, kodaly) to write under the notes.
    """
    from rhythm.transform.restate import restated

    done = restated(
        score,
        to,
        by=by,
        lilt=lilt,
        fit=fit,
        tempo=tempo,
        bars=bars,
        place=place,
        mapping=mapping,
    )
    return _counted(done.score, count)


def vary(
    score: Score,
    by: str | Iterable[str],
    *,
    bars: str | None = None,
    part: str | None = None,
    voice: str | None = None,
    count: str | None = None,
) -> Score:
    """The score put through rhythmic devices; see :func:`rhythm.transform.vary.varied`.

    ``count`` names a way of counting (numbers, takadimi, gordon, kodaly) to write under the notes.
    """
    from rhythm.transform.vary import varied

    return _counted(varied(score, by, bars=bars, part=part, voice=voice).score, count)


def _counted(score: Score, system: str | None) -> Score:
    if system is None:
        return score
    from rhythm.practice.counting import count

    return count(score, system)
