"""What the values and rests of a bar, as its editor wrote them, say about the open questions.

A note or a silence that stands in no bracket is written by itself, as the house would and once for
every other answer to what was asked on the way. Where the two differ, the editor's symbols match
one of them, or neither. The same stretches of a metre come back again and again: each is tried
once. What brackets say is read off the editor's ratios, beat by beat.

The same trials tell which ways of writing a stretch handbooks leave open: a bar is remembered as it
was written only where each of its symbols is one of them.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from functools import lru_cache
from itertools import product
from typing import NamedTuple

from gmpy2 import mpq

from rhythm.exact.metre import Metre
from rhythm.exact.tree import OFF, Node
from rhythm.notate.bar_notation import Item
from rhythm.notate.beam_evidence import Ballot
from rhythm.notate.metric_grid import Grid, bar_grid
from rhythm.notate.observation import ObservedBar
from rhythm.notate.rests import fill_rest
from rhythm.notate.usage import QUESTIONS, Beams, Cell, Symbol
from rhythm.notate.values import write_note

__all__ = ["is_open", "value_ballots"]

_EIGHTH = mpq(1, 8)
_QUARTER = mpq(1, 4)

Plain = tuple[tuple[mpq, mpq, str, int], ...]
"""Symbols without a bracket: start, end, type, dots."""


class _Listener:
    """Answers as the house does but where it is told otherwise, and notes what is asked."""

    memory = None

    def __init__(self, given: Mapping[tuple[str, str], str]) -> None:
        self.given = given
        self.heard: dict[tuple[str, str], None] = {}

    def answer(self, question: str, metre: str, place: str = "") -> str:
        key = (question, place)
        self.heard[key] = None
        return self.given.get(key) or QUESTIONS[question].answers[0]

    def beaming(self, cell: Cell) -> Beams | None:
        return None


class _Stretch(NamedTuple):
    """A note or a silence in a bar that begins ``shift`` into its metre, and its most dots."""

    metre: Metre | None
    length: mpq
    shift: mpq
    start: mpq
    end: mpq
    rest: bool
    dots: int


_Point = tuple[str, str]
"""A question and a place."""


def value_ballots(bars: Sequence[ObservedBar], *, every: bool = False) -> list[list[Ballot]]:
    """The answers that the symbols of the bars give, bar by bar.

    Votes for the house where nobody votes against it change nothing, and are looked for only if
    ``every`` vote is asked for.
    """
    cast: list[list[Ballot]] = []
    contested: set[_Point] = set()
    agreeing: list[tuple[list[Ballot], _Stretch, Plain]] = []
    for bar in bars:
        ballots: list[Ballot] = []
        cast.append(ballots)
        if bar.is_settled:
            continue
        if bar.beats:
            ballots.append(Ballot("plain beats", "", bar.beats, bar.beats == "tied"))
        bracketed = False
        for item, symbols in bar.items:
            if any(symbol.ratio != (1, 1) for symbol in symbols):
                bracketed = True
            elif not _is_settled(bar, item, symbols):
                stretch, plain = _stretch(bar, item, symbols), _plain(symbols)
                if plain == _of_house(stretch)[0]:
                    agreeing.append((ballots, stretch, plain))
                else:
                    given = _trial(stretch).get(plain, ())
                    ballots += given
                    contested.update([each[:2] for each in given])
        grid = bar_grid(bar.written_in, bar.length, bar.shift)
        if bracketed or grid.uneven:
            ballots += _about_brackets(grid, bar)
    for ballots, stretch, plain in agreeing:
        if every or not contested.isdisjoint(_of_house(stretch)[1]):
            ballots += _trial(stretch).get(plain, ())
    if halved := {place for question, place in contested if question == "two for one"}:
        for bar, ballots in zip(bars, cast, strict=True):
            ballots += _whole(bar, halved)
    return cast


def _whole(bar: ObservedBar, types: Collection[str]) -> Iterator[Ballot]:
    """The notes of these types that stand on a multiple of themselves and are written as one."""
    for item, symbols in bar.items:
        kind = symbols[0].type
        if kind in types and not item.rest and _is_settled(bar, item, symbols):
            yield Ballot("two for one", kind, "one", True)


def _is_settled(bar: ObservedBar, item: Item, symbols: tuple[Symbol, ...]) -> bool:
    """Nothing is open about a plain note that stands on a multiple of itself, or a short rest."""
    if len(symbols) > 1 or symbols[0].dots:
        return False
    if item.rest:
        return item.duration <= _EIGHTH
    return not (item.offset + bar.shift) % item.duration


def is_open(bar: ObservedBar, item: Item, symbols: tuple[Symbol, ...]) -> bool:
    """Is this a way to write a note or a silence that handbooks leave open?"""
    stretch, plain = _stretch(bar, item, symbols), _plain(symbols)
    if plain == _of_house(stretch)[0] or plain in _trial(stretch):
        return True
    return plain in _ways(stretch)


def _stretch(bar: ObservedBar, item: Item, symbols: tuple[Symbol, ...]) -> _Stretch:
    dots = max(1, *[symbol.dots for symbol in symbols]) if len(symbols) > 1 else symbols[0].dots
    end = item.offset + item.duration
    return _Stretch(
        bar.written_in, bar.length, bar.shift, item.offset, end, item.rest, 2 if dots == 2 else 1
    )


def _plain(symbols: tuple[Symbol, ...]) -> Plain:
    return tuple([(each.start, each.end, each.type, each.dots) for each in symbols])


@lru_cache(maxsize=16384)
def _of_house(stretch: _Stretch) -> tuple[Plain, list[tuple[str, str]]]:
    """The house's way to write a stretch, and what is asked on the way."""
    return _written(stretch, {})


