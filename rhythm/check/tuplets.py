"""Tuplets that stop in the middle: a run of tuplet notes whose sum is no plain value.

A triplet may be a quarter and an eighth, hold rests, mix values, or be completed by the next bar;
a second voice may share another voice's tuplet with nothing of its own beside it. What is wrong is
a run that is followed by ordinary notes, or by nothing at all, where only a fraction of a tuplet
has gone by. A position is *plain* when its denominator is a power of two.
"""

from __future__ import annotations

from gmpy2 import mpq

from rhythm.check.survey import Stretch
from rhythm.exact.values import is_power_of_two
from rhythm.score.model import Piece

__all__ = ["broken_run", "is_plain"]


def is_plain(position: mpq) -> bool:
    """Can halving notes reach this position?"""
    return is_power_of_two(int(position.denominator))


def _is_tuplet(piece: Piece) -> bool:
    actual, normal = piece.ratio
    if piece.tremolo and actual == 2 * normal:
        return False
    return actual != normal


def broken_run(
    stretch: Stretch, before: Stretch | None, after: Stretch | None, target: mpq
) -> tuple[mpq, mpq] | None:
    """Where an incomplete run starts and ends in this bar, None where there is none.

    ``before`` and ``after`` are the same voice in the bars around; ``target`` is what the bar
    should hold.
    """
    pieces = [piece for piece, _ in stretch.shown]
    if all(is_plain(piece.end) for piece in pieces):
        return None
    begin: mpq | None = None
    for index, piece in enumerate(pieces):
        if not _is_tuplet(piece):
            begin = None
            continue
        if begin is None:
            begin = piece.offset
        last = index + 1 == len(pieces)
        if is_plain(piece.end):
            begin = None
            continue
        if not last and (_is_tuplet(pieces[index + 1]) or pieces[index + 1].offset != piece.end):
            continue
        if last and (piece.end < target and not _leads(stretch, target)):
            continue
        if last and after is not None and is_plain(piece.end + _opening(after)):
            continue
        if not begin and before is not None and is_plain(piece.end + _closing(before)):
            continue
        return begin, piece.end
    return None


def _leads(stretch: Stretch, target: mpq) -> bool:
    """Is this a voice that fills the bar from its start, so that its end is the bar's?"""
    return stretch.written == stretch.end


def _opening(stretch: Stretch) -> mpq:
    """How long the tuplet run at the start of a voice's bar is."""
    reached = mpq(0)
    for piece, _ in stretch.shown:
        if piece.offset != reached or not _is_tuplet(piece):
            break
        reached = piece.end
        if is_plain(reached):
            break
    return reached


def _closing(stretch: Stretch) -> mpq:
    """How long the run at the end of a voice's bar is, from the last plain position on."""
    end = stretch.end
    for piece, _ in reversed(stretch.shown):
        if not _is_tuplet(piece) or is_plain(end):
            break
        end = piece.offset
    return stretch.end - end
