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
from dataclasses import dataclass
from functools import cached_property

from gmpy2 import mpq

from rhythm.exact.metre import Metre
from rhythm.notate.bar_notation import Item
from rhythm.notate.beam_stretches import Stem
from rhythm.notate.beams import FLAGS
from rhythm.notate.plain_beats import Held, plain_metre, reading
from rhythm.notate.usage import Beams, Symbol
from rhythm.score.model import Part, Piece, Score, Voice

__all__ = ["ObservedBar", "has_whole_beams", "observed_bars"]

_MOST_SYMBOLS = 256
"""A bar with more in it than this shows no habit."""

_SHORT = mpq(1, 8)
"""Of a rest no longer than this nothing is asked."""

_Row = list[tuple[Piece, bool, bool, bool, bool]]
"""The pieces of a bar, each with: a rest, tied to, a slur begins, a syllable begins."""


@dataclass(frozen=True)
class ObservedBar:
    """A bar of one voice, the bars it stands in (indices) and two of them by part and number."""

    metre: Metre | None
    length: mpq
    shift: mpq
    beamed: bool
    row: _Row
    indices: Sequence[int]
    places: Sequence[tuple[str, str]]

    @property
    def times(self) -> int:
        """How often it stands in the score."""
        return len(self.indices)

    @property
    def is_settled(self) -> bool:
        """Are all its symbols plain notes on multiples of themselves, and lone short rests?

        There is but one way to write those, save three plain beats across dotted ones.
        """
        silent = False
        for piece, rest, tied, _, _ in self.row:
            if tied or piece.dots or piece.ratio != (1, 1):
                return False
            if rest:
                if silent or piece.duration > _SHORT:
                    return False
            elif (piece.offset + self.shift) % piece.duration:
                return False
            silent = rest
        return plain_metre(self.metre) is None

    @property
    def has_beams(self) -> bool:
        """Could two of its notes share a beam?"""
        flagged = [True for piece, rest, _, _, _ in self.row if not rest and piece.type in FLAGS]
        return self.beamed and len(flagged) > 1

    @cached_property
    def symbols(self) -> tuple[Symbol, ...]:
        """What the editor wrote."""
        return tuple(
            [
                Symbol(p.offset, p.offset + p.duration, rest, p.type, p.dots, p.ratio, tied)
                for p, rest, tied, _, _ in self.row
            ]
        )

    @property
    def beams(self) -> Beams:
        """The words of the editor's beams, symbol by symbol."""
        return tuple([each[0].beams for each in self.row])

    @cached_property
    def items(self) -> tuple[tuple[Item, tuple[Symbol, ...]], ...]:
        """The notes and silences, however they were written, each with its symbols."""
        found: list[tuple[Item, tuple[Symbol, ...]]] = []
        for symbol, (*_, slurred, sung) in zip(self.symbols, self.row, strict=True):
            last, before = found[-1] if found else (None, ())
            meets = last is not None and before[-1].end == symbol.start
            if last is not None and meets and (symbol.tied or (symbol.rest and last.rest)):
                longer = last._replace(duration=symbol.end - last.offset)
                found[-1] = longer, (*before, symbol)
            else:
                length = symbol.end - symbol.start
                item = Item(symbol.start, length, symbol.rest, sung=sung, slurred=slurred)
                found.append((item, (symbol,)))
        return tuple(found)

    @cached_property
    def held(self) -> tuple[Held, ...]:
        """The notes and silences with the most dots that each may be written with."""
        return tuple(
            Held(
                item.offset,
                item.offset + item.duration,
                item.rest,
                2 if max(symbol.dots for symbol in symbols) == 2 else 1,
            )
            for item, symbols in self.items
        )

    @cached_property
    def beats(self) -> str:
        """``whole`` for a bar whose notes stand in plain beats across dotted ones, ``tied`` for one
        that ties what could, and nothing for all others."""
        if plain_metre(self.metre) is None:
            return ""
        found = reading(self.metre, self.length, self.shift, self.held)
        if found is None or any(symbol.ratio != (1, 1) for symbol in self.symbols):
            return ""
        written = {held: _plain(pair[1]) for held, pair in zip(self.held, self.items, strict=True)}
        if all(written[note] == tied for note, tied, _ in found.notes):
            return "tied"
        if all(written[note] == whole for note, _, whole in found.notes):
            return "whole"
        return ""

    @cached_property
    def written_in(self) -> Metre | None:
        """The metre whose beats the editor's symbols show: 3/4 for 4 4 4 in 6/8."""
        plain = plain_metre(self.metre) if self.beats == "whole" else None
        return self.metre if plain is None else plain[0]

    @cached_property
    def stems(self) -> tuple[Stem, ...]:
        """What beaming needs to know of the symbols."""
        return tuple(
            Stem(
                piece.offset,
                piece.offset + piece.duration,
                FLAGS.get(piece.type, 0),
                rest,
                _reach(piece),
                sung and not tied,
                slurred and not tied,
            )
            for piece, rest, tied, slurred, sung in self.row
        )