@lru_cache(maxsize=16384)
def _trial(stretch: _Stretch) -> dict[Plain, tuple[Ballot, ...]]:
    """The ballots that each way of writing a stretch casts."""
    house, heard = _of_house(stretch)
    cast: dict[Plain, list[Ballot]] = {}
    for question, place in heard:
        own, *others = QUESTIONS[question].answers
        for answer in others:
            other, _ = _written(stretch, {(question, place): answer})
            if other != house:
                cast.setdefault(other, []).append(Ballot(question, place, answer, False))
                cast.setdefault(house, []).append(Ballot(question, place, own, True))
    return {plain: tuple(ballots) for plain, ballots in cast.items()}


@lru_cache(maxsize=16384)
def _ways(stretch: _Stretch) -> frozenset[Plain]:
    """Every way to write a stretch that some answers lead to."""
    house, heard = _of_house(stretch)
    found = {house}
    for answers in product(*(QUESTIONS[question].answers for question, _ in heard)):
        found.add(_written(stretch, dict(zip(heard, answers, strict=True)))[0])
    return frozenset(found)


def _written(
    stretch: _Stretch, given: Mapping[tuple[str, str], str]
) -> tuple[Plain, list[tuple[str, str]]]:
    """The symbols of a stretch, and what was asked; none where it lies off the metre's tree."""
    listener = _Listener(given)
    grid = bar_grid(stretch.metre, stretch.length, stretch.shift).answered_by(listener)
    start, end = stretch.start, stretch.end
    if OFF in (grid.rank(start), grid.rank(end)):
        return (), []
    symbols = (
        fill_rest(grid, start, end) if stretch.rest else write_note(grid, start, end, stretch.dots)
    )
    return tuple(tuple(each) for each in symbols), list(listener.heard)  # type: ignore[misc]


def _about_brackets(grid: Grid, bar: ObservedBar) -> Iterator[Ballot]:
    """What the ratios say, beat by beat: sixths under one bracket or two, a duplet or none."""
    symbols = bar.symbols
    edges = sorted({at for each in symbols for at in (each.start, each.end)})
    for beat in grid.beats(edges[0], edges[-1]):
        inside = [each for each in symbols if beat.start <= each.start and each.end <= beat.end]
        cuts = [at for at in edges if beat.start < at < beat.end]
        if not inside or inside[0].start != beat.start or inside[-1].end != beat.end:
            continue
        if beat.compound:
            yield from _about_duplet(beat, inside, cuts)
        elif beat.length <= _QUARTER:
            yield from _about_sixths(beat, inside, cuts)


def _about_duplet(beat: Node, inside: list[Symbol], cuts: list[mpq]) -> Iterator[Ballot]:
    if cuts == [beat.start + beat.length / 2] and not inside[-1].rest:
        dotted = inside[0].ratio == (1, 1)
        yield Ballot("duplet", "", "dotted" if dotted else "2:3", not dotted)


def _about_sixths(beat: Node, inside: list[Symbol], cuts: list[mpq]) -> Iterator[Ballot]:
    sixths = [6 * (at - beat.start) / beat.length for at in cuts]
    ratios = {each.ratio for each in inside}
    if 3 not in sixths or len(sixths) < 3 or any(at.denominator != 1 for at in sixths):
        return
    one = ratios == {(6, 4)}
    if not one and ratios != {(3, 2)}:
        return
    if len(sixths) == 5:
        yield Ballot("six in a beat", "", "one 6:4" if one else "two 3:2", not one)
    elif {2, 4} < set(sixths):  # the house writes 3:2 over the beat: so may two brackets of it
        yield Ballot("sixths", "", "one 6:4" if one else "", not one)
    elif sixths[0] < 3 < sixths[-1]:
        yield Ballot("sixths", "", "one 6:4" if one else "two 3:2", one)
