"""Slurs, hairpins and other spans that reach over the edges of a passage that is cut out.

What begins in the passage and ends behind it ends with the passage; what began before it begins
with it: so a phrase stays under its slur, and a crescendo grows to the end. A slur that would stand
over one note is left out, and so is a slide to a note that is not there.

Conventions
-----------
A *span* has two ends, in a note's notations (slur, wavy line, slide) or in a direction (wedge,
octave shift, pedal, dashes, bracket); the names are those of MusicXML. An end belongs to the latest
beginning of its kind and number in its voice (of a direction: its staff), else in any.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from functools import singledispatch

from gmpy2 import mpq

from rhythm.exact.frozen import dataclass
from rhythm.score.model import Event, Mark, Part, Score
from rhythm.score.sources import crossing

__all__ = ["SpanEnd", "cut_spans", "span_ends", "whole_marks", "whole_notes"]


@dataclass(frozen=True, slots=True)
class SpanEnd:
    """One end of a span: its kind, its number, whether it begins there, and how it is drawn.

    ``look`` are attributes as text (``size=8 placement=above``).
    """

    kind: str
    number: str
    starts: bool
    look: str = ""


@singledispatch
def span_ends(source: object) -> tuple[SpanEnd, ...]:
    """The ends of spans that a source says, in order; a format registers its own."""
    return ()


@dataclass(frozen=True, slots=True)
class _Place:
    """Where an end stands. ``voice`` is an index, -1 for a direction."""

    end: SpanEnd
    bar: int
    onset: mpq
    voice: int
    staff: str = ""
    stream: str = ""


_Span = tuple[_Place, _Place]


def cut_spans(score: Score, first: int, last: int) -> Counter[str]:
    """How many spans of each kind reach over an edge of the bars ``first`` to ``last``."""
    return Counter(
        begin.end.kind for part in score.parts for begin, _ in _crossing(part, first, last)
    )


def whole_marks(part: Part, first: int, last: int) -> tuple[list[Mark], list[Mark]]:
    """Marks that begin and end at the passage's edges what is cut there; from the passage's start.

    Those at its head come first.
    """
    start, end = part.bars[first].start, part.bars[last].end
    head: list[Mark] = []
    tail: list[Mark] = []
    for begin, stop in _crossing(part, first, last):
        if begin.voice >= 0:
            continue
        said = begin.end
        if begin.bar < first:
            head.append(Mark(mpq(0), 0, said.kind, -1, staff=begin.staff, text=said.look))
        if stop.bar > last:
            closing = Mark(end - start, last - first, said.kind, 10**5, begin.stream, begin.staff)
            tail.append(closing.replace(text=_stop(said)))
    return head, tail


def whole_notes(
    part: Part, first: int, last: int, voices: Sequence[Sequence[Event]]
) -> list[list[Event]]:
    """The events of the passage, voice by voice, with the ends of slurs that are cut at its edges.

    ``voices`` are those of the part, cut already, from the passage's start.
    """
    made = [list(events) for events in voices]
    start = part.bars[first].start
    for begin, stop in _crossing(part, first, last):
        if begin.voice < 0 or begin.end.kind in _TO_A_NOTE:
            continue
        events = made[begin.voice if begin.bar >= first else stop.voice]
        sounding = [i for i, e in enumerate(events) if not e.is_rest and e.visible and e.duration]
        if not sounding:
            continue
        opens, closes = begin.bar < first, stop.bar > last
        one = events[sounding[0]].onset if opens else begin.onset - start
        other = events[sounding[-1]].onset if closes else stop.onset - start
        if one > other or (one == other and begin.end.kind == "slur"):
            continue
        if opens:
            events[sounding[0]] = _ended(events[sounding[0]], begin.end, starts=True)
        if closes:
            events[sounding[-1]] = _ended(events[sounding[-1]], begin.end, starts=False)
    return made


def _stop(end: SpanEnd) -> str:
    """The look of the end of what begins with ``end``."""
    kept = (pair for pair in end.look.split() if pair.partition("=")[0] in _AT_BOTH_ENDS)
    return " ".join(("type=stop", f"number={end.number}", *kept))


_AT_BOTH_ENDS = frozenset({"line", "sign", "size"})
_TO_A_NOTE = frozenset({"glissando", "slide"})


def _ended(event: Event, end: SpanEnd, *, starts: bool) -> Event:
    head = event.notes[0]
    said = f"{end.kind} {end.look if starts else _stop(end)}"
    note = head.replace(sources=crossing(head.sources, said))
    slurred = event.slurred or (starts and end.kind == "slur")
    return event.replace(notes=(note, *event.notes[1:]), slurred=slurred)


def _crossing(part: Part, first: int, last: int) -> list[_Span]:
    """The spans that reach over an edge of the passage, in order of their beginning."""
    return [
        (begin, stop)
        for begin, stop in sorted(_spans(part), key=lambda span: span[0].onset)
        if begin.bar <= last and stop.bar >= first and (begin.bar < first or stop.bar > last)
    ]


def _spans(part: Part) -> list[_Span]:
    found: list[_Span] = []
    ends = sorted(_places(part), key=lambda place: (place.bar, place.onset))
    loose = _matched(ends, lambda p: (p.end.kind, p.end.number, p.voice, p.staff), found)
    _matched(loose, lambda p: (p.end.kind, p.end.number), found)
    return found


def _matched(
    places: Sequence[_Place], home: Callable[[_Place], object], found: list[_Span]
) -> list[_Place]:
    """Put the ends that find their partner in ``found``; those that do not, in order."""
    waiting: dict[object, list[int]] = {}
    paired: set[int] = set()
    for index, place in enumerate(places):
        begun = waiting.setdefault(home(place), [])
        if place.end.starts:
            begun.append(index)
        elif begun:
            partner = begun.pop()
            paired |= {partner, index}
            found.append((places[partner], place))
    return [place for index, place in enumerate(places) if index not in paired]


def _places(part: Part) -> Iterator[_Place]:
    for v, voice in enumerate(part.voices):
        for event in voice.events:
            for source in (*event.graces, *event.after):
                for end in span_ends(source):
                    yield _Place(end, event.bar, event.onset, v)
            for note in event.notes:
                whole = len(note.sources) == len(event.pieces)
                for index, source in enumerate(note.sources):
                    for end in span_ends(source):
                        bar, onset = event.bar, event.onset
                        if whole:
                            piece = event.pieces[index]
                            bar, onset = piece.bar, part.bars[piece.bar].start + piece.offset
                        yield _Place(end, bar, onset, v)
    for mark in part.marks:
        for end in span_ends(mark.source):
            yield _Place(end, mark.bar, mark.onset + mark.reach, -1, mark.staff, mark.stream)