def _plain(symbols: Sequence[Symbol]) -> tuple[tuple[mpq, mpq, str, int], ...]:
    return tuple([(each.start, each.end, each.type, each.dots) for each in symbols])


def _reach(piece: Piece) -> tuple[mpq, mpq] | None:
    if not piece.tuplets:
        return None
    outer = piece.tuplets[0]
    return outer.offset, outer.offset + outer.length


class _Seen:
    """One distinct bar while the score is gone through."""

    __slots__ = ("indices", "places", "row")

    def __init__(self, row: _Row) -> None:
        self.row = row
        self.indices: list[int] = []
        self.places: list[tuple[str, str]] = []


def observed_bars(score: Score, bars: Collection[int] | None = None) -> list[ObservedBar]:
    """The distinct bars of a score (of those at these indices), in order."""
    found: dict[tuple[object, ...], _Seen] = {}
    for part in score.parts:
        beamed = has_whole_beams(part) or _is_flagged(part)
        for voice in part.voices:
            for index, row in _rows(voice, bars).items():
                bar = part.bars[index]
                key = (
                    bar.metre,
                    bar.length,
                    bar.shift,
                    beamed,
                    tuple(
                        [
                            (p.offset, p.type, p.dots, p.ratio, p.beams, rest, tied, slurred, sung)
                            for p, rest, tied, slurred, sung in row
                        ]
                    ),
                )
                seen = found.get(key)
                if seen is None:
                    seen = found[key] = _Seen(row)
                seen.indices.append(index)
                if len(seen.places) < 2:
                    seen.places.append((part.name or part.id, bar.number))
    return [
        ObservedBar(metre, length, shift, beamed, seen.row, seen.indices, seen.places)  # type: ignore[arg-type]
        for (metre, length, shift, beamed, _), seen in found.items()
    ]


def _rows(voice: Voice, bars: Collection[int] | None) -> dict[int, _Row]:
    """The bars of a voice that are worth looking at."""
    rows: dict[int, _Row] = {}
    sounding: set[int] = set()
    spoiled: set[int] = set()
    for event in voice.events:
        rest = event.is_rest
        visible = not (event.hidden or event.cue)
        slurred, sung, tied = event.slurred, bool(event.verses), False
        for piece in event.pieces:
            index = piece.bar
            if bars is None or index in bars:
                if not visible or not piece.type or piece.tremolo:
                    spoiled.add(index)
                if not rest:
                    sounding.add(index)
                symbol = (piece, rest, tied, slurred, sung)
                row = rows.get(index)
                if row is None:
                    rows[index] = [symbol]
                else:
                    row.append(symbol)
            tied = not rest
    return {
        index: row
        for index, row in rows.items()
        if index in sounding and index not in spoiled and len(row) <= _MOST_SYMBOLS
    }


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
    return (
        piece.beams[0]
        for voice in voices
        for event in voice.events
        for piece in event.pieces
        if piece.beams
    )
