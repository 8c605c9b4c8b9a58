"""Which bars a player's part should take over from the score: those at fault, and those it lacks.

A rest in place of a lost note makes a bar add up and leaves the player silent. Where the score is
at hand it says what the bar should hold. It is believed only where the part is plainly its copy,
note for note, and where the score itself is right.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

from gmpy2 import mpq

from rhythm.check.ledger import check
from rhythm.check.ledger_rows import Finding
from rhythm.check.phrasing import bar_name
from rhythm.check.rehearsal import Held, hold
from rhythm.check.survey import PartBar
from rhythm.exact.frozen import dataclass
from rhythm.score.model import Score

__all__ = ["BarStep", "Copying", "copies"]

_NOT_OF_A_BAR = frozenset({"signature", "missing", "surplus", "bar-line", "number"})
_ENOUGH = mpq(4, 5)  # of the bars


@dataclass(frozen=True, slots=True)
class BarStep:
    """Bars of the part (``own``) and of the score (``theirs``); ``take`` the score's.

    ``said`` is what was found there, ``done`` what taking them does about it.
    """

    own: tuple[int, ...]
    theirs: tuple[int, ...]
    take: bool = False
    said: tuple[Finding, ...] = ()
    done: str = ""


@dataclass(frozen=True, slots=True)
class Copying:
    """The steps through all bars of part ``which`` beside part ``other`` of the score."""

    which: int
    other: int
    steps: tuple[BarStep, ...]

    @property
    def is_idle(self) -> bool:
        """Nothing is to be taken over."""
        return not any(step.take or step.done for step in self.steps)


def copies(player: Score, score: Score, wants: Callable[[int], bool]) -> Iterator[Copying]:
    """What each part should take over; ``wants`` tells the bars (by index) that may be touched."""
    faults = check(player).faults
    wrong = frozenset(
        (each.part, each.index) for each in check(score).faults if each.kind not in _NOT_OF_A_BAR
    )
    for held in hold(player, score):
        if not _is_copy(held):
            continue
        name = player.parts[held.which].id
        doubtful = {at for part, at in wrong if part == score.parts[held.other].id}
        own = [each for each in faults if each.part == name]
        yield Copying(held.which, held.other, tuple(_steps(held, own, doubtful, wants)))


def _is_copy(held: Held) -> bool:
    """Does the part have the score's very notes, in bars enough to be believed?"""
    pairs = [
        (mine, theirs)
        for mine, theirs in zip(held.laid, held.model, strict=True)
        if not mine.absent and (_plays(mine) or _plays(theirs))
    ]
    same = sum(_notes(mine) == _notes(theirs) for mine, theirs in pairs)
    return bool(pairs) and same >= _ENOUGH * len(pairs)


def _plays(slot: PartBar) -> bool:
    return any(not event.is_rest for stretch in slot.firm for _, event in stretch.shown)


def _notes(slot: PartBar) -> tuple[object, ...]:
    """What is played in a bar: where, how long, what."""
    found = []
    for stretch in slot.firm:
        for piece, event in stretch.shown:
            if not event.is_rest:
                found.append((piece.offset, piece.duration, str(sorted(map(str, event.pitches)))))
    return tuple(sorted(found))


def _steps(
    held: Held, faults: Sequence[Finding], doubtful: set[int], wants: Callable[[int], bool]
) -> Iterator[BarStep]:
    misfits = {each.at: each for each in held.misfits if each.kind in ("joined", "divided")}
    surplus = {each.own for each in held.misfits if each.kind == "surplus"}
    marked = _marked(held, faults)
    own = at = 0
    renumbered = False
    while at < len(held.model) or own < len(held.own):
        if own in surplus or at == len(held.model):
            gone = wants(own) and not _plays(held.own[own])
            said = _found(held, "surplus", own)
            number = bar_name(held.own[own].bar.number)
            yield BarStep((own,), (), gone, said, f"the empty bar {number} taken out" * gone)
            own += 1
            continue
        number = bar_name(held.model[at].bar.number)
        misfit = misfits.get(at)
        if held.laid[at].missing:
            take = at not in doubtful and wants(max(own - 1, 0))
            said = _found(held, "missing", at)
            yield BarStep((), (at,), take, said, f"bar {number} put in from the score" * take)
            at += 1
            continue
        mine: tuple[int, ...] = (own,)
        theirs: tuple[int, ...] = (at,)
        if misfit is not None and misfit.kind == "joined":
            theirs = (at, at + 1)
        elif misfit is not None:
            mine = (own, own + 1)
        said = tuple(
            each for place in mine for each in marked.get(place, ()) if each.kind != "number"
        )
        differs = misfit is not None or _notes(held.own[own]) != _notes(held.model[at])
        take = bool(said or own in marked) and differs and wants(own) and not doubtful & {*theirs}
        done = f"bar {number} taken from the score" if take and said else ""
        if not renumbered and not take and held.own[own].bar.number != held.model[at].bar.number:
            said, done = tuple(each for each in marked.get(own, ()) if each.kind == "number"), ""
            renumbered = bool(said)
            done = f"numbered {number} as in the score" * renumbered
        yield BarStep(mine, theirs, take, said if take or done else (), done)
        own, at = own + len(mine), at + len(theirs)


def _found(held: Held, kind: str, index: int) -> tuple[Finding, ...]:
    return tuple(each for each in held.found if each.kind == kind and each.index == index)


def _marked(held: Held, faults: Sequence[Finding]) -> dict[int, list[Finding]]:
    """What is found in the bars of the part; a tie may be broken by the bar behind it."""
    found: dict[int, list[Finding]] = {}
    for each in faults:
        if each.kind not in _NOT_OF_A_BAR:
            found.setdefault(each.index, []).append(each)
    for each in held.found:
        if each.kind in ("length", "bar-line", "number"):
            found.setdefault(each.index, []).append(each)
    for index, ties in [(at, [f for f in own if f.kind == "tie"]) for at, own in found.items()]:
        if ties:
            found.setdefault(index + 1, []).extend(ties)
    return found
