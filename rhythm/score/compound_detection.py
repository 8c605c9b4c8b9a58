"""Whether quarters in threes are beats of their own or make dotted halves: what 6/4 means here.

A signature over 4 does not say. The page does: dotted halves standing on the beats and beams that
reach over a quarter speak for dotted-half beats; beams broken at every quarter and triplets in a
quarter speak against (common practice, no source).
"""

from __future__ import annotations

from gmpy2 import mpq

from rhythm.exact.metre import Metre
from rhythm.score.model import Part, Piece, Score

__all__ = ["felt_metres"]

_BEAT = mpq(3, 4)
_QUARTER = mpq(1, 4)


def felt_metres(score: Score) -> dict[Metre, Metre]:
    """For each undecided metre of the score (6/4, 9/4, 12/4), the one its pages speak for."""
    evidence: dict[Metre, int] = {}
    for part in score.parts:
        asked = {bar.index: bar.metre for bar in part.bars if bar.metre and _undecided(bar.metre)}
        if asked:
            _weigh(part, asked, evidence)
    return {metre: metre.with_compound(True) for metre, weight in evidence.items() if weight > 0}


def _undecided(metre: Metre) -> bool:
    if metre.compound is not None or len(metre.terms) != 1 or metre.grouping:
        return False
    term = metre.terms[0]
    return term.unit == 4 and len(term.beats) == 1 and term.beats[0] in (6, 9, 12)


def _weigh(part: Part, asked: dict[int, Metre], evidence: dict[Metre, int]) -> None:
    for metre in asked.values():
        evidence.setdefault(metre, 0)
    for voice in part.voices:
        before: Piece | None = None
        for event in voice.events:
            for piece in event.pieces:
                here = asked.get(piece.bar)
                if here is not None:
                    place = piece.offset + part.bars[piece.bar].shift
                    evidence[here] += _speaks(piece, place, before)
                before = piece


def _speaks(piece: Piece, place: mpq, before: Piece | None) -> int:
    if piece.type == "half" and piece.dots == 1 and place % _BEAT == 0:
        return 1
    if piece.ratio == (3, 2) and piece.tuplets and piece.tuplets[0].length == _QUARTER:
        return -1
    if not piece.beams or place % _QUARTER or place % _BEAT == 0:
        return 0
    if piece.beams[0] in ("continue", "end"):
        return 1
    broken = before is not None and before.bar == piece.bar and before.beams[:1] == ("end",)
    return -1 if broken else 0
