"""Putting right what the ledger finds wrong, without dropping or shortening a note.

Every fault names its remedy (:mod:`~rhythm.check.remedies`); mending does it, the least change
first, and looks again. What makes a bar worse, or no better, is undone and the bar left as it was:
one bad bar never stops the others. Bars in which nothing is at fault keep every element (only the
bar in which a signature is restored is written afresh), so a score without faults is returned as
it is.

How
---
``least`` does what each fault says: rests fill what is short, and a bar that all parts hold too
long gets a signature of its own. ``rests`` writes no new signature. ``metre`` lets the signature
follow the content wherever a bar holds another length, and restores it afterwards.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from typing import Literal, get_args

from gmpy2 import mpq

from rhythm.check.editor import Draft
from rhythm.check.ledger import check
from rhythm.check.ledger_rows import Finding
from rhythm.check.mend_bars import divide, drop_bar, insert_bars, join, renumber
from rhythm.check.mend_rests import complete, fill, give_ratio, trim
from rhythm.check.mend_signatures import follow, reprint
from rhythm.check.mend_ties import mark_other_end, take_off
from rhythm.check.mend_values import give_voice, settle_values, shift, write_afresh
from rhythm.check.remedies import ALL, ORDER, Remedy
from rhythm.exact.errors import MusicError, RequestError
from rhythm.exact.frozen import dataclass
from rhythm.exact.metre_of_length import simplest_metre
from rhythm.notate.manner import in_manner
from rhythm.score.model import Score
from rhythm.score.outcome import Outcome, Verb
from rhythm.score.select import Bars, select
from rhythm.score.uncollected import uncollected

__all__ = ["WAYS", "Deed", "Mended", "Way", "mend"]

Way = Literal["least", "metre", "rests"]
WAYS = get_args(Way)

_DOING: dict[str, Callable[[Draft, Remedy], str]] = {
    "line": divide, "join": join, "bar": insert_bars, "drop": drop_bar, "number": renumber,
    "signature": reprint, "afresh": write_afresh, "value": settle_values, "shift": shift,
    "voice": give_voice, "trim": trim, "tie": take_off, "tie-mark": mark_other_end,
    "ratio": give_ratio, "tuplet": complete, "rests": fill, "metre": follow,
}  # fmt: skip
_REBARRING = frozenset({"line", "join", "bar", "drop", "number", "signature"})
_MOST_ROUNDS = 12
_MOST_TOLD = 3


@dataclass(frozen=True, slots=True)
class Deed:
    """What was done about one fault: the fault, and what was done in words."""

    fault: Finding
    done: str


@dataclass(frozen=True, slots=True)
class Mended:
    """What was done in a score, and the faults that are left, each with its reason."""

    deeds: tuple[Deed, ...] = ()
    left: tuple[Deed, ...] = ()

    def __str__(self) -> str:
        if not self.deeds and not self.left:
            return "nothing to change: every bar adds up"
        count = len(self.deeds)
        facts = [f"{count} fault{'s' * (count != 1)} mended"]
        facts += [f"{deed.fault.place}: {deed.done}" for deed in self.deeds[:_MOST_TOLD]]
        if self.left:
            facts.append(f"{len(self.left)} left for a musician")
        return "; ".join(facts)

    def to_dict(self) -> dict[str, object]:
        """The same for JSON: ``line``, ``changed``; each fault under ``mended`` or ``left``."""
        mended, left = ([_data(deed) for deed in deeds] for deeds in (self.deeds, self.left))
        return {"line": str(self), "changed": bool(self.deeds), "mended": mended, "left": left}


def _data(deed: Deed) -> dict[str, object]:
    fault = deed.fault
    return {
        "part": fault.part,
        "bar": fault.number,
        "voice": fault.voice,
        "kind": fault.kind,
        "fault": fault.message,
        "done": deed.done,
    }


@Verb
def mend(
    score: Score,
    how: Way = "least",
    *,
    bars: str | Bars | None = None,
    remarks: bool = False,
    manner: str | Score = "source",
) -> Outcome[Mended]:
    """The score with its faults put right as far as that can be done.

    ``how`` is ``least``, ``rests`` or ``metre``; ``bars`` says where (all bars if None). With
    ``remarks`` what is only remarked is put right too, where it can be: durations and backups that
    are off by rounding, brackets and ties that lack a mark. ``manner`` says how what handbooks
    leave open is written in bars that are written anew: as the ``source``'s editor did, as the
    ``house`` does, or as the editor of another score.

    The report has ``deeds``, what was done about which fault, and ``left``, the faults that are
    left. Raises :class:`~rhythm.exact.errors.RequestError` for another word and for bars that are
    not there.
    """
    if how not in WAYS:
        raise RequestError(f"cannot mend by {how!r}", legal="mend by " + " or ".join(WAYS))
    wanted = select(score, bars=bars)
    noted = in_manner(score, manner)
    with uncollected():
        job = _Job(how, lambda finding: wanted.has_bar(finding.index), remarks)
        made, report = job.run(noted)
    return Outcome(score if made is noted else made, wanted.bars, report)


class _Job:
    def __init__(self, how: str, wants: Callable[[Finding], bool], remarks: bool) -> None:
        self.how = how
        self.remarks = remarks
        self.wants = wants
        self.refused: dict[tuple[object, ...], str] = {}
        self.deeds: list[Deed] = []

    def run(self, score: Score) -> tuple[Score, Mended]:
        faults = self._found(score)
        for _ in range(_MOST_ROUNDS):
            stage = self._stage(score, faults)
            if not stage:
                break
            score, faults = self._do(score, faults, stage)
        left = tuple(
            Deed(fault, self._why(fault))
            for fault in faults
            if fault.is_fault and self.wants(fault)
        )
        return score, Mended(tuple(self.deeds), left)

    def _found(self, score: Score) -> tuple[Finding, ...]:
        """What is to be put right: the faults, and the remarks where they are asked for."""
        ledger = check(score)
        if not self.remarks:
            return ledger.faults
        return tuple(each for each in ledger.findings if each.is_fault or each.remedy is not None)

    def _why(self, fault: Finding) -> str:
        known = self.refused.get(_key(fault))
        if known:
            return known
        if fault.remedy is not None and self.how == "rests" and fault.remedy.op == "metre":
            return "rests cannot shorten it"
        return "only by hand"

    def _stage(self, score: Score, faults: Sequence[Finding]) -> list[tuple[Finding, Remedy]]:
        """What to do next: what changes bars comes first, and alone in its part."""
        todo = []
        for fault in faults:
            if not self.wants(fault) or _key(fault) in self.refused:
                continue
            remedy = self._remedy(score, fault)
            if remedy is not None:
                todo.append((fault, remedy))
        todo.sort(key=lambda each: ORDER.index(each[1].op))
        rebarring = [each for each in todo if each[1].op in _REBARRING]
        if rebarring:
            return [min(rebarring, key=lambda each: each[0].index)]
        seen: set[tuple[int, int]] = set()
        stage = []
        for fault, remedy in todo:
            # One remedy a bar at a time: it may put the other faults right too.
            concerned = {(part, remedy.bar) for part in _parts(score, remedy)}
            if concerned & seen:
                continue
            seen |= concerned
            stage.append((fault, remedy))
        return stage

    def _remedy(self, score: Score, fault: Finding) -> Remedy | None:
        remedy = fault.remedy
        if (
            self.how == "metre"
            and fault.kind in ("short", "long")
            and (remedy is None or remedy.op in ("rests", "metre"))
        ):
            return _signature_for(score, fault)
        if remedy is not None and remedy.op == "metre" and self.how == "rests":
            return None
        return remedy

    def _do(
        self, score: Score, faults: Sequence[Finding], stage: Sequence[tuple[Finding, Remedy]]
    ) -> tuple[Score, tuple[Finding, ...]]:
        """Do what is staged, leaving out what cannot be done or does not help."""
        before = _count(faults)
        while stage:
            draft = Draft.of(score)
            deeds: list[Deed] = []
            done: list[tuple[Finding, Remedy]] = []
            settled: set[tuple[str, int, int]] = set()
            for fault, remedy in stage:
                key = (remedy.op, remedy.part, remedy.bar)
                if remedy.op in ("value", "afresh", "signature") and key in settled:
                    continue
                try:
                    said = _DOING[remedy.op](draft, remedy)
                except MusicError as error:
                    self.refused[_key(fault)] = str(error)
                    continue
                settled.add(key)
                deeds.append(Deed(fault, said))
                done.append((fault, remedy))
            if not done:
                return score, tuple(faults)
            attempt = draft.done()
            after = self._found(attempt)
            bad = self._unhelpful(before, after, done)
            if not bad:
                self.deeds += deeds
                return attempt, after
            for fault in bad:
                self.refused[_key(fault)] = "what was tried did not put it right"
            stage = [each for each in done if each[0] not in bad]
        return score, tuple(faults)

    def _unhelpful(
        self,
        before: Counter[tuple[str, int]],
        after: Sequence[Finding],
        done: Sequence[tuple[Finding, Remedy]],
    ) -> list[Finding]:
        """The faults whose remedy left their bar with as many faults, or more than it had."""
        now = _count(after)
        if any(remedy.op in _REBARRING for _, remedy in done):
            worse = sum(now.values()) >= sum(before.values())
            return [fault for fault, _ in done] if worse else []
        if self.how == "metre":
            # A new signature for all parts may leave holes in some, which rests fill next.
            again = {_key(fault) for fault in after}
            return [fault for fault, _ in done if _key(fault) in again]
        bad = []
        for fault, remedy in done:
            place = (fault.part, fault.index)
            worse = now[place] >= before[place]
            spread = any(
                now[part, bar] > before[part, bar]
                for part, bar in now
                if bar in (fault.index, fault.index + 1) and (part == fault.part or remedy.part < 0)
            )
            if worse or spread:
                bad.append(fault)
        return bad


def _parts(score: Score, remedy: Remedy) -> Iterable[int]:
    whole = remedy.part == ALL or remedy.op == "metre"
    return range(len(score.parts)) if whole else (remedy.part,)


def _key(fault: Finding) -> tuple[object, ...]:
    return fault.part, fault.index, fault.voice, fault.kind, fault.position


def _count(faults: Iterable[Finding]) -> Counter[tuple[str, int]]:
    return Counter((fault.part, fault.index) for fault in faults)


def _signature_for(score: Score, fault: Finding) -> Remedy | None:
    """The signature of what the bar holds; None where there is none, or another remedy is due."""
    bar = score.bars[fault.index]
    if bar.metre is None or fault.amount is None:
        return None
    length = bar.metre.length + fault.amount
    whole = fault.remedy is not None and fault.remedy.part == ALL
    if fault.kind == "short" and not whole:
        return fault.remedy  # the others hold their metre: a rest fills it
    metre = simplest_metre(length, bar.metre)
    if metre is None:
        return None
    return Remedy("metre", ALL, fault.index, metre=metre, amount=mpq(length))
