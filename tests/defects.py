"""Three plain defects that no fair copy may show: ``python -m tests.agreement --defects``.

A *straddling* bracket crosses a beat of a simple metre without beginning and ending on beats, so
that it hides the middle: 4 3:2(2r 8 8) for 4 4r 3:2(8r 8 8). A beat is *hidden* under a triplet
though all that happens in it lies in one half of it: 3:2(16.r 32 ...) for 16r 3:2(32 32 32). An
*absurd* ratio has a number above fifteen. What the source wrote itself is no defect of ours.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from gmpy2 import mpq

from rhythm.exact.tree import Node, beats_of
from rhythm.notate.faircopy import faircopy
from rhythm.score.model import Bar, Part, Piece, Score, Tuplet

__all__ = ["Defect", "defects", "defects_of"]

_MOST = 15


class Defect(NamedTuple):
    """What is wrong, and where: part and bar number, and the bracket."""

    kind: str
    part: str
    bar: str
    bracket: str


def defects(score: Score) -> list[Defect]:
    """What is wrong with the fair copy of a score."""
    return defects_of(score, faircopy(score))


def defects_of(source: Score, copy: Score) -> list[Defect]:
    """What is wrong with the bars of ``copy`` that the source did not write so itself."""
    return [
        defect
        for before, part in zip(source.parts, copy.parts, strict=True)
        for defect in _of_part(before, part)
    ]


def _of_part(before: Part, part: Part) -> Iterator[Defect]:
    theirs = {(piece.bar, piece.offset, piece.ratio) for piece in _pieces(before)}
    groups: dict[tuple[str, int, mpq, mpq], list[Piece]] = {}
    for voice in part.voices:
        for event in voice.events:
            for piece in event.pieces if event.visible else ():
                if piece.ratio == (1, 1) or (piece.bar, piece.offset, piece.ratio) in theirs:
                    continue
                if max(piece.ratio) > _MOST:
                    ratio = f"{piece.ratio[0]}:{piece.ratio[1]}"
                    yield Defect("absurd", part.id, part.bars[piece.bar].number, ratio)
                for outer in piece.tuplets[:1]:
                    key = voice.name, piece.bar, outer.offset, outer.length
                    groups.setdefault(key, []).append(piece)
    for (_, index, *_), pieces in groups.items():
        bar, outer = part.bars[index], pieces[0].tuplets[0]
        for kind in _kinds(bar, outer, pieces):
            said = f"{outer.actual}:{outer.normal} over {outer.length} at {outer.offset}"
            yield Defect(kind, part.id, bar.number, said)


def _pieces(part: Part) -> Iterator[Piece]:
    return (p for voice in part.voices for event in voice.events for p in event.pieces)


def _kinds(bar: Bar, outer: Tuplet, pieces: list[Piece]) -> Iterator[str]:
    if bar.metre is None or not bar.metre.in_note_values or bar.length != bar.metre.length:
        return
    beats = beats_of(bar.metre.tree)
    if any(beat.compound for beat in beats) or len({beat.length for beat in beats}) > 1:
        return
    start, end = outer.offset, outer.offset + outer.length
    inside = {piece.offset for piece in pieces} | {piece.end for piece in pieces}
    if _straddles(beats, start, end):
        yield "straddling"
    if outer.actual == 3 and any((beat.start, beat.end) == (start, end) for beat in beats):
        middle = start + outer.length / 2
        cuts = {at for at in inside if start < at < end}
        if middle in cuts and (
            all(at >= middle for at in cuts) or all(at <= middle for at in cuts)
        ):
            yield "hidden"


def _straddles(beats: tuple[Node, ...], start: mpq, end: mpq) -> bool:
    """Is a beat crossed from or to the inside of one? Half-note beats are counted by quarters."""
    edges = {beat.start for beat in beats} | {beats[-1].end}
    crossed = [at for at in edges if start < at < end]
    if beats[0].length == mpq(1, 2):
        edges |= {beat.start + mpq(1, 4) for beat in beats}
    return bool(crossed) and not (start in edges and end in edges)
