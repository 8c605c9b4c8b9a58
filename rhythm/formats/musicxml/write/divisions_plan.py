"""Which divisions and which signature every bar of a part is written with.

Conventions
-----------
Divisions are per quarter. A part written wholly afresh gets the least that make all its durations
integers; where that passes :data:`MAX_DIVISIONS` each bar gets its own least. Bars written as
they were keep the divisions they were read with: rebuilt bars between them use those if they
fit, and otherwise set their own, which the next bar kept as it was then restores. A signature is
written where the bar shows one, and where a reader would otherwise believe another.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from gmpy2 import lcm, mpq
from lxml import etree

from rhythm.exact.metre import Metre
from rhythm.formats.musicxml.read.mark_reader import read_metre
from rhythm.formats.musicxml.read.note_reader import decimal, exact_value
from rhythm.score.model import Bar, Mark, Part, Piece

__all__ = ["MAX_DIVISIONS", "BarPlan", "plan_part", "same_signature"]

MAX_DIVISIONS = 16383
"""The largest number of divisions that MIDI software reads (MusicXML 4.0, ``divisions``)."""


@dataclass(slots=True)
class BarPlan:
    """How to write a bar: ``divisions`` count in it; ``sets_divisions`` and ``time`` if written."""

    divisions: int
    sets_divisions: bool = False
    time: Metre | None = None
    metre: Metre | None = None


def same_signature(one: Metre | None, other: Metre | None) -> bool:
    """Do the two look alike on paper?"""
    if one is None or other is None:
        return one is other
    return (one.terms, one.symbol, one.senza, one.other, one.relation) == (
        other.terms,
        other.symbol,
        other.senza,
        other.other,
        other.relation,
    )


def needed(bar: Bar, pieces: Sequence[Piece], marks: Sequence[Mark]) -> int:
    """The least divisions in which everything in the bar is a whole number of ticks.

    A written value that contradicts its duration must go on doing so: it needs ticks so short
    that the difference cannot pass for rounding.
    """
    lengths = {bar.length}
    apart: mpq | None = None
    for piece in pieces:
        lengths.add(piece.offset)
        lengths.add(piece.duration)
        if piece.type and not piece.whole_bar:
            written = exact_value(piece.type, piece.dots, *piece.ratio)
            if written != piece.duration:
                lengths.add(written)
                off = abs(written - piece.duration)
                apart = off if apart is None else min(apart, off)
    for mark in marks:
        if mark.onset != bar.start:
            lengths.add(mark.onset - bar.start)
        if mark.reach:
            lengths.add(mark.reach)
        if mark.length:
            lengths.add(mark.length)
    least = int(lcm(*{(length * 4).denominator for length in lengths}))
    return least if apart is None else least * (int(1 / (4 * apart * least)) + 1)


def plan_part(
    part: Part,
    pieces: Sequence[Sequence[Piece]],
    marks: Sequence[Sequence[Mark]],
    leader: Sequence[BarPlan] | None,
) -> list[BarPlan]:
    """One plan for each bar. ``leader`` are the first part's, for a part without signatures."""
    needs = [
        0 if bar.source is not None else needed(bar, pieces[i], marks[i])
        for i, bar in enumerate(part.bars)
    ]
    plans = _divisions(part, needs)
    _times(part, plans, leader)
    return plans


def _divisions(part: Part, needs: Sequence[int]) -> list[BarPlan]:
    plans: list[BarPlan] = []
    current: mpq | None = None
    index = 0
    while index < len(needs):
        if not needs[index]:
            plan, current = _kept(part.bars[index], current)
            plans.append(plan)
            index += 1
            continue
        end = index
        while end < len(needs) and needs[end]:
            end += 1
        run = needs[index:end]
        least = int(lcm(*run))
        after = part.bars[end].divisions if end < len(needs) else None
        around = int(current) if index and current and current.denominator == 1 else after
        if around and all(around % n == 0 for n in run):
            chosen = [around] * len(run)
        elif least <= MAX_DIVISIONS:
            chosen = [least] * len(run)
        else:
            chosen = list(run)
        for divisions in chosen:
            plans.append(BarPlan(divisions, current != divisions))
            current = mpq(divisions)
        index = end
    return plans


def _kept(bar: Bar, current: mpq | None) -> tuple[BarPlan, mpq | None]:
    """The plan of a bar written as it was, and the divisions in force after it."""
    last = current
    sets_its_own = False
    moved = False
    if isinstance(bar.source, etree._Element):
        for child in bar.source:
            if child.tag == "attributes":
                for found in child.iterchildren("divisions"):
                    number = decimal(found.text or "") if (found.text or "").strip() else None
                    if number:
                        last = number
                        sets_its_own = sets_its_own or not moved
            elif child.tag in ("note", "backup", "forward"):
                moved = True
    needs = bar.divisions or 0
    restores = bool(needs) and not sets_its_own and current != needs
    if restores and last == current:
        last = mpq(needs)
    return BarPlan(needs or 1, restores), last


def _times(part: Part, plans: Sequence[BarPlan], leader: Sequence[BarPlan] | None) -> None:
    shown: Metre | None = None
    own = False
    for index, (bar, plan) in enumerate(zip(part.bars, plans, strict=True)):
        if not own and leader is not None and index < len(leader):
            shown = leader[index].metre
        kept = bar.source is not None
        if bar.metre is not None:
            differs = not same_signature(shown, bar.metre)
            if differs or (bar.shows_metre and not kept):
                if not (kept and bar.shows_metre):
                    plan.time = bar.metre
                shown = bar.metre
                own = True
            elif bar.shows_metre:
                own = True
        plan.metre = shown
        if kept:
            later = _later_metre(bar)
            if later is not None:
                shown, own = later, True


def _later_metre(bar: Bar) -> Metre | None:
    """A signature that a kept bar writes after its first note: it is for the next bar."""
    found = None
    moved = False
    if isinstance(bar.source, etree._Element):
        for child in bar.source:
            if child.tag in ("note", "backup", "forward"):
                moved = True
            elif moved and child.tag == "attributes":
                for time in child.iterchildren("time"):
                    found = read_metre(time) or found
    return found
