"""Double tremolos: two notes that are written at twice their length and sound in turn.

MusicXML writes each of the two with the value of both together and a 2:1 time-modification, which
is multiplied into any tuplet (W3C community report). Spelling therefore writes a pair that is
still a pair as the one note it looks like. Where the two have come apart in length, or no symbol
has their length, they stay single notes, tremolo signs and all.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from rhythm.notate.beams import FLAGS
from rhythm.notate.values import symbol_of
from rhythm.score.model import Event, Piece

__all__ = ["are_tremolo", "tremolo_pairs", "tremolo_pieces"]


def tremolo_pairs(events: Sequence[Event]) -> Iterator[tuple[int, int]]:
    """The indices of the two notes of every double tremolo of a voice."""
    waiting = -1
    for i, event in enumerate(events):
        if event.is_rest:
            continue
        if waiting >= 0 and are_tremolo(events[waiting], event):
            yield waiting, i
            waiting = -1
        else:
            waiting = i


def are_tremolo(first: Event, second: Event) -> bool:
    """Were these written as the two notes of a double tremolo, and do they still touch?"""
    return (
        len(first.pieces) == len(second.pieces) == 1
        and first.pieces[0].tremolo == "start"
        and second.pieces[0].tremolo == "stop"
        and first.end == second.onset
        and first.bar == second.bar
    )


def tremolo_pieces(pieces: Sequence[Piece], dots: int) -> tuple[Piece, Piece] | None:
    """The two symbols of a pair that was spelled as one note; None where one cannot be written.

    A tremolo cannot be tied over the beat it hides, so it hides it. The two share a beam of their
    own, if they have flags.
    """
    whole = pieces[0]
    if len(pieces) > 1:
        length = sum((piece.duration for piece in pieces[1:]), whole.duration)
        found = symbol_of(length, dots)
        if found is None or any(piece.ratio != (1, 1) for piece in pieces):
            return None
        whole = Piece(whole.bar, whole.offset, length, *found)
    half, flags = whole.duration / 2, FLAGS.get(whole.type, 0)
    first = replace(
        whole,
        duration=half,
        ratio=(2 * whole.ratio[0], whole.ratio[1]),
        beams=("begin",) * flags,
        tremolo="start",
    )
    end = ("end",) * flags
    return first, replace(first, offset=whole.offset + half, beams=end, tremolo="stop")
