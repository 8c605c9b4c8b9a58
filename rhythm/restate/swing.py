"""Swing written out and straightened again, and triplets loosened: changes inside single beats.

In the metre the music already has, or in its triplets, a ratio changes only the beats it is about:
pairs of equal notes are made unequal, and unequal pairs that the source writes on purpose stay.
Back (``1:1``), the pair that the score uses throughout is made equal. What swing is measured to be
runs from 1:1 to about 3.5:1 (Friberg & Sundström 2002); notes inégales are 3:2, 2:1 or 3:1.

Conventions
-----------
Positions are offsets from the start of the metre, in whole notes, one voice at a time. Only simple
beats are swung. A pair may open with a rest or a note held over: what counts is the one position
inside the beat.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from functools import lru_cache

from gmpy2 import mpq

from rhythm.exact.metre import Metre, Term
from rhythm.restate.align import align
from rhythm.restate.fit import fit_bar
from rhythm.score.model import Score

__all__ = ["Refit", "loosened", "one_beat", "prevailing_split", "swung"]

Interval = tuple[mpq, mpq]
Refit = Callable[[Sequence[mpq], Sequence[Interval], str], tuple[mpq, ...]]

_HALF = mpq(1, 2)


def swung(metre: Metre, source: mpq, target: mpq) -> Refit:
    """Move the inner position of every simple beat that has just one, at ``source`` of the beat.

    It goes to ``target`` of the beat (shares between 0 and 1): 1/2 to 2/3 swings even pairs 2:1.
    """

    def refit(here: Sequence[mpq], tuplets: Sequence[Interval], mode: str) -> tuple[mpq, ...]:
        placed: dict[mpq, mpq] = {}
        for node in metre.beat_nodes:
            inside = [p for p in here if node.start < p < node.end]
            at = node.start + node.length * source
            if not node.ternary and inside == [at]:
                placed[at] = node.start + node.length * target
        return tuple(placed.get(p, p) for p in here)

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

    def refit(here: Sequence[mpq], tuplets: Sequence[Interval], mode: str) -> tuple[mpq, ...]:
        spans = set(tuplets)
        placed: dict[mpq, mpq] = {}
        for node in metre.beat_nodes:
            inside = [p for p in here if node.start <= p < node.end]
            if not inside or (node.start, node.end) not in spans:
                continue
            one, other = _beat_metres(node.length, scale)
            fitted = fit_bar(
                [(p - node.start) * scale for p in inside], align(one, other), one, other, mode=mode
            )
            placed.update((p, node.start + f) for p, f in zip(inside, fitted, strict=True))
        return tuple(placed.get(p, p) for p in here)

    return refit


@lru_cache(maxsize=256)
def _beat_metres(beat: mpq, scale: mpq) -> tuple[Metre, Metre]:
    """One-beat metres: the beat read as the other kind (scaled), and the beat itself."""
    return one_beat(beat * scale, scale > 1), one_beat(beat, scale < 1)


def one_beat(beat: mpq, ternary: bool) -> Metre:
    """A metre whose bar is one beat of this length, dividing in three or in two."""
    term = Term((int(beat.numerator),), int(beat.denominator))
    return Metre((term,), compound=ternary)
