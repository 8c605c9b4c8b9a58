"""The verbs that join layers: restating and varying with counting, and proven practice sheets.

Counting belongs to practice, restating and varying to transform, titles and proof to the formats;
they are joined here, so that every option of a command is a keyword of its function. ``restate``
and ``vary`` give the score alone; ``restated`` and ``varied`` report as well, and ``counted`` takes
what they report. Each imports what it needs when it is called.
"""

from __future__ import annotations

import os
from collections.abc import Collection, Iterable
from typing import TYPE_CHECKING

from gmpy2 import mpq

from rhythm.score.model import Score

if TYPE_CHECKING:
    from rhythm.exact.warp import Warp
    from rhythm.practice.exercises import Sheet
    from rhythm.practice.plan import Plan
    from rhythm.transform.restate import Restated
    from rhythm.transform.targets import Target
    from rhythm.transform.vary import Varied

__all__ = ["counted", "exercises", "restate", "vary"]


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

    ``count`` names a way of counting (numbers, takadimi, gordon, kodaly) to write under the notes
    of what was restated.
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
    return counted(done, count)


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

    ``count`` names a way of counting (numbers, takadimi, gordon, kodaly) to write under the notes
    of what was varied.
    """
    from rhythm.transform.vary import varied

    done = varied(score, by, bars=bars, part=part, voice=voice)
    return counted(done, count, part=part, voice=voice)


def exercises(
    theme: Score,
    plan: Plan | str | os.PathLike[str] | None = None,
    *,
    seed: int | None = None,
    only: str | None = None,
    count: str | None = None,
    most: int | None = None,
    grades: tuple[mpq, mpq] | str | None = None,
    bars: str | None = None,
    part: str | None = None,
    voice: str | None = None,
    title: str | None = None,
) -> Sheet:
    """A sheet of exercises made of ``theme``; see :func:`rhythm.practice.exercises.exercises`.

    Every exercise is written and read back before it is taken, and the sheet is titled after the
    theme where neither ``title`` nor the plan gives it another.
    """
    from rhythm.formats.musicxml.saving import proven
    from rhythm.formats.musicxml.titles import title_of
    from rhythm.practice import exercises as practice

    return practice.exercises(
        theme.replace(title=title_of(theme)),
        plan,
        seed=seed,
        only=only,
        count=count,
        most=most,
        grades=grades,
        bars=bars,
        part=part,
        voice=voice,
        title=title,
        proof=proven,
    )


def counted(
    done: Restated | Varied,
    system: str | None,
    *,
    part: str | None = None,
    voice: str | None = None,
) -> Score:
    """The score that was made, with syllables under the passage it was made of.

    Bars outside the passage stay as they were. ``part`` and ``voice`` are those that were asked
    for. None for ``system`` counts nothing.
    """
    if system is None:
        return done.score
    from rhythm.practice.counting import count

    return count(done.score, system, part, voice, bars=done.passage)
