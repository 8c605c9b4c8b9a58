"""Symbols that nobody reads at sight, and whether the source wrote them.

Small faults of an export can leave onsets on no grid that music is written on. Spelled exactly they
come out as brackets of 2048:2815, as 256ths, or as a note in five tied pieces. Such symbols are
right only where the source wrote them itself (Gould, Behind Bars, on the limits of what is read).

Conventions
-----------
Only what is visible counts. A bracket's members are the symbols under it, rests included.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterator
from dataclasses import field
from typing import Any

from gmpy2 import mpq

from rhythm.exact.frozen import dataclass
from rhythm.exact.values import NOTE_TYPES
from rhythm.score.model import Score, Tuplet, Voice

__all__ = ["Strain", "strains"]

_LARGEST_NUMBER = 15
_SHORTEST = mpq(1, 64)
_MOST_PIECES = 3


@dataclass(frozen=True, slots=True)
class Strain:
    """One thing that strains the reader: in which part, bar and voice (indices), and what it is.

    ``kind`` is ratio, type, pieces, or lone (a bracket over one symbol).
    """

    part: int
    bar: int
    voice: int
    problem: str
    kind: str


@dataclass(slots=True)
class _Known:
    """What the source wrote of such things."""

    ratios: set[tuple[int, int]] = field(default_factory=set)
    lone: set[tuple[int, int]] = field(default_factory=set)
    shortest: mpq = _SHORTEST
    pieces: int = _MOST_PIECES


def strains(
    score: Score,
    source: Score | None = None,
    bars: Collection[int] | None = None,
    most_pieces: int = _MOST_PIECES,
) -> list[Strain]:
    """The strained symbols in ``score`` (in the bars at these indices) that ``source`` has not.

    A note in more than ``most_pieces`` tied pieces inside a bar is one.
    """
    known = _Known(pieces=most_pieces)
    for part in source.parts if source is not None else ():
        for voice in part.voices:
            for _, kind, detail in _found_in(voice, None):
                if kind == "ratio":
                    known.ratios.add(detail)
                elif kind == "lone":
                    known.lone.add(detail)
                elif kind == "type":
                    known.shortest = min(known.shortest, NOTE_TYPES[detail])
                else:
                    known.pieces = max(known.pieces, detail)
    found: list[Strain] = []
    for p, part in enumerate(score.parts):
        for v, voice in enumerate(part.voices):
            for bar, kind, detail in _found_in(voice, bars):
                problem = _problem(known, kind, detail)
                if problem:
                    found.append(Strain(p, bar, v, problem, kind))
    return found


def _problem(known: _Known, kind: str, detail: Any) -> str:
    if kind == "ratio" and detail not in known.ratios:
        return "a bracket of {}:{}".format(*detail)
    if kind == "lone" and detail not in known.lone:
        return "a bracket of {}:{} over one note".format(*detail)
    if kind == "type" and NOTE_TYPES[detail] < known.shortest:
        return f"a {detail}"
    if kind == "pieces" and detail > known.pieces:
        return f"a note in {detail} tied pieces"
    return ""


def _found_in(voice: Voice, bars: Collection[int] | None) -> Iterator[tuple[int, str, Any]]:
    members: Counter[tuple[int, Tuplet]] = Counter()
    for event in voice.events:
        if not event.visible:
            continue
        pieces = event.pieces
        if len(pieces) > _MOST_PIECES and not event.is_rest:
            for bar, count in Counter(piece.bar for piece in pieces).items():
                if count > _MOST_PIECES and (bars is None or bar in bars):
                    yield bar, "pieces", count
        for piece in pieces:
            if bars is not None and piece.bar not in bars:
                continue
            if piece.type and NOTE_TYPES.get(piece.type, _SHORTEST) < _SHORTEST:
                yield piece.bar, "type", piece.type
            if piece.tuplets:
                for tuplet in piece.tuplets:
                    members[piece.bar, tuplet] += 1
                    if max(tuplet.actual, tuplet.normal) > _LARGEST_NUMBER:
                        yield piece.bar, "ratio", (tuplet.actual, tuplet.normal)
    for (bar, tuplet), count in members.items():
        if count == 1:
            yield bar, "lone", (tuplet.actual, tuplet.normal)
