"""The bars of a score as their editor wrote them, each distinct one once.

Conventions
-----------
Looked at are bars of one voice that hold a visible note, nothing hidden or cue-sized, and a type on
every symbol. Beams are looked at in parts whose beams are whole: some exports wrote beginnings
without ends. Positions count from the bar's start.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

from gmpy2 import mpq

from rhythm.exact.metre import Metre
from rhythm.notate.bar_notation import Item
from rhythm.score.model import Part, Piece, Score, Voice

__all__ = ["EditorSign", "ObservedBar", "has_whole_beams", "observed_bars"]


class EditorSign(NamedTuple):
    """One symbol as it was written; ``tied`` says that a tie leads to it."""

    start: mpq
    end: mpq
    rest: bool
    type: str
    dots: int
    ratio: tuple[int, int]
    tied: bool
    beams: tuple[str, ...]


@dataclass(slots=True)
class ObservedBar:
    """One bar of one voice, how often it stands in the score, and where: part and bar number."""

    metre: Metre | None
    length: mpq
    shift: mpq
    items: tuple[Item, ...]
    signs: tuple[EditorSign, ...]
    beamed: bool
    times: int = 0
    places: list[tuple[str, str]] = field(default_factory=list)


_Symbol = tuple[Piece, bool, bool, bool, bool]


def observed_bars(score: Score, bars: Collection[int] | None = None) -> list[ObservedBar]:
    """The distinct bars of a score (of those at these indices), in order."""
    found: dict[object, ObservedBar] = {}
    for part in score.parts:
        beamed = has_whole_beams(part) or _is_flagged(part)
        for voice in part.voices:
            dots = 1
            rows: dict[int, list[_Symbol]] = {}
            spoiled: set[int] = set()
            for event in voice.events:
                rest = event.is_rest
                for i, piece in enumerate(event.pieces):
                    if bars is not None and piece.bar not in bars:
                        continue
                    if not event.visible or not piece.type or piece.tremolo:
                        spoiled.add(piece.bar)
                    elif piece.dots > 1:
                        dots = 2
                    symbol = (piece, rest, not rest and i > 0, event.slurred, bool(event.verses))
                    row = rows.get(piece.bar)
                    if row is None:
                        rows[piece.bar] = [symbol]
                    else:
                        row.append(symbol)
            _note(found, part, rows, spoiled, dots, beamed)
    return list(found.values())


def _note(
    found: dict[object, ObservedBar],
    part: Part,
    rows: dict[int, list[_Symbol]],
    spoiled: set[int],
    dots: int,
    beamed: bool,
) -> None:
    for index, row in rows.items():
        if index in spoiled or all(rest for _, rest, *_ in row):
            continue
        bar = part.bars[index]
        key = (
            bar.metre,
            bar.length,
            bar.shift,
            dots,
            beamed,
            tuple(
                [
                    (p.offset, p.duration, p.type, p.dots, p.ratio, p.beams, *more)
                    for p, *more in row
                ]
            ),
        )
        known = found.get(key)
        if known is None:
            items, signs = _read(row, dots)
            known = ObservedBar(bar.metre, bar.length, bar.shift, items, signs, beamed)
            found[key] = known
        known.times += 1
        if len(known.places) < 2:
            known.places.append((part.name or part.id, bar.number))


def _read(row: Sequence[_Symbol], dots: int) -> tuple[tuple[Item, ...], tuple[EditorSign, ...]]:
    items: list[Item] = []
    signs: list[EditorSign] = []
    for piece, rest, tied, slurred, sung in row:
        signs.append(
            EditorSign(
                piece.offset,
                piece.end,
                rest,
                piece.type,
                piece.dots,
                piece.ratio,
                tied,
                piece.beams,
            )
        )
        last = items[-1] if items else None
        meets = last is not None and last.offset + last.duration == piece.offset
        if last is not None and meets and (tied or (rest and last.rest)):
            items[-1] = last._replace(duration=last.duration + piece.duration)
        else:
            items.append(Item(piece.offset, piece.duration, rest, dots, sung=sung, slurred=slurred))
    return tuple(items), tuple(signs)


def has_whole_beams(part: Part) -> bool:
    """True where a part has beams, and no more than one in fifty begins without an end."""
    words = Counter(_first_words(part.voices))
    begun, ended = words["begin"], words["end"]
    return bool(begun) and abs(begun - ended) * 50 <= begun


def _is_flagged(part: Part) -> bool:
    """True for a sung part without any beam: each of its notes has a syllable, and a flag."""
    sung = any(event.verses for voice in part.voices for event in voice.events)
    return sung and not any(_first_words(part.voices))


def _first_words(voices: Sequence[Voice]) -> Iterator[str]:
    for voice in voices:
        for event in voice.events:
            for piece in event.pieces:
                if piece.beams:
                    yield piece.beams[0]
