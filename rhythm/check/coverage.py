"""The time that voices cover, the holes between, and a note that slipped into another's stream."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence

from gmpy2 import mpq

from rhythm.check.survey import Entry, PartBar, SurveyedVoice
from rhythm.score.model import Event, Piece, Remark

__all__ = [
    "explains",
    "holes_of",
    "home_staff",
    "overlap_in",
    "stray_in",
    "stray_of",
    "uncovered",
]

ZERO = mpq(0)
_MOST_OWNERS = 8  # more voices than that, with a hole at one place, are no music


def holes_of(stretches: Sequence[SurveyedVoice], target: mpq) -> Iterator[tuple[mpq, mpq]]:
    """The stretches of time from 0 to ``target`` in which no piece of these voices stands."""
    if any(each.elastic for each in stretches):
        return
    if len(stretches) == 1 and not stretches[0].unseen:
        only = stretches[0]
        if only.smooth and only.shown:
            if only.start > 0:
                yield ZERO, min(only.start, target)
            if only.end < target:
                yield only.end, target
            return
        pieces = [piece for piece, _ in only.shown]
    else:
        pieces = [piece for each in stretches for piece, _ in (*each.shown, *each.unseen)]
        pieces.sort(key=lambda piece: piece.offset)
    yield from uncovered(pieces, ZERO, target)


def uncovered(pieces: Iterable[Piece], start: mpq, end: mpq) -> Iterator[tuple[mpq, mpq]]:
    """The time between ``start`` and ``end`` that none of these pieces, in order, covers."""
    reached = start
    for piece in pieces:
        if reached >= end:
            return
        if piece.offset > reached:
            yield reached, min(piece.offset, end)
        reached = max(reached, piece.end)
    if reached < end:
        yield reached, end


def overlap_in(entries: Sequence[Entry], slack: mpq = ZERO) -> tuple[mpq, mpq] | None:
    """Where the first piece starts that does before the one ahead of it ends, and by how much."""
    end = ZERO
    for piece, _ in entries:
        if end - piece.offset > slack:
            return piece.offset, end - piece.offset
        end = max(end, piece.end)
    return None


def explains(slot: PartBar, target: mpq, remark: Remark) -> SurveyedVoice | None:
    """The voice that lost a value, where a backup behind it then leads before the bar's start.

    It starts the bar, has no hole, and ends before ``target`` by what the backup goes too far.
    """
    if remark.kind != "before-start":
        return None
    for stretch in slot.firm:
        if stretch.smooth and not stretch.start and target - stretch.end == -(remark.ticks or ZERO):
            return stretch
    return None


def home_staff(stretch: SurveyedVoice, start: mpq, end: mpq) -> str:
    """The staff of a voice around a hole: that of the piece before it, else of the one behind."""
    found = ""
    for piece, event in stretch.shown:
        if piece.offset >= end and found:
            break
        found = _staff(event)
        if piece.offset >= end:
            break
    return found


def _staff(event: Event) -> str:
    return (event.notes[0].staff if event.notes else "") or "1"


def stray_of(
    slot: PartBar, target: mpq, fills: Callable[[str], bool]
) -> tuple[SurveyedVoice, Piece, SurveyedVoice] | None:
    """A piece with another voice's number: the voice that has it, itself, and the voice it fits.

    Its own voice overlaps itself with it and not without it; or it
    is all that this voice has in the bar, and the other, which ``fills`` its bars elsewhere, is
    whole with it and not without.
    """
    voices = [each for each in slot.voices.values() if each.shown and not each.elastic]
    if len(voices) < 2:
        return None
    overlaps = [overlap_in(each.shown) is not None for each in voices]
    starts: dict[mpq, list[int]] = {}  # the voices that have a hole there
    for rank, owner in enumerate(voices):
        if not overlaps[rank]:
            for start, _ in holes_of([owner], target):
                starts.setdefault(start, []).append(rank)
    for place, stretch in enumerate(voices):
        alone = len(stretch.shown) == 1 and not stretch.unseen
        if not alone and not overlaps[place]:
            continue
        ranks = {rank for piece, _ in stretch.shown for rank in starts.get(piece.offset, ())}
        for rank in sorted(ranks - {place})[:_MOST_OWNERS]:
            owner = voices[rank]
            holes = set(holes_of([owner], target))
            if alone and (len(holes) != 1 or not fills(owner.voice)):
                continue
            # What stood in the owner's stream was written before this voice's own notes, if that
            # stream was, and else after them.
            entries = stretch.shown if rank < place else stretch.shown[::-1]
            for piece, event in entries:
                if (piece.offset, piece.end) not in holes or event.is_rest:
                    continue
                if home_staff(owner, piece.offset, piece.end) != _staff(event):
                    continue
                rest = [entry for entry in stretch.shown if entry[0] is not piece]
                if overlap_in(rest) is None:
                    return stretch, piece, owner
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
