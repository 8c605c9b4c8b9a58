"""The time that voices cover, the holes between, and a note that slipped into another's stream."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from gmpy2 import mpq

from rhythm.check.survey import Entry, PartBar, SurveyedVoice
from rhythm.score.model import Piece

__all__ = ["holes_of", "overlap_in", "stray_in", "stray_of"]

ZERO = mpq(0)


def holes_of(stretches: list[SurveyedVoice], target: mpq) -> Iterator[tuple[mpq, mpq]]:
    """The stretches of time from 0 to ``target`` in which no piece of these voices stands."""
    if len(stretches) == 1 and not stretches[0].unseen:
        pieces = [piece for piece, _ in stretches[0].shown]
    else:
        pieces = [piece for each in stretches for piece, _ in (*each.shown, *each.unseen)]
        pieces.sort(key=lambda piece: piece.offset)
    reached = ZERO
    for piece in pieces:
        if piece.offset > reached:
            yield reached, min(piece.offset, target)
        end = piece.end
        if end > reached:
            reached = end
        if reached >= target:
            return
    if reached < target:
        yield reached, target


def overlap_in(entries: Sequence[Entry], slack: mpq = ZERO) -> tuple[mpq, mpq] | None:
    """Where the first piece starts that does before the one ahead of it ends, and by how much."""
    end = ZERO
    for piece, _ in entries:
        if end - piece.offset > slack:
            return piece.offset, end - piece.offset
        end = max(end, piece.end)
    return None


def stray_of(slot: PartBar, stretch: SurveyedVoice) -> tuple[Piece, str] | None:
    """The piece with which this voice overlaps itself and which fills a hole in another's stream.

    A note that was given the wrong voice where it stands.
    """
    for place, (piece, _) in enumerate(stretch.shown):
        if overlap_in([*stretch.shown[:place], *stretch.shown[place + 1 :]]):
            continue
        for other in slot.voices.values():
            if other is stretch or not other.shown:
                continue
            hole = (piece.offset, piece.end)
            if piece.offset > other.start and hole in holes_of([other], other.end):
                return piece, other.voice
    return None


def stray_in(slot: PartBar, stretch: SurveyedVoice, over: mpq) -> tuple[mpq, str] | None:
    """Where a note of another voice stands in a hole of this one that is ``over`` long, and whose.

    A writer that puts it into the stream of the wrong voice moves what follows by its length.
    """
    if len(slot.voices) < 2:
        return None
    for start, end in holes_of([stretch], stretch.end):
        if not start or end - start != over:
            continue
        for other in slot.voices.values():
            if other is not stretch and any(
                piece.offset == start and piece.end == end for piece, _ in other.shown
            ):
                return start, other.voice
    return None
