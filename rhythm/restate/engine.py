"""The engine of a restatement: every bar through its map, all voices of all parts together.

Conventions
-----------
Times are whole notes. The source score is never changed. A bar in which nothing moves and whose
metre stays is left as it was written.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace

from gmpy2 import mpq

from rhythm.exact.metre import Metre
from rhythm.notate.broken_beams import broken_beams
from rhythm.notate.legible import made_legible, refused, unwritable
from rhythm.notate.score_notation import spell_score
from rhythm.restate.align import Lilt
from rhythm.restate.joint import Fitted, Fitter
from rhythm.restate.marks import moved_marks
from rhythm.restate.positions import Reach, VoiceBar, voice_bars
from rhythm.restate.report import Report, Sighting
from rhythm.restate.split_bars import joined_halves
from rhythm.restate.targets import BarMap
from rhythm.score.conservation import require_conserved
from rhythm.score.free_bars import still_free
from rhythm.score.model import Bar, Event, Note, Part, Score, Voice
from rhythm.score.readable import Strain
from rhythm.score.uncollected import uncollected

__all__ = ["restate_bars"]

Places = dict[int, dict[mpq, mpq]]
"""Bar index, then position (offset from the bar's start), to new position."""


@dataclass(slots=True)
class _VoiceFacts:
    """A voice bar by bar, where its events reach, and where its positions went."""

    slots: dict[int, VoiceBar]
    reaches: list[Reach]
    places: Places


def restate_bars(
    score: Score,
    maps: Sequence[BarMap | None],
    *,
    lilt: str = "trochee",
    fit: str | None = None,
    tempo: str = "beat",
    tidy: bool = True,
    leave: bool = True,
) -> tuple[Score, Report]:
    """Every bar through its map, ``None`` for a bar that stays as it is; and what was done.

    With ``tidy`` a bar that stays loses a signature that has become the one before it. With
    ``leave`` a bar that no sensible symbols can write stays as it was, and the report says so.
    Raises MusicError naming part and bar without it, and where no bar is left.
    """
    fitter = Fitter(fit, Lilt.parse(lilt))
    left: dict[int, Strain] = {}
    while True:
        result, report, hopeless = _through(score, maps, fitter, lilt, tempo, tidy)
        if not hopeless:
            break
        left |= {strain.bar: strain for strain in hopeless}
        maps = [None if index in left else bar_map for index, bar_map in enumerate(maps)]
        if not leave or not any(maps):
            raise refused(score, hopeless[0])
    require_conserved(score, result)
    said = tuple(unwritable(score, strain) for _, strain in sorted(left.items()))
    return result, replace(report, notes=said)


def _through(
    score: Score,
    maps: Sequence[BarMap | None],
    fitter: Fitter,
    lilt: str,
    tempo: str,
    tidy: bool,
) -> tuple[Score, Report, list[Strain]]:
    """The score through its maps, and the strains of bars that no sensible symbols can write."""
    score, maps = joined_halves(score, maps)
    with uncollected():
        facts = [
            [_VoiceFacts(*voice_bars(voice, part.bars), {}) for voice in part.voices]
            for part in score.parts
        ]
        fitted = _fitted(score.bars, maps, facts, fitter)
        report = _report(score, maps, facts, fitted, fitter, lilt)
        maps = [
            None if here is not None and _stays(score, here, bar_map, facts) else bar_map
            for here, bar_map in zip(fitted, maps, strict=True)
        ]
        timeline = _new_bars(score.bars, maps)
        changed = {i for i, bar_map in enumerate(maps) if bar_map is not None}
        parts = tuple(
            _restate_part(part, maps, timeline, fitted, of_part, tempo, tidy)
            for part, of_part in zip(score.parts, facts, strict=True)
        )
        duple = [i for i, m in enumerate(maps) if m is not None and m.duple]
        triple = [i for i, m in enumerate(maps) if m is not None and m.triple]
        moved = score.replace(parts=parts)

        def respelled(what: Score, these: Collection[int]) -> Score:
            return spell_score(what, bars=these, duple=duple, triple=triple)

        result, hopeless = made_legible(score, respelled(moved, changed), changed, respelled)
    return result, report, hopeless


def _fitted(
    bars: Sequence[Bar],
    maps: Sequence[BarMap | None],
    facts: Sequence[Sequence[_VoiceFacts]],
    fitter: Fitter,
) -> list[Fitted | None]:
    """Every bar fitted, all its voices together; and the places of each voice's positions."""
    by_bar: list[list[VoiceBar]] = [[] for _ in bars]
    for of_part in facts:
        for fact in of_part:
            for index, slot in fact.slots.items():
                by_bar[index].append(slot)
    fitted: list[Fitted | None] = [
        None if bar_map is None else fitter.fit(slots, bar, bar_map)
        for slots, bar, bar_map in zip(by_bar, bars, maps, strict=True)
    ]
    for of_part in facts:
        for fact in of_part:
            for index, slot in fact.slots.items():
                here = fitted[index]
                if here is not None:
                    fact.places[index] = here.image(slot)
    return fitted


def _stays(
    score: Score,
    fitted: Fitted,
    bar_map: BarMap | None,
    facts: Sequence[Sequence[_VoiceFacts]],
) -> bool:
    """Does nothing move in the bar, and does its metre stay?"""
    assert bar_map is not None
    if not fitted.still:
        return False
    index = fitted.bar.index
    for part, of_part in zip(score.parts, facts, strict=True):
        if index < len(part.bars) and not _alike(part.bars[index].metre, bar_map.written):
            return False
        for fact in of_part:
            if any(a != b for a, b in fact.places.get(index, {}).items()):
                return False
    return True


def _report(
    score: Score,
    maps: Sequence[BarMap | None],
    facts: Sequence[Sequence[_VoiceFacts]],
    fitted: Sequence[Fitted | None],
    fitter: Fitter,
    lilt: str,
) -> Report:
    sightings = tuple(
        Sighting(part.bars[index], slot, fact.places[index], here)
        for part, of_part in zip(score.parts, facts, strict=True)
        for fact in of_part
        for index, slot in fact.slots.items()
        if (here := fitted[index]) is not None
    )
    used = tuple(dict.fromkeys(m for m in maps if m is not None and not m.cut))
    bars = tuple(here for here in fitted if here is not None)
    return Report(lilt, used, sightings, bars, fitter)


def _new_bars(bars: Sequence[Bar], maps: Sequence[BarMap | None]) -> list[Bar]:
    """The shared timeline after the change: start, length, shift and metre of every bar."""
    made: list[Bar] = []
    start = mpq(0)
    for bar, bar_map in zip(bars, maps, strict=True):
        if bar_map is None:
            new = bar.replace(start=start)
        else:
            head = bar_map(bar.shift)
            length = bar_map(bar.shift + bar.length) - head
            new = bar.replace(start=start, length=length, shift=head, metre=bar_map.written)
        made.append(new)
        start = new.end
    return made


def _part_bars(
    part: Part,
    maps: Sequence[BarMap | None],
    timeline: Sequence[Bar],
    tidy: bool,
) -> tuple[Bar, ...]:
    """The part's bars."""
    made: list[Bar] = []
    for old, bar_map, shared in zip(part.bars, maps, timeline, strict=False):
        before = made[-1].metre if made else None
        if bar_map is None:
            kept = old.replace(start=shared.start)
            if tidy and made and old.shows_metre and _alike(before, old.metre):
                kept = kept.replace(shows_metre=False)
            made.append(kept)
            continue
        # A new section opens with its signature: that is what tells an upbeat from a short bar.
        opens = shared.index == 0 or shared.shift > 0
        shows = not _alike(before, shared.metre) or (old.shows_metre and opens)
        filled = bar_map(old.filled + old.shift) - shared.shift
        made.append(
            old.replace(
                start=shared.start,
                length=shared.length,
                shift=shared.shift,
                metre=shared.metre,
                shows_metre=shows,
                filled=filled,
                remarks=(),
                source=None,
            )
        )
    return still_free(made)


def _alike(one: Metre | None, other: Metre | None) -> bool:
    if one is None or other is None:
        return False
    return one is other or one.signature == other.signature


def _restate_part(
    part: Part,
    maps: Sequence[BarMap | None],
    timeline: Sequence[Bar],
    fitted: Sequence[Fitted | None],
    facts: Sequence[_VoiceFacts],
    tempo: str,
    tidy: bool,
) -> Part:
    voices: list[Voice] = []
    changed = frozenset(i for i, bar_map in enumerate(maps) if bar_map is not None)
    unjoined = broken_beams(part, changed)
    for voice, fact, broken in zip(part.voices, facts, unjoined, strict=True):
        places = {i: at for i, at in fact.places.items() if maps[i] is not None}
        events = tuple(
            _move(event, reach, timeline, places, i in broken)
            for i, (event, reach) in enumerate(zip(voice.events, fact.reaches, strict=True))
        )
        bracketed = {i for i in places if (m := maps[i]) is not None and m.onto is not None}
        voices.append(Voice(voice.name, _without_gaps(events, timeline, bracketed)))
    marks = moved_marks(part, timeline, maps, fitted, tempo)
    bars = _part_bars(part, maps, timeline, tidy)
    return part.replace(bars=bars, voices=tuple(voices), marks=marks)


def _without_gaps(
    events: tuple[Event, ...], timeline: Sequence[Bar], bars: Collection[int]
) -> tuple[Event, ...]:
    """The events with hidden rests in gaps that begin or end inside a beat written with a bracket.

    A bracket that stands over nothing is no bracket to a reader; the page shows the same.
    """
    made: list[Event] = []
    for event in events:
        before = made[-1] if made else None
        index = event.bar
        if (
            before is not None
            and before.bar == index
            and index in bars
            and before.visible
            and event.visible
            and before.end < event.onset
        ):
            bar = timeline[index]
            starts = {node.start for node in bar.metre.beat_nodes} if bar.metre else set()
            edges = (at - bar.start + bar.shift for at in (before.end, event.onset))
            if any(edge not in starts for edge in edges):
                silence = (Note("rest", staff=before.notes[0].staff),) if before.notes else ()
                length = event.onset - before.end
                made.append(Event(before.end, length, index, silence, hidden=True))
        made.append(event)
    return tuple(made) if len(made) > len(events) else events


def _move(
    event: Event, reach: Reach, timeline: Sequence[Bar], places: Places, unjoined: bool
) -> Event:
    offset, last, end = reach
    index = event.bar
    here = places.get(index)
    there = here if last == index else places.get(last)
    if here is not None:
        offset = here[offset]
    if there is not None:
        end = there[end]
    onset = timeline[index].start + offset
    duration = end - offset if last == index else timeline[last].start + end - onset
    if here is not None and event.is_rest:
        # Silence is written anew, whatever stood there.
        return event.replace(onset=onset, duration=duration, pieces=())
    return event.replace(onset=onset, duration=duration, unjoined=unjoined)
