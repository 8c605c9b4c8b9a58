"""Restating: the same music in another metre or feel. Align, warp, fit, spell.

Every bar gets a map from its own metre to the target's (:mod:`rhythm.restate.targets`); each
voice's positions are fitted to places a musician would write (:mod:`rhythm.restate.fit`);
everything else in the score moves along; and the result is spelled afresh.

Conventions
-----------
Times are whole notes. ``lilt`` is ``trochee`` (long first), ``iamb`` (long last), ``even`` or a
ratio such as ``2:1``. The source score is never changed; bars that the target leaves as they are
keep their written form.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from gmpy2 import mpq

from rhythm.exact.errors import RequestError
from rhythm.exact.metre import Metre
from rhythm.exact.pattern import MetrePattern
from rhythm.exact.time_map import TimeMap
from rhythm.notate.score_notation import spell_score
from rhythm.rebar.rebar import rebar
from rhythm.restate.align import Lilt
from rhythm.restate.beat_by_beat import beatwise_maps
from rhythm.restate.custom_maps import parse_map
from rhythm.restate.marks import Places, moved_marks
from rhythm.restate.placement import PLACES, placed, set_apart
from rhythm.restate.positions import Fitter, Reach, voice_bars
from rhythm.restate.report import Report, Sighting
from rhythm.restate.split_bars import joined_halves
from rhythm.restate.targets import BarMap, Target, bar_maps, parse_target
from rhythm.restate.tempo import TEMPI
from rhythm.score.conservation import require_conserved
from rhythm.score.model import Bar, Event, Part, Score, Voice
from rhythm.score.select import Bars, select
from rhythm.score.uncollected import uncollected

__all__ = ["BYS", "FITS", "Restated", "restate_bars", "restated"]

BYS = ("bar", "beat")
FITS = ("idiomatic", "exact")


@dataclass(frozen=True, slots=True)
class Restated:
    """A restated score, what was done to it, and which bars it was done to.

    ``passage`` are the bars of ``score`` that came of those asked for; None is all of them.
    """

    score: Score
    report: Report
    passage: Bars | None = None


def restated(
    score: Score,
    to: Target,
    *,
    by: str | None = None,
    lilt: str = "trochee",
    fit: str | None = None,
    tempo: str = "beat",
    bars: str | Bars | None = None,
    place: str = "here",
    mapping: str | TimeMap | None = None,
) -> Restated:
    """As :func:`rhythm.verbs.restate`, which tells the options, with what became of each beat."""
    target = parse_target(to)
    by = by or ("beat" if mapping else "bar")
    _legal("by", by, BYS)
    if fit is not None:
        _legal("fit", fit, FITS)
    _legal("tempo", tempo, TEMPI)
    _legal("place", place, PLACES)
    chosen = select(score, bars=bars).bars
    if by == "beat" and mapping is None:
        return _restated_by_beat(score, target, lilt, fit, tempo, chosen, place)
    custom = parse_map(mapping, by) if mapping else None
    maps = bar_maps(score, target, lilt=lilt, mapping=custom, bars=chosen)
    if place == "here":
        tidy = chosen is None  # else the metre is shown again in the first bar after the passage
        found = restate_bars(score, maps, lilt=lilt, fit=fit, tempo=tempo, tidy=tidy)
        return replace(found, passage=chosen)
    passage, first = set_apart(score, chosen)
    inside = maps[first : first + len(passage.bars)]
    found = restate_bars(passage, inside, lilt=lilt, fit=fit, tempo=tempo)
    return _set_down(score, found.score, place, found.report)


def _set_down(source: Score, passage: Score, place: str, report: Report) -> Restated:
    """A passage that was restated by itself, alone or appended to its source."""
    result = placed(source, passage, place)
    appended = Bars.run(len(source.bars), len(result.bars) - 1) if place == "append" else None
    return Restated(result, report, appended)


def _restated_by_beat(
    score: Score,
    target: Target,
    lilt: str,
    fit: str | None,
    tempo: str,
    chosen: Bars | None,
    place: str,
) -> Restated:
    if isinstance(target, Metre):
        target = MetrePattern((target,))
    if not isinstance(target, MetrePattern):
        raise RequestError(
            "beat by beat needs a metre to redraw the bars in",
            legal="name a metre such as 9/8 or a cycle such as 7/8 7/8 5/8",
        )
    if chosen is not None and place == "here":
        raise RequestError(
            "beat by beat, a passage takes another number of bars than it had",
            legal="place it alone or append it, or restate by bar",
        )
    passage = score if place == "here" else set_apart(score, chosen)[0]
    maps = beatwise_maps(passage.bars, target, lilt=lilt)
    found = restate_bars(passage, maps, lilt=lilt, fit=fit, tempo=tempo)
    result = rebar(found.score, target)
    if place == "here":
        return Restated(result, found.report)
    return _set_down(score, result, place, found.report)


def restate_bars(
    score: Score,
    maps: Sequence[BarMap | None],
    *,
    lilt: str = "trochee",
    fit: str | None = None,
    tempo: str = "beat",
    tidy: bool = True,
) -> Restated:
    """The engine: every bar through its map, ``None`` for a bar that stays as it is.

    With ``tidy`` a bar that stays loses a signature that has become the one before it.
    """
    score, maps = joined_halves(score, maps)
    report = Report(lilt=lilt, maps=tuple(dict.fromkeys(m for m in maps if m is not None)))
    timeline = _new_bars(score.bars, maps)
    fitter = Fitter(fit, Lilt.parse(lilt).share)
    changed = {i for i, bar_map in enumerate(maps) if bar_map is not None}
    with uncollected():
        parts = tuple(
            _restate_part(part, maps, timeline, fitter, tempo, report, tidy) for part in score.parts
        )
        duple = [i for i, m in enumerate(maps) if m is not None and m.duple]
        result = spell_score(score.replace(parts=parts), bars=changed, duple=duple)
        require_conserved(score, result)
    return Restated(result, report)


def _legal(name: str, value: str, legal: Sequence[str]) -> None:
    if value not in legal:
        raise RequestError(f"{name} {value!r} is not known", legal=f"legal are {', '.join(legal)}")


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
    return tuple(made)


def _alike(one: Metre | None, other: Metre | None) -> bool:
    if one is None or other is None:
        return False
    return one is other or one.signature == other.signature


def _restate_part(
    part: Part,
    maps: Sequence[BarMap | None],
    timeline: Sequence[Bar],
    fitter: Fitter,
    tempo: str,
    report: Report,
    tidy: bool,
) -> Part:
    by_voice: dict[str, Places] = {}
    by_staff: dict[str, Places] = {}
    voices: list[Voice] = []
    for voice in part.voices:
        places: Places = {}
        slots, reaches = voice_bars(voice, part.bars)
        for index, slot in slots.items():
            bar_map = maps[index]
            if bar_map is None:
                continue
            image = fitter.fit(slot, part.bars[index], bar_map)
            places[index] = image
            report.see(Sighting(part.bars[index], slot, image, bar_map))
        by_voice[voice.name] = places
        events: list[Event] = []
        for event, reach in zip(voice.events, reaches, strict=True):
            events.append(_move(event, reach, timeline, places))
            here = places.get(event.bar)
            if here is not None and event.notes:
                staff = event.notes[0].staff or "1"
                table = by_staff.setdefault(staff, {}).setdefault(event.bar, {})
                table.setdefault(reach[0], here[reach[0]])
        voices.append(Voice(voice.name, tuple(events)))
    marks = moved_marks(part, timeline, maps, by_voice, by_staff, tempo)
    bars = _part_bars(part, maps, timeline, tidy)
    return part.replace(bars=bars, voices=tuple(voices), marks=marks)


def _move(event: Event, reach: Reach, timeline: Sequence[Bar], places: Places) -> Event:
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
    return event.replace(onset=onset, duration=duration)
