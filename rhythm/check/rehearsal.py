"""A player's part held against the score: the same bars, by number, metre and length.

In a rehearsal everybody counts from the same numbers. A part that lacks a bar, has one too many,
calls bars otherwise or counts another metre stops the players; none of it shows in the part alone.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import replace

from gmpy2 import mpq

from rhythm.check.bar_alignment import Misfit, align_to
from rhythm.check.findings import FindingLog
from rhythm.check.ledger import check
from rhythm.check.ledger_rows import Finding
from rhythm.check.phrasing import bar_name
from rhythm.check.score_findings import tell_misfit
from rhythm.check.survey import PartBar, survey
from rhythm.exact.frozen import dataclass
from rhythm.exact.metre import Metre
from rhythm.score.model import Part, Score
from rhythm.score.uncollected import uncollected

__all__ = ["Held", "compare", "hold"]

ZERO = mpq(0)


def compare(player: Score, score: Score) -> tuple[Finding, ...]:
    """What sets a player's part apart from the score, in order of bars; each a fault.

    Each part of ``player`` is held against the part of the score that has its name, else against
    the one whose music is most like its own. What :func:`~rhythm.check.ledger.check` says of the
    player's part alone is not said again.
    """
    with uncollected():
        if not player.parts or not score.parts:
            return ()
        return tuple(finding for held in hold(player, score) for finding in held.found)


@dataclass(frozen=True, slots=True)
class Held:
    """A player's part beside its part of the score, each by its index.

    ``own`` and ``model`` are their bars; ``laid`` has the bar of the part for every bar of the
    score, ``misfits`` what had to be done for that, ``found`` what sets the part apart.
    """

    which: int
    other: int
    own: Sequence[PartBar]
    model: Sequence[PartBar]
    laid: Sequence[PartBar]
    misfits: Sequence[Misfit]
    found: tuple[Finding, ...]


def hold(player: Score, score: Score) -> Iterator[Held]:
    """Hold each part of ``player`` against its part of the score."""
    model = survey(score)
    known = check(player).faults
    for which, (part, own) in enumerate(zip(player.parts, survey(player), strict=True)):
        other = _like(part, own, score.parts, model)
        yield _held(which, part, own, other, model[other], known)


def _like(
    part: Part,
    own: Sequence[PartBar],
    parts: Sequence[Part],
    model: Sequence[Sequence[PartBar]],
) -> int:
    """Which part of the score this is the player's copy of."""
    name = part.name.casefold()
    for which, other in enumerate(parts):
        if name and other.name.casefold() == name:
            return which
    music = Counter(map(_music, own))
    shared = [(music & Counter(map(_music, bars))).total() for bars in model]
    return shared.index(max(shared))


def _music(slot: PartBar) -> tuple[object, ...]:
    """What is played in a bar, whatever key it is written in."""
    found = sorted(
        (piece.offset, piece.duration, event.is_rest, event.pitches[0].midi if event.pitches else 0)
        for stretch in slot.firm
        for piece, event in stretch.shown
    )
    first = next((height for _, _, _, height in found if height), mpq(0))
    return tuple((at, lasts, rest, height and height - first) for at, lasts, rest, height in found)


def _held(
    which: int,
    part: Part,
    own: Sequence[PartBar],
    other: int,
    model: Sequence[PartBar],
    known: Sequence[Finding],
) -> Held:
    music = {id(slot): _music(slot) for slot in (*own, *model)}
    laid, misfits = align_to(model, own, part, lambda one, two: music[id(one)] == music[id(two)])
    columns = [[one, other] for one, other in zip(model, laid, strict=True)]
    said = {fault.index for fault in known if fault.part == part.id}
    desks = [FindingLog(part.id, slot.bar, 1) for slot in laid]
    for misfit in misfits:
        if misfit.kind in ("joined", "divided") and misfit.own in said:
            continue
        tell_misfit(misfit, columns, desks[misfit.at], part)
    odd = False
    for (theirs, mine), desk in zip(columns, desks, strict=True):
        if mine.absent:
            continue
        odd = _hold(theirs, mine, desk, odd, mine.bar.index in said)
    found = tuple(
        replace(
            finding,
            place=", ".join(filter(None, (part.name, f"bar {bar_name(finding.number)}"))),
            message=_of_score(finding.message),
            fix=finding.fix.replace("the parts would agree", "it would agree"),
        )
        for desk in desks
        for finding in desk.found
    )
    return Held(which, other, own, model, laid, misfits, found)


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
