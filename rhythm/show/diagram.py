"""A map of time drawn: where the old bar's beats land in the new one.

Conventions
-----------
The upper line is the bar as it was, the lower the bar as it becomes, both at full width; a strand
joins each point of the map to its image, and full-height ticks mark beats. Positions are whole
notes from the bar's start.
"""

from __future__ import annotations

from html import escape

from gmpy2 import mpq

from rhythm.exact.metre import Metre
from rhythm.exact.time_map import TimeMap
from rhythm.exact.values import format_value

__all__ = ["map_rows", "map_svg"]

_WIDTH, _MARGIN, _TOP, _BOTTOM = 720, 40, 50, 150


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


def map_svg(source: Metre, target: Metre, warp: TimeMap) -> str:
    """The map as a small SVG drawing without fonts or pictures from elsewhere."""
    lines = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {_WIDTH} {_BOTTOM + 50}"'
        f' role="img" aria-label="map of time from {escape(str(source))} to {escape(str(target))}"'
        ' font-family="serif" font-size="14" text-anchor="middle">'
    ]
    for metre, height, label_height in (
        (source, _TOP, _TOP - 18),
        (target, _BOTTOM, _BOTTOM + 30),
    ):
        lines.append(
            f'<line x1="{_MARGIN}" y1="{height}" x2="{_WIDTH - _MARGIN}" y2="{height}"'
            ' stroke="black"/>'
        )
        for start in (*_beat_starts(metre), metre.length):
            x = _across(start, metre)
            lines.append(
                f'<line x1="{x}" y1="{height - 8}" x2="{x}" y2="{height + 8}"'
                ' stroke="black" stroke-width="2"/>'
            )
            lines.append(f'<text x="{x}" y="{label_height}">{format_value(start)}</text>')
    places = sorted({*_beat_starts(source), *(x for x, _ in warp.points)})
    for place in places:
        x, below = _across(place, source), _across(warp(place), target)
        lines.append(
            f'<line x1="{x}" y1="{_TOP}" x2="{below}" y2="{_BOTTOM}" stroke="gray"'
            ' stroke-dasharray="4 3"/>'
        )
    return "\n".join(lines) + "\n</svg>\n"


def _beat_starts(metre: Metre) -> list[mpq]:
    starts = [mpq(0)]
    for beat in metre.beats[:-1]:
        starts.append(starts[-1] + beat)
    return starts


def _across(position: mpq, metre: Metre) -> int:
    """Where a position stands between the margins, in whole units of the drawing."""
    return _MARGIN + int(position * (_WIDTH - 2 * _MARGIN) / metre.length)
