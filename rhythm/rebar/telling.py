"""What rebar, group, tuplet and vary tell of their work: the facts that several of them share."""

from __future__ import annotations

from collections.abc import Sequence

from gmpy2 import mpq

from rhythm.exact.values import name_value
from rhythm.rebar.passage import Passage
from rhythm.rebar.rebuilding import Settled
from rhythm.score.model import Bar, Part
from rhythm.score.outcome import Fact, Outcome, Report
from rhythm.score.select import Bars

__all__ = [
    "counted",
    "metres_of",
    "outcome",
    "redrawn",
    "rest_added",
    "ties_over_bars",
]


def outcome(
    passage: Passage,
    settled: Settled,
    asked: str | Bars | None,
    facts: Sequence[Fact],
    idle: str = "",
) -> Outcome[Report]:
    """What came of a passage; where nothing changed, the report says so with ``idle``."""
    done = Report(
        (*facts, Fact("changed_bars", _numbers(settled))), "" if settled.changed else idle
    )
    return Outcome(settled.score, None if asked is None else settled.bars, done)


def _numbers(settled: Settled) -> tuple[str, ...]:
    """The printed numbers of the bars written anew."""
    return tuple(settled.score.bars[place].number for place in settled.changed)


def counted(number: int, thing: str, things: str = "") -> str:
    """``1 bar``, ``2 bars``."""
    return f"{number} {thing if number == 1 else things or thing + 's'}"


def _bar_count(bars: Sequence[Bar]) -> int:
    """How many bars there are to a reader: an upbeat and half a bar are none."""
    return sum(not bar.shift for bar in bars)


def metres_of(bars: Sequence[Bar]) -> str:
    """The metres of these bars: ``3/4``, ``7/8 and 5/8``, ``several metres``."""
    names = list(dict.fromkeys(str(bar.metre) for bar in bars if bar.metre is not None))
    if len(names) > 2:
        return "several metres"
    return " and ".join(names) or "no metre"


def redrawn(passage: Passage, settled: Settled) -> Fact:
    """How many bars of which metre became how many of which."""
    old = passage.score.bars[passage.first : passage.last + 1]
    new = settled.score.bars[settled.bars.first : settled.bars.last + 1]
    were, are = _bar_count(old), _bar_count(new)
    words = f"{counted(were, 'bar')} of {metres_of(old)} became {are} of {metres_of(new)}"
    return Fact("redrawn", (were, metres_of(old), are, metres_of(new)), words)


def ties_over_bars(passage: Passage, settled: Settled) -> Fact:
    """How many notes are tied over bar lines, and how many were."""
    before = _tied(passage.score.parts, passage.first, passage.last)
    after = _tied(settled.score.parts, settled.bars.first, settled.bars.last)
    words = ""
    if before != after:
        words = f"{counted(after, 'note')} tied over bar lines, {before} before"
    return Fact("tied", after, words)


def _tied(parts: Sequence[Part], first: int, last: int) -> int:
    found = 0
    for part in parts:
        for voice in part.voices:
            for event in voice.events:
                inside = {p.bar for p in event.pieces if first <= p.bar <= last}
                found += len(inside) > 1 and not event.is_rest
    return found


def rest_added(name: str, length: mpq, where: str) -> Fact:
    """A rest that fills something up; no words where it is none."""
    words = f"rest added to fill {where}: {name_value(length)}" if length else ""
    return Fact(name, length, words)
