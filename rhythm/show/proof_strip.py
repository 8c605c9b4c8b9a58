"""The proof of a score to look at: one verdict a bar, and what became of the whole.

Conventions
-----------
Bars are named by index. A verdict is one of ``VERDICTS``, the gravest that holds; ``changed`` says
that the bar is not as it was read. Faults and sums are the checker's, reasons the fit's: they come
in as plain values.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from gmpy2 import mpq

from rhythm.exact.frozen import dataclass
from rhythm.exact.values import format_value
from rhythm.score.model import Bar, Score
from rhythm.show.mapping import Mapped

__all__ = ["VERDICTS", "BarProof", "Proof", "proof"]

VERDICTS = {
    "right": "adds up",
    "moved": "moved to be read at sight",
    "together": "kept together with another voice",
    "fault": "does not add up",
}
"""What a mark on the strip says."""


@dataclass(frozen=True, slots=True)
class BarProof:
    """One bar: its number and metre, what it holds, its verdict, and that in words."""

    bar: int
    number: str
    metre: str
    sum: str
    verdict: str
    changed: bool
    says: str


@dataclass(frozen=True, slots=True)
class Proof:
    """Every bar, and the whole: notes before and after, and lines of what was done."""

    bars: tuple[BarProof, ...]
    notes_before: int | None
    notes_after: int
    changed: int
    lines: tuple[str, ...]

    @property
    def faults(self) -> int:
        """How many bars do not add up."""
        return sum(bar.verdict == "fault" for bar in self.bars)


def proof(
    score: Score,
    *,
    faults: Mapping[int, Sequence[str]] | None = None,
    reasons: Mapping[int, Sequence[str]] | None = None,
    before: Score | None = None,
    found: Mapped | None = None,
    lines: Sequence[str] = (),
) -> Proof:
    """The proof of ``score``.

    ``faults`` are what the checker found, ``reasons`` why the fit moved something, both by bar of
    ``score``. ``before`` is what it was made from, ``found`` how its events map.
    """
    wrong, moved = faults or {}, reasons or {}
    fresh = frozenset().union(
        *({i for i, bar in enumerate(part.bars) if bar.source is None} for part in score.parts)
    )
    bars = tuple(
        _bar(bar, wrong.get(bar.index, ()), moved.get(bar.index, ()), bar.index in fresh)
        for bar in score.bars
    )
    return Proof(
        bars,
        None if before is None else _struck(before),
        _struck(score),
        sum(bar.changed for bar in bars),
        tuple(lines) + _kept(found),
    )


def _struck(score: Score) -> int:
    return sum(1 for _p, _v, event in score.events() if event.visible and not event.is_rest)


def _kept(found: Mapped | None) -> tuple[str, ...]:
    if found is None:
        return ()
    lost = sum(not strand.after for strand in found.strands)
    said = []
    if not lost:
        said.append(f"all {len(found.strands)} notes of the source are there")
    else:
        said.append(f"{len(found.strands) - lost} of {len(found.strands)} notes are shown here")
    if found.new:
        said.append(f"{len(found.new)} notes are new")
    return tuple(said)


def _bar(bar: Bar, faults: Sequence[str], reasons: Sequence[str], changed: bool) -> BarProof:
    metre = "" if bar.metre is None else str(bar.metre)
    held = format_value(bar.length)
    if faults:
        verdict, says = "fault", "; ".join(faults)
    elif any("together" in reason for reason in reasons):
        verdict, says = "together", "; ".join(reasons)
    elif reasons:
        verdict, says = "moved", "; ".join(reasons)
    else:
        verdict, says = "right", VERDICTS["right"]
    return BarProof(bar.index, bar.number, metre, _sum(bar, held), verdict, changed, says)


def _sum(bar: Bar, held: str) -> str:
    if bar.metre is None or not bar.metre.length:
        return held
    if bar.length == bar.metre.length:
        return str(bar.metre)
    short: mpq = bar.metre.length - bar.length
    return f"{held} of {bar.metre}" if short > 0 else f"{held}, more than {bar.metre}"
