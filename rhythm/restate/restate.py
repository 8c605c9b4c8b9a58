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
from dataclasses import replace

from rhythm.exact.errors import RequestError
from rhythm.exact.metre import Metre
from rhythm.exact.pattern import MetrePattern
from rhythm.exact.time_map import TimeMap
from rhythm.notate.manner import in_manner
from rhythm.rebar.rebar import rebar
from rhythm.restate.beat_by_beat import beatwise_maps
from rhythm.restate.custom_maps import parse_map
from rhythm.restate.engine import restate_bars
from rhythm.restate.placement import PLACES, placed, set_apart, with_upbeat
from rhythm.restate.report import Report
from rhythm.restate.steady_beat import with_steady_beat
from rhythm.restate.targets import Target, bar_maps, parse_target
from rhythm.restate.tempo import TEMPI
from rhythm.restate.whole_beats import with_whole_beats
from rhythm.score.model import Score
from rhythm.score.outcome import Outcome
from rhythm.score.select import Bars, select

__all__ = ["BYS", "FITS", "restated"]

BYS = ("bar", "beat")
FITS = ("idiomatic", "exact")


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
    manner: str | Score = "source",
) -> Outcome[Report]:
    """As :func:`rhythm.verbs.restate`, which tells the options, with what became of each beat."""
    target = parse_target(to)
    score = in_manner(score, manner)
    by = by or ("beat" if mapping else "bar")
    _legal("by", by, BYS)
    if fit is not None:
        _legal("fit", fit, FITS)
    _legal("tempo", tempo, TEMPI)
    _legal("place", place, PLACES)
    chosen, upbeat = with_upbeat(score, select(score, bars=bars).bars, place)
    if by == "beat" and mapping is None:
        done = _restated_by_beat(score, target, lilt, fit, tempo, chosen, place)
        notes = (*done.report.notes, upbeat) if upbeat else done.report.notes
        return Outcome(done.score, done.passage, replace(done.report, notes=notes))
    custom = parse_map(mapping, by) if mapping else None
    maps, notes = bar_maps(score, target, lilt=lilt, mapping=custom, bars=chosen)
    idle = "" if any(maps) else _why_nothing(target)
    if place == "here":
        tidy = chosen is None  # else the metre is shown again in the first bar after the passage
        result, report = restate_bars(score, maps, lilt=lilt, fit=fit, tempo=tempo, tidy=tidy)
        if not tidy and tempo == "beat":
            result = with_steady_beat(score, result, maps)
        return Outcome(result, chosen, replace(report, idle=idle, notes=(*report.notes, *notes)))
    passage, first, cut = set_apart(score, chosen)
    inside = maps[first : first + len(passage.bars)]
    result, report = restate_bars(passage, inside, lilt=lilt, fit=fit, tempo=tempo)
    said = (*report.notes, *notes, *([upbeat] if upbeat else ()), *cut)
    return _set_down(score, result, place, replace(report, idle=idle, notes=said))


def _why_nothing(target: Target) -> str:
    """Why no bar is to be changed."""
    if isinstance(target, dict):
        return "no bar is in a metre that the table names"
    reasons = {
        "triplets": "no beat divides in two",
        "duplets": "no beat divides in three",
    }
    return reasons.get(str(target), f"already {_in_words(target)}")


def _in_words(target: Target) -> str:
    return target if isinstance(target, str) else f"in {target}"


def _set_down(source: Score, passage: Score, place: str, report: Report) -> Outcome[Report]:
    """A passage that was restated by itself, alone or appended to its source."""
    result = placed(source, passage, place)
    appended = Bars.run(len(source.bars), len(result.bars) - 1) if place == "append" else None
    return Outcome(result, appended, report)


def _restated_by_beat(
    score: Score,
    target: Target,
    lilt: str,
    fit: str | None,
    tempo: str,
    chosen: Bars | None,
    place: str,
) -> Outcome[Report]:
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
    passage, _, cut = (score, 0, ()) if place == "here" else set_apart(score, chosen)
    passage, filled = with_whole_beats(passage)
    maps = beatwise_maps(passage.bars, target, lilt=lilt)
    mapped, report = restate_bars(passage, maps, lilt=lilt, fit=fit, tempo=tempo, leave=False)
    result = rebar(mapped, target)
    redrawn = [bar.length for bar in result.bars] != [bar.length for bar in passage.bars]
    report = replace(report, notes=(*filled, *cut), redrawn=redrawn)
    if place == "here":
        return Outcome(result, None, report)
    return _set_down(score, result, place, report)


def _legal(name: str, value: str, legal: Sequence[str]) -> None:
    if value not in legal:
        raise RequestError(f"{name} {value!r} is not known", legal=f"legal are {', '.join(legal)}")
