"""How long every bar is, by what all parts show there.

Conventions
-----------
Visible music decides a bar's length; whole-bar rests, hidden and cue notes only where there is
nothing else. Hidden rests and forwards behind the music complete a bar, except one that is short
on purpose: the last, an upbeat, the bar that completes it, half of a bar split by a bar line. There
they are the filling that some writers add to every short bar, and no music.
"""

from __future__ import annotations

from collections.abc import Sequence

from gmpy2 import mpq

from rhythm.exact.metre import Metre
from rhythm.formats.musicxml.read.bar_reader import Gathered
from rhythm.formats.musicxml.read.note_reader import Written
from rhythm.score.bar_roles import BarExtent, Role, is_short_on_purpose, roles

__all__ = ["bar_lengths", "settle_bar"]

_ZERO = mpq(0)


def bar_lengths(gathered: Sequence[Sequence[Gathered]]) -> tuple[list[mpq], tuple[Role, ...]]:
    """The length of every bar of the timeline, and its role."""
    shown: list[mpq] = []
    filled: dict[int, mpq] = {}
    metre = None
    count = max(len(bars) for bars in gathered)
    for index in range(count):
        bars = [part[index] for part in gathered if index < len(part)]
        metre = bars[0].metre or metre
        length, full = _length(bars, metre.length if metre else _ZERO)
        shown.append(length)
        if length != full and index != count - 1 and not bars[0].implicit:
            filled[index] = full
    spans = _extents(gathered, shown)
    found = roles(spans)
    if filled:
        for index, full in filled.items():
            if _plays_on(gathered, index, full) or not is_short_on_purpose(spans, found, index):
                shown[index] = full
        found = roles(_extents(gathered, shown))
    return shown, found


def _plays_on(gathered: Sequence[Sequence[Gathered]], index: int, end: mpq) -> bool:
    """Do hidden or cue notes, no mere rests, go on to the end of this bar?"""
    return any(
        note.kind != "rest" and note.end >= end
        for part in gathered
        if index < len(part)
        for note in part[index].notes
    )


def _is_open(note: Written, alone: bool, metre: Metre | None) -> bool:
    """May this be a whole-bar rest, as long as whatever its bar is?

    It says so, or is written as a whole rest, or has no type and lasts a bar or a whole note.
    """
    if note.kind != "rest" or not alone or note.offset or note.graces:
        return False
    if note.measure_rest or (note.type == "whole" and not note.dots):
        return True
    return not note.type and (metre is None or note.duration in (metre.length, 1))


def _alone(bar: Gathered) -> frozenset[str]:
    """The voices that hold one thing."""
    seen: dict[str, int] = {}
    for note in bar.notes:
        seen[note.voice] = seen.get(note.voice, 0) + 1
    return frozenset(voice for voice, count in seen.items() if count == 1)


def _length(bars: Sequence[Gathered], metre: mpq) -> tuple[mpq, mpq]:
    """How long a bar is: its visible music, else its rests, hidden music, forwards, metre.

    The second value is its metre, where what is not seen completes the music to that.
    """
    visible = rests = hidden = reached = slack = _ZERO
    for bar in bars:
        if bar.guessed:
            slack = max(slack, bar.guessed * bar.grain)
        reached = max(reached, bar.reached)
        alone: frozenset[str] | None = None
        for note in bar.notes:
            end = note.end
            if note.hidden or note.cue:
                hidden = max(hidden, end)
            elif end <= visible:
                continue
            else:
                if note.kind == "rest" and alone is None:
                    alone = _alone(bar)
                if alone is not None and _is_open(note, note.voice in alone, bar.metre):
                    sign = note.type == "whole" or (not note.type and note.duration == 1)
                    sign_only = sign and not note.measure_rest
                    rests = max(rests, metre if sign_only and metre else end)
                else:
                    visible = end
    if 0 < visible < metre <= max(hidden, reached):
        return visible, metre
    length = visible or rests or hidden or reached or metre
    off = abs(length - metre)
    if off and off <= slack and 16 * off <= metre and 64 * off < 1:
        return metre, metre
    return length, length


def _extents(gathered: Sequence[Sequence[Gathered]], lengths: Sequence[mpq]) -> list[BarExtent]:
    longest = max(gathered, key=len)
    leader = gathered[0] if len(gathered[0]) == len(longest) else longest
    return [
        BarExtent(
            length,
            bar.metre.length if bar.metre else _ZERO,
            bar.implicit,
            bar.number,
            bar.left,
            bar.right,
            bar.shows_metre,
        )
        for bar, length in zip(leader, lengths, strict=True)
    ]


def settle_bar(bar: Gathered, length: mpq) -> mpq:
    """Give whole-bar rests the bar's length; return where the visible music ends.

    Hidden rests that reach past the bar's end are cut there.
    """
    filled = _ZERO
    overlong = False
    alone: frozenset[str] | None = None
    for note in bar.notes:
        if note.kind == "rest":
            if alone is None:
                alone = _alone(bar)
            if _is_open(note, note.voice in alone, bar.metre):
                note.duration = note.end = length
                note.measure_rest = True
        end = note.end
        if end > filled and not note.hidden and not note.cue:
            filled = end
        if end > length and note.hidden and note.kind == "rest":
            overlong = True
    if overlong:
        _cut_silence(bar, length)
    return filled


def _cut_silence(bar: Gathered, length: mpq) -> None:
    """End the hidden rests behind the last note of every voice where the bar ends."""
    sounding: set[str] = set()
    kept: list[Written] = []
    for note in reversed(bar.notes):
        silent = note.hidden and note.kind == "rest"
        if not silent or note.laden or note.graces or note.after or note.verses:
            sounding.add(note.voice)
        elif note.end > length and note.voice not in sounding:
            if note.offset >= length:
                continue
            note.duration, note.end = length - note.offset, length
            note.type, note.dots, note.ratio, note.tuplet_marks = "", 0, (1, 1), None
        kept.append(note)
    bar.notes[:] = reversed(kept)
