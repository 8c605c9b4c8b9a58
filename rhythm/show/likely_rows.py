"""The rows of a page before anything else of it is known: what can be drawn at once.

Conventions
-----------
Widths are as in :mod:`rhythm.show.laid_out`. Nothing here needs what is heard or told of the music.
"""

from __future__ import annotations

from collections.abc import Sequence

from rhythm.score.model import Score
from rhythm.show.laid_out import Column, LaidOut, lay_out
from rhythm.show.line_breaking import likely_widths

__all__ = ["NARROW", "WIDE", "likely_rows", "shown"]

WIDE, NARROW = 2000, 950
"""The width of a row, and of one for a small screen."""


def likely_rows(
    score: Score,
    before: Score | None,
    width: int,
    measured: Sequence[int],
    exact: Sequence[int] | None = None,
) -> LaidOut:
    """The rows of ``score``, or of ``before`` and ``score``, in this width.

    ``measured`` are the widths of the first version; those of the other are taken after them, which
    spares the engraver, where they are not ``exact``.
    """
    if before is None:
        bars = [(range(0), range(bar.index, bar.index + 1)) for bar in score.bars]
        return lay_out([score], ["b"], bars, [measured], width)
    from rhythm.show.mapping import columns, mapped

    shared = shown(columns(before, score, mapped(before, score, bare=True)))
    widths = [measured, exact or likely_widths(score, before, measured)]
    return lay_out([before, score], ["a", "b"], shared, widths, width)


def shown(found: list[Column]) -> list[Column]:
    """Without the bars around a passage that stands alone: they have no image."""
    first = next((i for i, (_, after) in enumerate(found) if after), 0)
    last = max((i for i, (_, after) in enumerate(found) if after), default=len(found) - 1)
    return found[first : last + 1]
