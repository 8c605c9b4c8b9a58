"""Players' parts put right by the score: checking finds the bars, the files hand them over.

Both are joined here, since a layer that checks does not know files.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from rhythm.score.model import Score
from rhythm.score.select import Bars, select

if TYPE_CHECKING:
    from rhythm.check.mending import Mended, Way
    from rhythm.score.outcome import Outcome

__all__ = ["mended_by"]


def mended_by(
    player: Score,
    score: Score,
    how: Way = "least",
    *,
    bars: str | Bars | None = None,
    remarks: bool = False,
    manner: str | Score = "source",
) -> Outcome[Mended]:
    """A player's part put right by the score that it was copied from.

    Bars that the part lacks, and bars at fault in which the score is right, are taken over from the
    score; what is left is mended as :func:`~rhythm.check.mending.mend` does it. A part that has
    not the score's very notes (it is written in another key, or another edition) takes nothing
    over. ``how``, ``bars``, ``remarks`` and ``manner`` are as there. What sets the part apart from
    the score even then is among what is left.
    """
    from rhythm.check.mending import Deed, Mended, mend
    from rhythm.check.part_copies import copies
    from rhythm.check.rehearsal import compare
    from rhythm.formats.musicxml.graft import Step, graft
    from rhythm.score.outcome import Outcome

    wanted = select(player, bars=bars)
    deeds: dict[int, Deed] = {}
    made = player
    for copying in copies(player, score, wanted.has_bar):
        if copying.is_idle:
            continue
        steps = [Step(each.own, each.theirs, each.take) for each in copying.steps]
        made = graft(made, copying.which, score, copying.other, steps)
        for step in copying.steps:
            for finding in step.said[:1] if step.done else ():
                deeds.setdefault(id(finding), Deed(finding, step.done))
    rest = mend.outcome(made, how, bars=bars, remarks=remarks, manner=manner)
    apart = tuple(Deed(finding, "only by hand") for finding in compare(rest.score, score))
    report = Mended((*deeds.values(), *rest.report.deeds), (*rest.report.left, *apart))
    return Outcome(rest.score, rest.passage, report)
