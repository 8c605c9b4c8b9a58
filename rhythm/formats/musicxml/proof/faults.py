"""No new fault: what does not add up in the written file did not add up in the source either.

A checker, which this layer does not know, tells what is at fault. Every fault of the written file
is traced, by the notes of its bar, to the bars of the source that they were read from. A source
that was at fault there may keep its fault, or show another that the first one hid: that is the
music's, and said with the source's bar. Anything else is a defect of this library.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from itertools import pairwise

from lxml import etree

from rhythm.exact.errors import MusicError, Place, ProofError
from rhythm.exact.frozen import dataclass
from rhythm.formats.musicxml.document import Document
from rhythm.formats.musicxml.read.score_reader import as_it_was_read
from rhythm.score.model import Part, Score

__all__ = ["Checker", "Fault", "origins", "require_no_new_fault"]


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing that does not add up: part by id, bar by number and index, kind, and in words."""

    part: str
    bar: str
    index: int
    voice: str
    kind: str
    words: str


Checker = Callable[[Score], Collection[Fault]]

_FROM_THERE_ON = frozenset({"signature", "missing", "surplus", "bar-line", "number", "plan"})
"""Faults that put everything behind them in doubt."""


def require_no_new_fault(score: Score, written: Score, faults: Checker) -> None:
    """Raise where ``written`` has a fault that the source of ``score`` did not have.

    :class:`MusicError` where the source was at fault in the same bars, or one of two bars that make
    one was changed without the other; :class:`ProofError` where it was not.
    """
    found = faults(written)
    if not found:
        return
    document = score.source
    source = as_it_was_read(document) if isinstance(document, Document) else score
    known = faults(source)
    traced = _Origins(score)
    for fault in found:
        near = list(_near(fault, traced.of(fault.index), known))
        if any(other.kind == fault.kind for other in near):
            continue
        if fault.kind in ("short", "stray") and _has_gap(source, fault, traced.of(fault.index)):
            continue
        place = Place(score.path, fault.part, fault.bar, fault.voice)
        torn = () if near else _torn(score, source, traced.of(fault.index))
        if torn:
            raise MusicError(
                f"bars {' and '.join(torn)} make one bar together, and one alone was changed",
                place=place,
                legal="name both of them or neither",
            )
        broken = () if near else _broken(source, traced.of(fault.index))
        if broken and fault.kind == "tuplet":
            raise MusicError(
                f"bar {' and '.join(broken)} has a length that only part of a tuplet fills, "
                f"and came out with another fault: {fault.words}",
                place=place,
                legal="complete the bar first",
            )
        if not near:
            raise ProofError(f"a fault that the source did not have: {fault.words}", place=place)
        # A fault hides others in its bar; whatever moves its notes brings them to light.
        first = near[0]
        where = "" if first.bar == fault.bar else f" in bar {fault.bar}"
        raise MusicError(
            f"does not add up to begin with ({first.words}), "
            f"and came out with another fault{where}: {fault.words}",
            place=Place(score.path, first.part, first.bar, first.voice),
            legal="mend the score first",
        )


def origins(score: Score, index: int) -> range:
    """The bars of the source that the notes of a bar of the score were read from."""
    return _Origins(score).of(index)


def _near(fault: Fault, bars: range, known: Iterable[Fault]) -> Iterator[Fault]:
    """The faults of the source in the bars that a fault of the written file comes from.

    The silence at either edge of them, which no note tells of, belongs to their neighbours. A
    signature that most of its bars contradict comes from all of those.
    """
    reach = range(bars.start - 1, bars.stop + 1)
    for other in known:
        far = other.kind in _FROM_THERE_ON and other.index < bars.stop
        if far or other.index in reach or fault.kind in _FROM_THERE_ON:
            yield other


def _has_gap(source: Score, fault: Fault, bars: range) -> bool:
    """Whether a voice of the source leaves a gap between two events of one of these bars.

    A gap that is long and within a bar is odd and no fault; short or cut by a bar line it is one.
    """
    for part in source.parts:
        for voice in part.voices if part.id == fault.part else ():
            inside = [e for e in voice.events if e.bar in bars and fault.voice == voice.name]
            for first, second in pairwise(inside):
                if first.bar == second.bar and first.end < second.onset:
                    return True
    return False


def _torn(score: Score, source: Score, bars: range) -> tuple[str, ...]:
    """Two bars of the source that make one, in or beside these, of which one alone was changed."""
    as_read = {bar.number for bar in score.bars if bar.source is not None}
    for at in range(max(1, bars.start - 1), min(len(source.bars), bars.stop + 2)):
        first, second = source.bars[at - 1], source.bars[at]
        splits = second.shift > 0 and first.shift + first.length == second.shift
        if splits and (first.number in as_read) != (second.number in as_read):
            return first.number, second.number
    return ()


def _broken(source: Score, bars: range) -> tuple[str, ...]:
    """The bars of the source among these whose length no undivided values add up to."""
    lengths = (
        (bar.number, int(bar.length.denominator)) for bar in source.bars[bars.start : bars.stop]
    )
    return tuple(number for number, below in lengths if below & (below - 1))


class _Origins:
    """Which bars of the source stand in a bar of the score; looked up part by part when asked."""

    def __init__(self, score: Score) -> None:
        self._score = score
        self._bars: Mapping[int, set[int]] | None = None

    def of(self, index: int) -> range:
        """The bars of the source that a bar's notes come from, rests in place of notes included.

        A bar with nothing of the source in it lies between those about it that have. Notes that
        were read from nothing are copies that a device made, and may be those of any bar.
        """
        if self._bars is None:
            self._bars = self._found()
        own = self._bars.get(index)
        if own is None and self._bars and _has_notes(self._score, index):
            document = self._score.source
            read = as_it_was_read(document) if isinstance(document, Document) else self._score
            own = {0, len(read.bars) - 1}
        if own is None:
            before = max((at for at in self._bars if at < index), default=None)
            after = min((at for at in self._bars if at > index), default=None)
            last = len(self._score.bars) - 1
            own = {
                0 if before is None else max(self._bars[before]),
                last if after is None else min(self._bars[after]),
            }
        return range(min(own), max(own) + 1)

    def _found(self) -> dict[int, set[int]]:
        document = self._score.source
        if not isinstance(document, Document):
            return {bar.index: {bar.index} for bar in self._score.bars}
        readings = [each.reading for each in document.parts if each.reading is not None]
        found: dict[int, set[int]] = {}
        for part in self._score.parts:
            for at, source in _sources(part):
                content = source.getparent()
                for reading in readings:
                    bar = reading.bar_of(content)
                    if bar is not None:
                        found.setdefault(at, set()).add(bar.index)
        return found


def _sources(part: Part) -> Iterator[tuple[int, etree._Element]]:
    """Every element that an event of a part was read from, by the bars that it now stands in."""
    for voice in part.voices:
        for event in voice.events:
            bars = {piece.bar for piece in event.pieces} or {event.bar}
            for note in event.notes:
                for source in note.sources:
                    if isinstance(source, etree._Element):
                        yield from ((at, source) for at in bars)


def _has_notes(score: Score, index: int) -> bool:
    return any(
        event.bar == index and not event.is_rest
        for part in score.parts
        for voice in part.voices
        for event in voice.events
    )
