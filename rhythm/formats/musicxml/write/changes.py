"""Which bars still say what was read: only those may be written as they were.

Whoever edits a score need not say so. When it is written, what every bar holds is compared with
what the reader made of it, kept beside the part's source. What was not touched is the same object
still, so that a look at it is enough; the rest is compared by value, from the bar's start, so that
a bar may move on the timeline and stay as it was read.

Conventions
-----------
A bar that is shown under another number keeps its form, and one before which the metre changed:
the writer sets both on a copy. Lengths are not compared: they follow from the notes.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence

from gmpy2 import mpq
from lxml import etree

from rhythm.exact.errors import Place, RequestError
from rhythm.exact.values import format_value
from rhythm.formats.musicxml.document import PartSource, Reading
from rhythm.formats.musicxml.write.mark_writer import bar_line_side
from rhythm.score.model import Addition, Bar, Event, Mark, Note, Part, Piece, Score, Voice

__all__ = ["as_read", "require_spelled", "unspelled"]

_ZERO = mpq(0)
_Lines = dict[str, list[Event]]


def as_read(score: Score) -> Score:
    """The score with a ``source`` in those bars alone that hold exactly what was read."""
    parts = tuple(map(_part, score.parts))
    if all(new is old for new, old in zip(parts, score.parts, strict=True)):
        return score
    return score.replace(parts=parts)


def unspelled(score: Score) -> frozenset[int]:
    """The bars with events that are not written yet, or written as lasting otherwise than they do.

    Those bars want to be notated before the score is written.
    """
    found: set[int] = set()
    for part in score.parts:
        for event in _unspelled(part):
            found.add(event.bar)
            found.update(piece.bar for piece in event.pieces)
            found.update(
                bar.index for bar in part.bars[event.bar :] if event.onset < bar.end <= event.end
            )
            found.update(bar.index for bar in part.bars if bar.start < event.end <= bar.end)
    return frozenset(found)


def require_spelled(score: Score) -> None:
    """Raise RequestError for an event whose pieces do not say when and how long it sounds."""
    for part in score.parts:
        for event in _unspelled(part):
            at = event.onset - part.bars[event.bar].start
            raise RequestError(
                f"what stands at {format_value(at)} lasts {format_value(event.duration)} and is "
                "not written so",
                place=Place(score.path, part.name or part.id, part.bars[event.bar].number),
                legal="notate the score first, or write it with rhythm.write, which does",
            )


def _unspelled(part: Part) -> Iterator[Event]:
    source = part.source
    reading = source.reading if isinstance(source, PartSource) else None
    bars = part.bars
    if reading is not None and _identical(part.voices, reading.voices) and bars is reading.bars:
        return
    for voice in part.voices:
        for event in voice.events:
            pieces = event.pieces
            if len(pieces) == 1:
                (piece,) = pieces
                lasts = piece.duration
            elif pieces:
                piece = pieces[0]
                lasts = sum((each.duration for each in pieces), _ZERO)
            else:
                if event.duration and event.notes:
                    yield event
                continue
            if lasts != event.duration or bars[piece.bar].start + piece.offset != event.onset:
                yield event


def _part(part: Part) -> Part:
    source = part.source
    reading = source.reading if isinstance(source, PartSource) else None
    stale = _stale(part, reading)
    if not stale:
        return part
    bars = [bar.replace(source=None) if at in stale else bar for at, bar in enumerate(part.bars)]
    marks = part.marks if reading is None else _with_bar_lines(part, reading, stale)
    return part.replace(bars=tuple(bars), marks=marks)


def _with_bar_lines(part: Part, reading: Reading, stale: Iterable[int]) -> tuple[Mark, ...]:
    """The marks, those that draw a bar line left out where the bar itself now says another."""
    drawn: set[int] = set()
    for at in stale:
        bar = part.bars[at]
        old = reading.bar_of(bar.source)
        for side in ("left", "right"):
            if old is not None and getattr(bar, side) != getattr(old, side):
                drawn.update(
                    id(mark)
                    for mark in part.marks
                    if mark.bar == at
                    and bar_line_side(mark) == side
                    and isinstance(mark.source, etree._Element)
                    and mark.source.getparent() is bar.source
                )
    return tuple(mark for mark in part.marks if id(mark) not in drawn) if drawn else part.marks


def _stale(part: Part, reading: Reading | None) -> set[int]:
    """The bars of a part that have a source and do not hold what was read from it."""
    asked = {at for at, bar in enumerate(part.bars) if bar.source is not None}
    if reading is None or not asked:
        return asked
    were = {at: reading.bar_of(part.bars[at].source) for at in asked}
    stale = {at for at, old in were.items() if old is None or not _same_bar(part.bars[at], old)}
    looked_at = {at: old for at, old in were.items() if old is not None and at not in stale}
    if not looked_at:
        return stale
    placed = all(
        at == old.index and part.bars[at].start == old.start for at, old in looked_at.items()
    )
    if not (placed and part.marks is reading.marks):
        stale |= _other_marks(part, reading, looked_at)
    if not (placed and _identical(part.voices, reading.voices)):
        stale |= _other_events(part, reading, looked_at)
    return stale


def _identical(voices: Sequence[Voice], others: Sequence[Voice]) -> bool:
    return voices is others or (
        len(voices) == len(others)
        and all(
            one is other or (one.name == other.name and one.events is other.events)
            for one, other in zip(voices, others, strict=True)
        )
    )


def _same_bar(bar: Bar, old: Bar) -> bool:
    if bar is old:
        return True
    return (
        bar.implicit == old.implicit
        and bar.shows_metre == old.shows_metre
        and (not bar.shows_metre or bar.metre == old.metre)
        and bar.left == old.left
        and bar.right == old.right
    )


def _other_marks(part: Part, reading: Reading, asked: Mapping[int, Bar]) -> set[int]:
    now = _marks_by_bar(part.marks)
    then = _marks_by_bar(reading.marks)
    none: list[Mark] = []
    return {
        at
        for at, old in asked.items()
        if not _same_marks(
            now.get(at, none), then.get(old.index, none), part.bars[at].start, old.start
        )
    }


def _marks_by_bar(marks: Iterable[Mark]) -> dict[int, list[Mark]]:
    found: dict[int, list[Mark]] = {}
    for mark in marks:
        found.setdefault(mark.bar, []).append(mark)
    return found


def _same_marks(marks: list[Mark], others: list[Mark], start: mpq, was: mpq) -> bool:
    if len(marks) != len(others):
        return False
    by = start - was
    if all(mark is old for mark, old in zip(marks, others, strict=True)):
        return not by or not marks
    marks = sorted(marks, key=lambda mark: mark.order)
    others = sorted(others, key=lambda mark: mark.order)
    return all(_same_mark(mark, old, by) for mark, old in zip(marks, others, strict=True))


def _same_mark(mark: Mark, old: Mark, by: mpq) -> bool:
    return (
        mark.source is old.source
        and mark.onset - by == old.onset
        and (
            mark is old
            or (
                mark.kind == old.kind
                and mark.stream == old.stream
                and mark.staff == old.staff
                and mark.reach == old.reach
                and mark.length == old.length
                and mark.metronome == old.metronome
                and mark.tempo == old.tempo
                and mark.transpose == old.transpose
                and mark.text == old.text
            )
        )
    )


def _other_events(part: Part, reading: Reading, asked: Mapping[int, Bar]) -> set[int]:
    now = _events_by_bar(part.voices)
    then = _events_by_bar(reading.voices)
    none: _Lines = {}
    return {
        at
        for at, old in asked.items()
        if not _same_lines(now.get(at, none), then.get(old.index, none), part.bars[at], old)
    }


def _events_by_bar(voices: Iterable[Voice]) -> dict[int, _Lines]:
    """What stands in each bar, voice by voice: an event tied over a bar line stands in both."""
    found: dict[int, _Lines] = {}
    for voice in voices:
        name = voice.name
        for event in voice.events:
            pieces = event.pieces
            last = -1
            for bar in [piece.bar for piece in pieces] if len(pieces) > 1 else (event.bar,):
                if bar != last:
                    found.setdefault(bar, {}).setdefault(name, []).append(event)
                    last = bar
    return found


def _same_lines(lines: _Lines, others: _Lines, bar: Bar, old: Bar) -> bool:
    if lines.keys() != others.keys():
        return False
    placed = bar.index == old.index and bar.start == old.start
    for name, events in lines.items():
        were = others[name]
        if len(events) != len(were):
            return False
        for event, was in zip(events, were, strict=True):
            if not (event is was and placed) and not _same_event(event, was, bar, old):
                return False
    return True


def _same_event(event: Event, was: Event, bar: Bar, old: Bar) -> bool:
    """Does an event say in a bar what another said in the bar that was read?"""
    begins, began = event.bar == bar.index, was.bar == old.index
    if begins != began or event.hidden != was.hidden or event.cue != was.cue:
        return False
    if begins and not (
        event.onset - bar.start == was.onset - old.start and _same(event.graces, was.graces)
    ):
        return False
    pieces, were = event.pieces, was.pieces
    ends, ended = _ends(pieces, bar.index), _ends(were, old.index)
    if ends != ended or (ends and not _same(event.after, was.after)):
        return False
    if not _same_pieces(pieces, were, bar, old):
        return False
    if event.additions and (not pieces or _added(event, bar.index)):
        return False
    if begins and ends and event.duration != was.duration:
        return False
    if event.notes is was.notes and begins and ends:
        return True
    return len(event.notes) == len(was.notes) and all(
        _same_note(note, other, old.source, begins, ends)
        for note, other in zip(event.notes, was.notes, strict=True)
    )


def _ends(pieces: Sequence[Piece], bar: int) -> bool:
    return not pieces or pieces[-1].bar == bar


def _same(some: Sequence[object], others: Sequence[object]) -> bool:
    return some is others or (
        len(some) == len(others) and all(a is b for a, b in zip(some, others, strict=True))
    )


def _same_pieces(pieces: Sequence[Piece], were: Sequence[Piece], bar: Bar, old: Bar) -> bool:
    if pieces is were and bar.index == old.index:
        return True
    here = [piece for piece in pieces if piece.bar == bar.index]
    there = [piece for piece in were if piece.bar == old.index]
    return len(here) == len(there) and all(map(_same_piece, here, there))


def _same_piece(piece: Piece, was: Piece) -> bool:
    return piece is was or (
        piece.offset == was.offset
        and piece.duration == was.duration
        and piece.type == was.type
        and piece.dots == was.dots
        and piece.ratio == was.ratio
        and piece.beams == was.beams
        and piece.tuplets == was.tuplets
        and piece.ticks == was.ticks
        and piece.whole_bar == was.whole_bar
        and piece.tremolo == was.tremolo
    )


def _added(event: Event, bar: int) -> tuple[Addition, ...]:
    """What was added to the pieces of an event that stand in a bar."""
    found: list[Addition] = []
    begins = _ZERO
    last = event.pieces[-1]
    for piece in event.pieces:
        ends = begins + piece.duration
        if piece.bar == bar:
            found += [
                each
                for each in event.additions
                if begins <= each.delay and (each.delay < ends or piece is last)
            ]
        begins = ends
    return tuple(found)


def _same_note(note: Note, was: Note, measure: object, begins: bool, ends: bool) -> bool:
    if note is was:
        return True
    return (
        note.kind == was.kind
        and note.pitch == was.pitch
        and note.staff == was.staff
        and (note.tie_in == was.tie_in or not begins)
        and (note.tie_out == was.tie_out or not ends)
        and _same(_in(note.sources, measure), _in(was.sources, measure))
    )


def _in(sources: Iterable[object], measure: object) -> list[object]:
    """The notes among ``sources`` that stand in a bar; what was made of notes stands nowhere."""
    return [
        each
        for each in sources
        if not isinstance(each, etree._Element) or each.getparent() is measure
    ]
