"""The bars of an editor, remembered by their rhythm.

A rhythm that comes back is written as it was, as far as handbooks leave it open: where every note
and silence is written in one of the ways that some answers lead to (brackets must be those that we
would write), and beams are whole. Where an editor wavers, the bar itself decides, if it was there
before; else the bars near it, each with a weight of one over how far away it is. Of another score's
bars, which stand nowhere near, two must agree, and 60 in 100.

For rhythms that were never there stretches of bars are remembered (:mod:`rhythm.notate.
beam_memory`); nothing is looked for before it is asked.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from dataclasses import dataclass, field
from functools import cached_property

from gmpy2 import mpq

from rhythm.exact.metre import Metre
from rhythm.notate.beam_memory import are_whole, known_cells
from rhythm.notate.beams import beam_stems
from rhythm.notate.metric_grid import bar_grid
from rhythm.notate.observation import ObservedBar
from rhythm.notate.usage import BarRhythm, Beams, Cell, Remembered, Usage
from rhythm.notate.value_evidence import is_open

__all__ = ["BarMemory"]

_LEAST = 2
_SHARE = 60


@dataclass(frozen=True, eq=False)
class BarMemory:
    """What ``bars`` teach; ``own`` says that they are of the score that is written.

    A memory equals itself alone: to compare all bars at each question would take for ever.
    """

    bars: tuple[ObservedBar, ...] = field(repr=False)
    own: bool = True

    @cached_property
    def _by_metre(self) -> dict[Metre | None, list[ObservedBar]]:
        found: dict[Metre | None, list[ObservedBar]] = defaultdict(list)
        for bar in self.bars:
            found[bar.metre].append(bar)
        return dict(found)

    @cached_property
    def _by_rhythm(self) -> dict[Metre | None, dict[BarRhythm, list[ObservedBar]]]:
        return {}

    @cached_property
    def _written(self) -> dict[BarRhythm, list[tuple[Remembered, ObservedBar]]]:
        return {}

    @cached_property
    def _cells(self) -> dict[str, dict[Cell, Beams]]:
        return {}

    def knows(self, metre: Metre | None) -> bool:
        """Are there bars of this metre?"""
        return metre in self._by_metre

    def bar(self, rhythm: BarRhythm, index: int) -> Remembered | None:
        """How the bar of this rhythm at ``index``, or those nearest to it, was written."""
        known = self._by_rhythm.get(rhythm.metre)
        if known is None:
            known = self._by_rhythm[rhythm.metre] = {}
            for bar in self._by_metre.get(rhythm.metre, ()):
                known.setdefault(_rhythm(bar), []).append(bar)
        if rhythm not in known:
            return None
        ways = self._written.get(rhythm)
        if ways is None:
            found = [(_lawful(bar), bar) for bar in known[rhythm]]
            ways = self._written[rhythm] = [(way, bar) for way, bar in found if way is not None]
        return self._chosen(ways, index)

    def _chosen(self, ways: list[tuple[Remembered, ObservedBar]], index: int) -> Remembered | None:
        votes: Counter[Remembered] = Counter()
        for way, bar in ways:
            if not self.own:
                votes[way] += bar.times
                continue
            if len(ways) == 1 or index in bar.indices:
                return way
            for other in bar.indices:
                votes[way] += mpq(1, abs(index - other))  # type: ignore[assignment]
        if not votes:
            return None
        best, most = votes.most_common(1)[0]
        enough = self.own or (most >= _LEAST and most * 100 >= _SHARE * votes.total())
        return best if enough else None

    def beaming(self, cell: Cell, plain: Usage) -> Beams | None:
        """The words mostly written over this stretch, if not those that ``plain`` answers give."""
        known = self._cells.get(cell.metre)
        if known is None:
            bars = [bar for bar in self.bars if _name(bar.written_in) == cell.metre]
            known = self._cells[cell.metre] = _learned(bars, plain)
        return known.get(cell)


def _name(metre: Metre | None) -> str:
    """What a grid calls its metre."""
    return bar_grid(metre, mpq(1), mpq(0)).metre


def _rhythm(bar: ObservedBar) -> BarRhythm:
    items = tuple([(item.offset, item.duration, item.rest, item.sung) for item, _ in bar.items])
    return BarRhythm(bar.metre, bar.length, bar.shift, items)


def _lawful(bar: ObservedBar) -> Remembered | None:
    """The bar as it was written, if handbooks leave that open."""
    for item, symbols in bar.items:
        plain = all(symbol.ratio == (1, 1) for symbol in symbols)
        if plain and not is_open(bar, item, symbols):
            return None
    whole = bar.beamed and are_whole(bar.stems, bar.beams)
    return Remembered(bar.symbols, bar.beams if whole else None, bar.written_in)


def _learned(bars: list[ObservedBar], plain: Usage) -> dict[Cell, Beams]:
    """The stretches that these bars mostly beam alike, and not always as the answers say."""
    differing: set[Cell] = set()
    counts: dict[Cell, Counter[Beams | None]] = defaultdict(Counter)
    for bar in bars:
        if not bar.beamed:
            continue
        stems, words = bar.stems, bar.beams
        grid = bar_grid(bar.written_in, bar.length, bar.shift, "", plain)
        ours = beam_stems(grid, stems)
        for _, inside, keys in known_cells(grid, stems):
            said = tuple([words[i] for i in inside])
            whole = are_whole([stems[i] for i in inside], said)
            for key in keys:
                counts[key][said if whole else None] += bar.times
            if any(_hooked(words[i]) != _hooked(ours[i]) for i in inside):
                differing.update(keys)
    found: dict[Cell, Beams] = {}
    for key in differing:
        counted = counts[key]
        best, most = counted.most_common(1)[0]
        if best is not None and most >= _LEAST and most * 100 >= _SHARE * counted.total():
            found[key] = best
    return found


def _hooked(words: tuple[str, ...]) -> list[str]:
    """The words of beams, whichever way a hook points."""
    return ["hook" if word.endswith("hook") else word for word in words]
