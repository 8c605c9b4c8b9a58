"""Swing written out and straightened again, and triplets loosened: changes inside single beats.

In the metre the music already has, or in its triplets, a ratio changes only the beats it is about:
pairs of equal notes are made unequal, and unequal pairs that the source writes on purpose stay.
Back (``1:1``), the pair that the score uses throughout is made equal. What swing is measured to be
runs from 1:1 to about 3.5:1 (Friberg & Sundström 2002); notes inégales are 3:2, 2:1 or 3:1.

Conventions
-----------
Positions are offsets from the start of the metre, in whole notes. Only simple beats are swung. A
pair may open with a rest or a note held over: what counts is the one position inside the beat.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from functools import lru_cache

from gmpy2 import mpq

from rhythm.exact.metre import Metre, Node, Term
from rhythm.restate.align import align
from rhythm.restate.fit import Line, fit_bar
from rhythm.score.model import Score

__all__ = ["Refit", "loosened", "one_beat", "prevailing_split", "swung"]

Interval = tuple[mpq, mpq]
Refit = Callable[[Sequence[Line], str], dict[mpq, mpq]]
"""Where the positions of the voices of one bar go, given the way to fit."""

_HALF = mpq(1, 2)


def swung(metre: Metre, source: mpq, target: mpq) -> Refit:
    """Move the inner position of every simple beat that has just one, at ``source`` of the beat.

    It goes to ``target`` of the beat (shares between 0 and 1): 1/2 to 2/3 swings even pairs 2:1.
    Swing is a matter of the beat: one that any voice divides otherwise stays, in all voices.
    """

    def refit(lines: Sequence[Line], mode: str) -> dict[mpq, mpq]:
        placed = {p: p for line in lines for p in line.positions}
        for node in metre.beat_nodes:
            inside = {p for p in placed if node.start < p < node.end}
            at = node.start + node.length * source
            if not node.ternary and inside == {at}:
                placed[at] = node.start + node.length * target
        return placed

    return refit


def prevailing_split(score: Score) -> mpq | None:
    """Where the score splits its unequal pairs: the commonest share other than 1/2, long first.

    None where no unequal split comes at least as often as the even one.
    """
    found: Counter[mpq] = Counter()
    for part in score.parts:
        for voice in part.voices:
            inner: dict[tuple[int, mpq], list[mpq]] = {}
            for event in voice.events:
                bar = part.bars[event.bar]
                if bar.metre is None or not bar.metre.length:
                    continue
                node = bar.metre.beat_node_at(event.onset - bar.start + bar.shift)
                share = (event.onset - bar.start + bar.shift - node.start) / node.length
                if share and not node.ternary:
                    inner.setdefault((event.bar, node.start), []).append(share)
            found.update(shares[0] for shares in inner.values() if len(shares) == 1)
    even = found.pop(_HALF, 0)
    long_first = [(n, share) for share, n in found.items() if share > _HALF]
    if not long_first:
        return None
    times, share = max(long_first)
    return share if times >= even else None


def loosened(metre: Metre) -> Refit:
    """Undo tuplets that run against the metre, in the metre's own manner.

    A beat of a simple metre that holds one triplet is read as a ternary beat and restated to a
    simple one; in a compound metre a beat that holds a duplet is treated the other way about.
    Other beats stay.
    """
    scale = mpq(2, 3) if metre.is_compound else mpq(3, 2)

    def refit(lines: Sequence[Line], mode: str) -> dict[mpq, mpq]:
        placed = {p: p for line in lines for p in line.positions}
        for node in metre.beat_nodes:
            bound = (node.start, node.end)
            loose = [line for line in lines if bound in line.straight]
            if loose:
                inside = [[p for p in x.positions if node.start <= p < node.end] for x in lines]
                placed.update(_undone(lines, inside, node, bound, scale, mode))
        return placed

    return refit


def _undone(
    lines: Sequence[Line],
    inside: Sequence[Sequence[mpq]],
    node: Node,
    bound: Interval,
    scale: mpq,
    mode: str,
) -> dict[mpq, mpq]:
    """The positions of one beat with its tuplets undone; plain voices stay where they are."""
    one, other = _beat_metres(node.length, scale)
    undone: list[Line] = []
    kept: set[mpq] = set()
    for line, here in zip(lines, inside, strict=True):
        if here and bound in line.straight:
            undone.append(Line(tuple((p - node.start) * scale for p in here), (), True))
        else:
            kept.update(here)
    settled = {(p - node.start) * scale: p - node.start for p in kept}
    fitted = fit_bar(undone, align(one, other), one, other, settled=settled, mode=mode)
    return {p / scale + node.start: node.start + place for p, place in fitted.items()}


@lru_cache(maxsize=256)
def _beat_metres(beat: mpq, scale: mpq) -> tuple[Metre, Metre]:
    """One-beat metres: the beat read as the other kind (scaled), and the beat itself."""
    return one_beat(beat * scale, scale > 1), one_beat(beat, scale < 1)


def one_beat(beat: mpq, ternary: bool) -> Metre:
    """A metre whose bar is one beat of this length, dividing in three or in two."""
    term = Term((int(beat.numerator),), int(beat.denominator))
    return Metre((term,), compound=ternary)
