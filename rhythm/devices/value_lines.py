"""A strand as a line of values: what devices that reorder or replace values work on.

Conventions
-----------
A strand is cut into *values*, one after the other without gaps or overlaps: notes, rests, and
gaps that nothing covers. Reordering devices take the values and the notes apart and pour the notes
into other values.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from gmpy2 import mpq

from rhythm.exact.frozen import dataclass
from rhythm.rebar.passage import PlacedEvent, VoiceLine, rest
from rhythm.score import sources
from rhythm.score.model import Event, Note

__all__ = ["NOTE", "Value", "bare", "notes_of", "poured", "staff_of", "values_of"]

NOTE, REST, GAP = "note", "rest", "gap"


@dataclass(frozen=True, slots=True)
class Value:
    """A stretch of a line: how long, what it is, the event in it, grace groups just before it."""

    duration: mpq
    kind: str
    laid: PlacedEvent | None = None
    before: tuple[PlacedEvent, ...] = ()


def values_of(laid: Iterable[PlacedEvent], start: mpq, end: mpq) -> list[Value]:
    """The values from ``start`` to ``end``; an event that overlaps the next is cut off there."""
    found: list[Value] = []
    inside = sorted(
        (each for each in laid if start <= each.onset < end or start < each.onset == end),
        key=lambda each: each.onset,
    )
    timed = [each for each in inside if each.duration > 0 and each.onset < end]
    graces = [each for each in inside if not each.duration]
    at = start
    for i, each in enumerate(timed):
        if each.onset > at:
            found.append(Value(each.onset - at, GAP))
        following = timed[i + 1].onset if i + 1 < len(timed) else max(end, each.end)
        stop = min(each.end, max(following, each.onset), end)
        at = max(at, stop)
        lead = tuple(g for g in graces if g.onset <= each.onset)
        graces = graces[len(lead) :]
        if stop > each.onset:
            kind = NOTE if each.sounds else REST
            found.append(Value(stop - each.onset, kind, each, lead))
    if at < end and found:
        found.append(Value(end - at, GAP))
    if graces:
        found.append(Value(mpq(0), GAP, None, tuple(graces)))
    return found


def notes_of(values: Iterable[Value]) -> list[Value]:
    """The values that sound."""
    return [value for value in values if value.kind == NOTE]


def poured(values: Sequence[Value], notes: Sequence[Value], start: mpq) -> list[PlacedEvent]:
    """``notes`` in order, in the sounding ones of ``values``, from ``start`` on.

    Rests keep their events. There must be as many notes as sounding values.
    """
    found: list[PlacedEvent] = []
    at = start
    supply = iter(notes)
    for value in values:
        filler = next(supply) if value.kind == NOTE else value
        found.extend(each.at(at, mpq(0)) for each in filler.before)
        if value.kind == REST and filler.laid is None:
            found.append(PlacedEvent(rest(at, value.duration)))
        elif filler.laid is not None:
            found.append(filler.laid.at(at, value.duration))
        at += value.duration
    return found


def bare(event: Event) -> Event:
    """The event without what it carries once: to sound a second time, it looks alike, no more."""
    notes = tuple(
        Note(note.kind, note.pitch, note.staff, sources.bare(note.sources)) for note in event.notes
    )
    return event.replace(notes=notes, graces=(), after=(), additions=(), verses=(), pieces=())


def staff_of(strand: VoiceLine) -> str:
    """The staff of the strand's first note."""
    for each in strand.laid:
        if each.event.notes:
            return each.event.notes[0].staff
    return ""
