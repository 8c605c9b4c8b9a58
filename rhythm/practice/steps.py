"""Steps to the hard spot: from the beats to the hardest bar of a theme, one new thing at a time.

The bar that is hardest by itself is found. Then everything in it that is not a beat struck is taken
off: what stands between the beats, what is held over them, what is silent on them. Each step puts
one of these back, the easiest of those left first, and says what it is. An exercise has two bars:
what is known already, and the same with the new thing in it. The last ones put the bar where it
stands in the theme.

Conventions
-----------
Positions are whole notes from the start of the bar. A cell is a beat, or several under one tuplet.
A theme is a score of one part; of several voices the hardest line of the upper staff is practised.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from itertools import pairwise

from gmpy2 import mpq

from rhythm.exact.errors import MusicError, RequestError
from rhythm.exact.frozen import dataclass
from rhythm.exact.metre import Metre
from rhythm.exact.values import name_value, plural, symbol
from rhythm.notate.score_notation import spell_score
from rhythm.practice.difficulty import Difficulty, difficulty
from rhythm.practice.sheet_layout import unrepeated
from rhythm.practice.staff_drills import set_on_staves
from rhythm.practice.stroke_scores import STROKE, bars_of
from rhythm.score.concatenation import extract
from rhythm.score.model import Bar, Event, Note, Part, Score, Voice

__all__ = ["FEWEST", "MOST", "Step", "around", "checked_steps", "hardest_bar", "steps"]

FEWEST, MOST = 4, 6
"""So many steps lead to the hard spot."""

_ZERO = mpq(0)


@dataclass(frozen=True, slots=True)
class Step:
    """Two bars, and the one thing in them that is new."""

    new: str
    score: Score


@dataclass(frozen=True, slots=True)
class _Stroke:
    onset: mpq
    end: mpq
    notes: tuple[Note, ...]


@dataclass(frozen=True, slots=True)
class _Cell:
    start: mpq
    end: mpq
    number: int  # of its first beat, from 1
    beats: tuple[mpq, ...]  # where its beats begin


@dataclass(frozen=True, slots=True)
class _Thing:
    """What can be put back: ``kind`` is inner, held, silent or cut, in the cell of this index.

    What is ``inner`` strikes at its ``onsets`` between the beats.
    """

    kind: str
    cell: int
    name: str
    onsets: frozenset[mpq] = frozenset()


def hardest_bar(theme: Score) -> int:
    """The index of the bar that is hardest by itself; the first of equals.

    Upbeats and other bars that do not fill their metre are no spot to practise. Raises MusicError
    where there is no whole bar with more than one note.
    """
    part = theme.parts[0]
    whole = [bar for bar in part.bars if _is_whole(bar) and _strokes_in(theme, bar) > 1]
    if not whole:
        raise MusicError("no bar has a hard spot", legal="a theme with whole bars of several notes")
    levels = {bar.index: _level(theme, bar.index) for bar in whole}
    return max(levels, key=lambda index: (levels[index].exact, -index))


def checked_steps(count: int) -> int:
    """The number of steps that is asked for. Raises RequestError where it is not 4 to 6."""
    if not FEWEST <= count <= MOST:
        raise RequestError(f"{count} steps to the hard spot", legal=f"{FEWEST} to {MOST}")
    return count


def around(theme: Score, index: int) -> Score:
    """The two bars before a bar and the one after it, with it: as much as a pupil needs to see."""
    last = len(theme.bars) - 1
    return unrepeated(extract(theme, max(0, index - 2), min(last, index + 1)))


def _is_whole(bar: Bar) -> bool:
    return bool(bar.metre and bar.metre.length == bar.length and not bar.shift)


def _strokes_in(theme: Score, bar: Bar) -> int:
    return len({
        event.onset
        for _, _, event in theme.events()
        if event.visible and not event.is_rest and bar.start <= event.onset < bar.end
    })  # fmt: skip


def _level(theme: Score, index: int) -> Difficulty:
    return difficulty(extract(theme, index, index))


def steps(theme: Score, most: int = MOST) -> tuple[int, tuple[Step, ...]]:
    """The index of the hardest bar, and the steps that lead to it: ``most`` at most.

    Raises MusicError where there is none, or nothing in it but beats.
    """
    index = hardest_bar(theme)
    bar = extract(theme, index, index)
    metre = bar.bars[0].metre
    assert metre is not None
    spot = _Spot(bar, metre)
    named = spot.groups()
    if not named:
        raise MusicError(
            "the hardest bar has nothing but beats", legal="a theme with something to practise"
        )
    in_place = _in_place(theme, index)
    room = max(1, most - min(len(in_place), max(1, FEWEST - len(named))))
    done: frozenset[_Thing] = frozenset()
    found: list[Step] = []
    for name, things in named:
        known, done = done, done | things
        found.append(Step(name, spot.written([known, done])))
    kept = found[-room:]
    if len(found) == len(kept) and len(kept) + len(in_place) < FEWEST:
        kept.insert(0, Step(_beats_of(metre), spot.written([frozenset(), frozenset()])))
    return index, (*kept, *in_place[: most - len(kept)])


def _beats_of(metre: Metre) -> str:
    uneven = len(set(metre.beats)) > 1
    return "the uneven beats of the bar" if uneven else "the beats of the bar"


def _in_place(theme: Score, index: int) -> list[Step]:
    """The bar after the bar before it, and before the one that follows."""
    bars = theme.parts[0].bars
    found = []
    if index and bars[index - 1].shift:
        found.append(Step("the upbeat", extract(theme, index - 1, index)))
    elif index:
        tied = any(
            event.onset < bars[index].start < event.end and not event.is_rest
            for _, _, event in theme.events()
        )
        what = "the tie from the bar before" if tied else "the bar before it"
        found.append(Step(what, extract(theme, index - 1, index)))
    if index + 1 < len(bars):
        found.append(Step("the bar after it", extract(theme, index, index + 1)))
    return found


class _Spot:
    """The hardest bar, taken to pieces and put together again."""

    def __init__(self, bar: Score, metre: Metre) -> None:
        self.bar, self.metre = bar, metre
        part = bar.parts[0]
        line = _line(part)
        sounding = [e for e in line if e.visible and not e.is_rest and e.duration > 0]
        sounding.sort(key=lambda event: event.onset)
        ends = [*(event.onset for event in sounding[1:]), part.bars[0].end]
        self.strokes = [
            _Stroke(event.onset, min(event.end, end), event.notes)
            for event, end in zip(sounding, ends, strict=True)
            if event.onset < end
        ]
        self.pieces = {event.onset: len(event.pieces) for event in sounding}
        self.cells = _cells(metre, line)
        self.gaps = list(self._gaps())

    def _gaps(self) -> Iterator[tuple[mpq, mpq]]:
        now = _ZERO
        for stroke in self.strokes:
            if stroke.onset > now:
                yield now, stroke.onset
            now = stroke.end
        if now < self.metre.length:
            yield now, self.metre.length

    def groups(self) -> list[tuple[str, frozenset[_Thing]]]:
        """The things by name, easiest first, each on top of those before."""
        by_name: dict[str, set[_Thing]] = defaultdict(set)
        for thing in self._things():
            by_name[thing.name].add(thing)
        left = list(by_name.values())
        if len(left) < FEWEST - 1:
            left = [{thing} for things in left for thing in things]
        done: frozenset[_Thing] = frozenset()
        found: list[tuple[str, frozenset[_Thing]]] = []
        while left:
            ready = [things for things in left if not _waits(things, left)] or left
            best = min(ready, key=lambda things: self._after(done | things, things))
            name = self._named(best, {known for known, _ in found})
            found.append((name, frozenset(best)))
            done |= best
            left.remove(best)
        return found

    def _named(self, things: set[_Thing], known: set[str]) -> str:
        """What is new; of what was new before on another beat, where it is now."""
        name = next(iter(things)).name
        if name not in known:
            return name
        beats = [str(self.cells[each.cell].number) for each in things]
        return f"{name} on beat {' and '.join(sorted(beats))} too"

    def _after(self, done: frozenset[_Thing], things: set[_Thing]) -> tuple[mpq, int]:
        return difficulty(self.written([done])).exact, min(each.cell for each in things)

    def _things(self) -> Iterator[_Thing]:
        for at, cell in enumerate(self.cells):
            for onsets in self._inner(cell):
                yield _Thing("inner", at, _inner_name(cell, onsets), frozenset(onsets))
            over = next((s for s in self.strokes if s.onset < cell.start < s.end), None)
            if over is not None:
                yield _Thing("held", at, self._held_name(cell, over))
            for start, end in self.gaps:
                if start <= cell.start < end:
                    yield _Thing("silent", at, f"a rest on beat {cell.number}")
                elif cell.start < start < cell.end:
                    yield _Thing("cut", at, f"a rest after beat {cell.number}")

    def _inner(self, cell: _Cell) -> Iterator[list[mpq]]:
        """What strikes between the beats: on the divisions, then on their halves, then all."""
        struck = [s.onset for s in self.strokes if cell.start < s.onset < cell.end]
        given: list[mpq] = []
        if len(cell.beats) == 1:
            parts = 3 if self.metre.beat_node_at(cell.start).ternary else 2
            for share in (parts, 2 * parts):
                grid = (cell.end - cell.start) / share
                coarse = [o for o in struck if ((o - cell.start) / grid).denominator == 1]
                if coarse and coarse not in (given, struck):
                    yield coarse
                    given = coarse
        if struck:
            yield struck

    def _held_name(self, cell: _Cell, over: _Stroke) -> str:
        starts = {beat for each in self.cells for beat in each.beats}
        if self.pieces.get(over.onset, 1) > 1 or symbol(over.end - over.onset, 2) is None:
            return f"a tie over beat {cell.number}"
        if over.onset in starts:
            return _one(name_value(over.end - over.onset))
        return f"{_one(name_value(over.end - over.onset))} held over beat {cell.number}"

    def written(self, states: Sequence[frozenset[_Thing]]) -> Score:
        """Bars with these things in them, one after another, on the staves of the theme."""
        bars = bars_of([self.metre] * len(states))
        events: list[Event] = []
        for bar, things in zip(bars, states, strict=True):
            events += self._events(things, bar)
        part = self.bar.parts[0]
        made = Part(part.id, part.name, bars, (Voice("1", tuple(events)),), (), part.program)
        return set_on_staves(self.bar, spell_score(Score((made,))), None)

    def _events(self, things: frozenset[_Thing], bar: Bar) -> Iterator[Event]:
        has = {(thing.kind, thing.cell) for thing in things}
        onsets: set[mpq] = set()
        silent: list[tuple[mpq, mpq]] = []
        for at, cell in enumerate(self.cells):
            if ("held", at) not in has and ("silent", at) not in has:
                onsets.add(cell.start)
            if ("inner", at) in has:
                onsets.update(*(each.onsets for each in things if each.cell == at))
            elif len(cell.beats) > 1:
                onsets.update(cell.beats[1:])
        for at, cell in enumerate(self.cells):
            for start, end in self.gaps:
                shown = ("silent", at) in has and start <= cell.start < end
                shown |= ("cut", at) in has and cell.start < start < cell.end
                if shown:
                    silent.append((max(start, cell.start), min(end, cell.end)))
        now = _ZERO
        ordered = sorted(onsets)
        for onset, after in zip(ordered, [*ordered[1:], self.metre.length], strict=True):
            if onset > now:
                yield _rest(now, onset, bar)
            end = min([a for a, _ in silent if onset < a < after] or [after])
            yield Event(bar.start + onset, end - onset, bar.index, self._notes_at(onset))
            now = end
        if now < self.metre.length:
            yield _rest(now, self.metre.length, bar)

    def _notes_at(self, moment: mpq) -> tuple[Note, ...]:
        """What is played at a moment: what sounds there, or before, or after."""
        before = [stroke for stroke in self.strokes if stroke.onset <= moment]
        stroke = before[-1] if before else self.strokes[0]
        found = tuple(Note("pitched", n.pitch) for n in stroke.notes if n.pitch is not None)
        return found or (STROKE,)


def _inner_name(cell: _Cell, onsets: Sequence[mpq]) -> str:
    """The values of a beat with these onsets in it, in words."""
    edges = [cell.start, *onsets, cell.end]
    lengths = [b - a for a, b in pairwise(edges)]
    if any(symbol(length, 2) is None for length in lengths):
        return _tuplet_name(lengths)
    names = [name_value(length) for length in lengths]
    if len(set(names)) == 1:
        return f"{_NUMBERS.get(len(names), len(names))} {plural(names[0])}"
    return _listed([_one(name) for name in names])


def _waits(things: set[_Thing], left: Sequence[set[_Thing]]) -> bool:
    """Whether a thing makes sense only after another: what is finer, what is held or silent."""
    others = {each for group in left for each in group} - things
    inner = {(each.cell, each.onsets) for each in others if each.kind == "inner"}
    for each in things:
        for cell, onsets in inner:
            if each.kind == "inner":
                if cell == each.cell and onsets < each.onsets:
                    return True
            elif cell in (each.cell, each.cell - 1):
                return True
    return False


def _rest(start: mpq, end: mpq, bar: Bar) -> Event:
    return Event(bar.start + start, end - start, bar.index, (Note("rest"),))


def _line(part: Part) -> tuple[Event, ...]:
    """The hardest voice of the upper staff."""

    def worth(voice: Voice) -> tuple[bool, mpq]:
        low = any(note.staff not in ("", "1") for event in voice.events for note in event.notes)
        return not low, difficulty(Score((part.replace(voices=(voice,)),))).exact

    sounding = [
        voice
        for voice in part.voices
        if any(event.visible and not event.is_rest for event in voice.events)
    ]
    return max(sounding, key=worth).events if sounding else ()


def _cells(metre: Metre, line: Sequence[Event]) -> list[_Cell]:
    nodes = metre.beat_nodes
    spans = [
        (tuplet.offset, tuplet.offset + tuplet.length)
        for event in line
        for piece in event.pieces
        for tuplet in piece.tuplets[:1]
    ]
    found: list[_Cell] = []
    for number, node in enumerate(nodes, start=1):
        joined = any(start < node.start < end for start, end in spans)
        if joined and found:
            last = found[-1]
            beats = (*last.beats, node.start)
            found[-1] = _Cell(last.start, node.end, last.number, beats)
        else:
            found.append(_Cell(node.start, node.end, number, (node.start,)))
    return found


_NUMBERS = {2: "two", 3: "three", 4: "four", 5: "five", 6: "six", 7: "seven", 8: "eight"}
_TUPLETS = {2: "a duplet", 3: "a triplet", 4: "a quadruplet", 5: "a quintuplet", 6: "a sextuplet"}


def _tuplet_name(lengths: Sequence[mpq]) -> str:
    unit = min(lengths)
    count = sum(lengths, _ZERO) / unit
    even = _TUPLETS.get(int(count)) if count.denominator == 1 else None
    if even is None:
        return "a tuplet"
    if len(set(lengths)) == 1:
        return even
    if list(lengths) == sorted(lengths, reverse=True) and len(lengths) == 2:
        return f"{even}, long and short"
    if list(lengths) == sorted(lengths) and len(lengths) == 2:
        return f"{even}, short and long"
    return f"{even} of unequal notes"


def _one(name: str) -> str:
    if name.endswith(("half", "whole")):
        name += " note"
    return f"an {name}" if name[0] in "aeio" else f"a {name}"


def _listed(names: Sequence[str]) -> str:
    return f"{', '.join(names[:-1])} and {names[-1]}"
