"""A map of time as a table: where the old bar's beats land in the new one.

Positions are whole notes from the bar's start.
"""

from __future__ import annotations

from gmpy2 import mpq

from rhythm.exact.metre import Metre
from rhythm.exact.time_map import TimeMap
from rhythm.exact.values import format_value

__all__ = ["map_rows"]


def map_rows(source: Metre, warp: TimeMap) -> list[tuple[str, str, str]]:
    """The map point by point: position, its image, and what begins there ("beat 2" or "")."""
    beats = _beat_starts(source)
    places = sorted({*beats, *(x for x, _ in warp.points)})
    return [
        (
            format_value(place),
            format_value(warp(place)),
            f"beat {beats.index(place) + 1}" if place in beats else "",
        )
        for place in places
        if place < source.length
    ] + [(format_value(source.length), format_value(warp(source.length)), "next bar")]


def _beat_starts(metre: Metre) -> list[mpq]:
    starts = [mpq(0)]
    for beat in metre.beats[:-1]:
        starts.append(starts[-1] + beat)
    return starts
