"""Where marks and bar lines go when music is laid onto new bars.

A mark goes with the event that stands at its position: in its own voice, else in its staff, else
by the passage's map of time. Bar lines, with their repeats and endings, and page breaks go to the
edge of a bar; keys and clefs stay where their music is, by the frame's map for their voice.

Conventions
-----------
Inside, positions are whole notes from the passage's start and bars are indices in the new score.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Callable, Sequence

from gmpy2 import mpq

from rhythm.exact.frozen import dataclass
from rhythm.rebar.bar_plan import BarPlan, starts
from rhythm.rebar.passage import Passage, of_voice
from rhythm.score.carried_marks import carried, with_leads
from rhythm.score.model import Bar, Mark, Part

__all__ = ["Edges", "moved_marks"]

_FRAME = frozenset({"attributes", "clef", "key", "staff-details", "transpose"})
_AT_EDGES = frozenset({"measure", "print"})
_RANK = 1_000_000  # more than any bar has children: marks of an earlier source bar come first


@dataclass(frozen=True, slots=True)
class Edges:
    """The bar lines of a plan: starts and end from the passage's start.

    ``base`` is where the passage starts on the score's timeline, ``first`` the index of its bar.
    """

    starts: tuple[mpq, ...]
    end: mpq
    base: mpq
    first: int

    @classmethod
    def of(cls, plan: Sequence[BarPlan], base: mpq, first: int) -> Edges:
        """The edges of a plan."""
        found = tuple(starts(plan))
        return cls(found, found[-1] + plan[-1].length, base, first)

    def at(self, position: mpq) -> int:
        """The index of the bar a position lies in; on a bar line the later one."""
        return self._bounded(bisect_right(self.starts, position) - 1)

    def before(self, position: mpq) -> int:
        """The index of the bar a position lies in; on a bar line the earlier one."""
        return self._bounded(bisect_left(self.starts, position) - 1)

    def _bounded(self, i: int) -> int:
        return self.first + max(0, min(i, len(self.starts) - 1))

    def end_of(self, index: int) -> mpq:
        """Where the bar with this index ends."""
        i = index - self.first + 1
        return self.starts[i] if i < len(self.starts) else self.end

    def nearest_start(self, position: mpq) -> int:
        """The bar whose start is nearest."""
        index = self.at(position)
        start, end = self.starts[index - self.first], self.end_of(index)
        is_last = index - self.first + 1 == len(self.starts)
        return index + 1 if not is_last and end - position < position - start else index

    def nearest_end(self, position: mpq) -> int:
        """The bar whose end is nearest."""
        index = self.before(position)
        i = index - self.first
        near = i > 0 and position - self.starts[i] < self.end_of(index) - position
        return index - 1 if near else index

    def closed_by(self, bar: int, passage: Passage) -> int:
        """The bar that is closed now by what closed this bar of the source.

        What closed the passage closes it still, however much its last bar was filled.
        """
        if bar == passage.last:
            return self.first + len(self.starts) - 1
        end = passage.score.bars[bar].end
        return self.nearest_end(passage.frame(end - self.base))


Table = dict[tuple[str, mpq], mpq]


def moved_marks(
    passage: Passage, edges: Edges, p: int, same: int
) -> tuple[tuple[Mark, ...], set[int]]:
    """All marks of a part in their new places, and the bars whose marks are not as they were.

    The first ``same`` bars of the passage have the same edges as before.
    """
    part = passage.score.parts[p]
    by_voice, by_staff = _tables(passage, edges, p)
    signs = _signs(passage, edges, p)
    first, last = passage.first, passage.last
    more = len(edges.starts) - (last - first + 1)
    later = edges.base + edges.end - part.bars[last].end
    found: list[Mark] = []
    touched: set[int] = set()
    for mark, lead in with_leads(part.marks):
        if mark.bar < first:
            found.append(mark)
            continue
        if mark.bar > last:
            found.append(mark.replace(onset=mark.onset + later, bar=mark.bar + more))
            continue
        bar = part.bars[mark.bar]

        def place(at: mpq, mark: Mark = mark, frame: bool = mark.kind in _FRAME) -> mpq:
            if frame:
                return signs[mark.stream, at]
            image = by_voice.get((mark.stream, at))
            if image is None:
                image = by_staff.get((mark.staff or "1", at))
            return of_voice(passage.time, p, mark.stream)(at) if image is None else image

        new = _moved(mark, bar, edges, passage, place, lead)
        if new.bar != mark.bar or new.onset != mark.onset or mark.bar >= first + same:
            touched |= {mark.bar, new.bar}
        found.append(new)
    within = range(first, first + len(edges.starts))
    ordered = sorted(found, key=lambda mark: (mark.bar, mark.order))
    return tuple(ordered), {bar for bar in touched if bar in within}


def _signs(passage: Passage, edges: Edges, p: int) -> Table:
    """Where keys and clefs go, by the voice in whose stream they stand and their position.

    Voices may go apart; what comes into force later still does.
    """
    marks = [mark for mark in passage.score.parts[p].marks if mark.kind in _FRAME]
    found: Table = {}
    latest = mpq(0)
    for mark in sorted(marks, key=lambda mark: mark.onset):
        if passage.first <= mark.bar <= passage.last:
            at = mark.onset - edges.base
            # What is in force from the start is so before the first note too.
            latest = max(latest, of_voice(passage.frame, p, mark.stream)(at) if at else at)
            found[mark.stream, at] = latest
    return found


def _moved(
    mark: Mark,
    bar: Bar,
    edges: Edges,
    passage: Passage,
    place: Callable[[mpq], mpq],
    lead: mpq,
) -> Mark:
    at = mark.onset - edges.base
    if mark.kind == "barline":
        index, onset = _barline(mark, bar, edges, passage)
    elif mark.kind in _AT_EDGES:
        index = edges.nearest_start(passage.frame(at))
        onset = edges.starts[index - edges.first]
    else:
        onset = place(at)
        closes = mark.onset >= bar.end and bar.length > 0
        index = edges.before(onset) if closes else edges.at(onset)
    new = carried(mark, at, lead, place)
    reach = new.reach
    if reach and mark.onset + mark.reach < bar.end:
        # An offset that a new bar line falls into would leave its sign in the wrong bar.
        there = edges.at(onset + reach)
        if there > index:
            reach += onset - edges.starts[there - edges.first]
            index, onset = there, edges.starts[there - edges.first]
    order = mark.order + _RANK * (mark.bar - index)
    return new.replace(onset=edges.base + onset, bar=index, order=order, reach=reach)


def _barline(mark: Mark, bar: Bar, edges: Edges, passage: Passage) -> tuple[int, mpq]:
    at = passage.frame(mark.onset - edges.base)
    if mark.onset >= bar.end:
        index = edges.closed_by(mark.bar, passage)
        return index, edges.end_of(index)
    if mark.onset <= bar.start:
        index = edges.nearest_start(at)
        return index, edges.starts[index - edges.first]
    return edges.at(at), at


def _tables(passage: Passage, edges: Edges, p: int) -> tuple[Table, Table]:
    """Where events at a position went, by voice and by staff; notes before rests."""
    part: Part = passage.score.parts[p]
    by_voice: Table = {}
    by_staff: Table = {}
    for sounding in (True, False):
        for strand in passage.strands:
            if strand.part != p:
                continue
            voice = part.voices[strand.voice]
            for each in strand.laid:
                if each.origin is None or each.sounds != sounding:
                    continue
                old = voice.events[each.origin]
                at = old.onset - edges.base
                by_voice.setdefault((voice.name, at), each.onset)
                for note in old.notes:
                    by_staff.setdefault((note.staff or "1", at), each.onset)
    return by_voice, by_staff
