"""A player's part held against the score: the same bars, by number, metre and length.

In a rehearsal everybody counts from the same numbers. A part that lacks a bar, has one too many,
calls bars otherwise or counts another metre stops the players; none of it shows in the part alone.
"""

from __future__ import annotations

from dataclasses import replace

from gmpy2 import mpq

from rhythm.check.bar_alignment import align_to
from rhythm.check.findings import FindingLog
from rhythm.check.ledger import check
from rhythm.check.ledger_rows import Finding
from rhythm.check.phrasing import bar_name
from rhythm.check.score_findings import tell_misfit
from rhythm.check.survey import PartBar, survey
from rhythm.exact.metre import Metre
from rhythm.score.model import Score
from rhythm.score.uncollected import uncollected

__all__ = ["compare"]

ZERO = mpq(0)


def compare(part: Score, score: Score) -> tuple[Finding, ...]:
    """What sets a player's part apart from the score, in order of bars; each a fault.

    The player's first part is held against the part of the score that has its name, or the first.
    What :func:`~rhythm.check.ledger.check` says of the part alone is not said again.
    """
    with uncollected():
        if not part.parts or not score.parts:
            return ()
        return _compare(part, score)


def _compare(part: Score, score: Score) -> tuple[Finding, ...]:
    own = survey(part)[0]
    player = part.parts[0]
    like = next((i for i, each in enumerate(score.parts) if each.name == player.name), 0)
    model = survey(score)[like]
    laid, misfits = align_to(model, own)
    columns = [[one, other] for one, other in zip(model, laid, strict=True)]
    said = {fault.index for fault in check(part).faults}
    desks = [FindingLog(player.id, slot.bar, 1) for slot in laid]
    for misfit in misfits:
        if misfit.kind in ("joined", "divided") and misfit.own in said:
            continue
        tell_misfit(misfit, columns, desks[misfit.at], player)
    odd = False
    for (theirs, mine), desk in zip(columns, desks, strict=True):
        if mine.absent:
            continue
        odd = _hold(theirs, mine, desk, odd, mine.bar.index in said)
    return tuple(
        replace(finding, place=f"bar {bar_name(finding.number)}",
                message=_of_score(finding.message),
                fix=finding.fix.replace("the parts would agree", "it would agree"))
        for desk in desks
        for finding in desk.found
    )  # fmt: skip


def _of_score(message: str) -> str:
    """What is said of parts among themselves, said of a part and its score."""
    for parts, score in (
        ("the other parts have", "the score has"),
        ("the other parts", "the score"),
        ("the others", "the score"),
    ):
        message = message.replace(parts, score)
    return message


def _hold(theirs: PartBar, mine: PartBar, desk: FindingLog, odd: bool, known: bool) -> bool:
    """Hold one bar against the score's; a metre that differs is said where it begins to."""
    metre, other = mine.bar.metre, theirs.bar.metre
    differs = metre is not None and other is not None and _shape(metre) != _shape(other)
    if differs and not (odd or known):
        message = f"counts {metre} where the score has {other}"
        desk.fault("signature", "", ZERO, message, mine.metre - theirs.metre)
    held, length = mine.held, theirs.held
    comparable = not (differs or known or _rests(theirs) or _rests(mine))
    if comparable and held is not None and length is not None and held != length:
        message = f"holds {desk.held(held)} where the score's bar holds {desk.held(length)}"
        desk.fault("length", "", min(held, length), message, held - length)
    return differs


def _shape(metre: Metre) -> object:
    return metre.terms


def _rests(slot: PartBar) -> bool:
    """Is there nothing but rests, whose writing is the part's own affair?"""
    return all(event.is_rest for stretch in slot.firm for _, event in stretch.shown)
