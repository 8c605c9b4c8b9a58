"""Beat by beat: every beat of the source becomes the next beat of the target, bar lines redrawn.

4/4 to 9/8 by beat turns three bars of four beats into four bars of three. Each source bar is
restated in a passing metre that has its own beats in the target's kind (12/8 here), and the result
is rebarred. An upbeat takes the beats that lead to the target's bar line.
"""

from __future__ import annotations

from collections.abc import Sequence

from gmpy2 import mpq

from rhythm.exact.metre import Metre, Node, Term
from rhythm.exact.pattern import MetrePattern
from rhythm.restate.align import align
from rhythm.restate.targets import BarMap, metre_of
from rhythm.score.model import Bar

__all__ = ["beatwise_maps", "passing_metre"]


def beatwise_maps(
    bars: Sequence[Bar], target: MetrePattern, *, lilt: str = "trochee"
) -> list[BarMap | None]:
    """The map of every bar into a passing metre with the target's beats, in turn.

    Every bar ends with a beat, or is taken up by the next (:mod:`rhythm.restate.whole_beats`).
    """
    cycle = [node for metre in target.metres for node in metre.beat_nodes]
    known: dict[tuple[Metre, int], BarMap] = {}
    maps: list[BarMap | None] = []
    turn = 0
    for bar in bars:
        if bar.length <= 0 or (bar.metre is not None and bar.metre.length == 0):
            maps.append(None)
            continue
        source = metre_of(bar)
        skipped = _beats_before(source, bar.shift)
        through = _beats_before(source, bar.shift + bar.length)
        first = bar.index == 0 or maps[-1] is None
        opening = -through if first and bar.shift > 0 else turn - skipped
        key = (source, opening % len(cycle))
        if key not in known:
            taken = [cycle[(opening + i) % len(cycle)] for i in range(len(source.beats))]
            passing = passing_metre(taken)
            warp = align(source, passing, lilt=lilt)
            known[key] = BarMap(source, passing, passing, warp)
        maps.append(known[key])
        turn = opening + through
    return maps


def _beats_before(metre: Metre, position: mpq) -> int:
    """How many whole beats lie before ``position``, bars of the same metre going on."""
    turns = int(position // metre.length)
    rest = position - turns * metre.length
    return turns * len(metre.beats) + sum(1 for node in metre.beat_nodes if node.end <= rest)


def passing_metre(beats: Sequence[Node]) -> Metre:
    """A metre with just these beats: 12/8 for four dotted quarters, 2+3/8 for short and long."""
    kinds = {(node.length, node.ternary) for node in beats}
    if len(kinds) == 1:
        ((length, ternary),) = kinds
        unit = length / 3 if ternary else length
        if unit.numerator == 1:
            count = len(beats) * (3 if ternary else 1)
            return Metre((Term((count,), int(unit.denominator)),), compound=ternary or None)
    unit = min(node.length / (3 if node.ternary else 2) for node in beats)
    terms = tuple(int(node.length / unit) for node in beats)
    return Metre((Term(terms, int(unit.denominator)),))
