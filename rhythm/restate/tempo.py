"""Tempo marks under a change of metre.

Conventions
-----------
``beat``: the beat keeps its rate, so quarter = 96 becomes dotted quarter = 96 when a quarter beat
turns into a dotted-quarter beat, and the playback tempo (quarters per minute) goes from 96 to 144.
Where the bar has another number of beats no beat becomes a beat: what comes nearest to the bar's
own time is kept (:func:`pace`). ``value``: note values keep their rate, so marks stay as they are.
(Q_new = Q_old * v_new / v_old: common practice, no source.)
"""

from __future__ import annotations

import re
from collections import Counter

from gmpy2 import mpq

from rhythm.exact.errors import MusicError
from rhythm.exact.metre import Metre
from rhythm.exact.values import NOTE_TYPES, format_value, symbol, symbol_value
from rhythm.restate.targets import BarMap
from rhythm.score.model import Mark, Metronome

__all__ = ["TEMPI", "common_beat", "factor_of", "follow_tempo", "pace"]

TEMPI = ("beat", "value")
_TOLERABLE = mpq(3, 2)
"""How much faster or slower a bar may become before its values are doubled or halved."""


def common_beat(metre: Metre) -> mpq:
    """The commonest beat of a metre, the earlier one on a tie: a quarter in 2+2+3/8."""
    counts = Counter(metre.beats)
    best = max(counts.values())
    return next(beat for beat in metre.beats if counts[beat] == best)


def pace(old: Metre, new: Metre) -> mpq:
    """The note value that keeps its rate in the ``new`` metre, divided by the one of the ``old``.

    With as many beats as before it is the beat's: a quarter to a dotted quarter from 3/4 to 9/8.
    With more or fewer the music of a beat is no beat any more: then note values keep their rate
    (6/8 to 7/8) or beats do (12/8 to 7/8), whichever leaves the bar nearer to its own time; and
    where both are off by more than a half, values doubled or halved (4/4 to 5/8, 2/4 to 4/4).
    (Common practice, no source.)
    """
    beats = common_beat(new) / common_beat(old)
    if len(old.beats) == len(new.beats):
        return beats
    stretch = new.length / old.length
    best = min((mpq(1), beats), key=lambda kept: max(kept / stretch, stretch / kept))
    if max(best / stretch, stretch / best) <= _TOLERABLE:
        return best
    doubled = mpq(1)
    while doubled / stretch > _TOLERABLE:
        doubled /= 2
    while stretch / doubled > _TOLERABLE:
        doubled *= 2
    return doubled


def factor_of(bar_map: BarMap | None) -> mpq:
    """The :func:`pace` of a bar that goes through a map; 1 where it stays as it is."""
    return mpq(1) if bar_map is None else pace(bar_map.source, bar_map.written)


def follow_tempo(mark: Mark, old: Metre, new: Metre, before: mpq) -> Mark:
    """The mark as it reads when the beat of ``old`` has become the beat of ``new``.

    ``before`` is the :func:`pace` of the bar before, which the left side of a
    relation such as quarter = dotted quarter speaks of. Raises MusicError for a relation that no
    two plain or dotted values have afterwards.
    """
    factor = pace(old, new)
    tempo = None if mark.tempo is None else mark.tempo * factor
    metronome = mark.metronome
    if metronome is not None:
        if metronome.other is not None:
            metronome = _related(metronome.unit * before, metronome.other * factor)
        else:
            metronome = _rescaled(metronome, factor, common_beat(new))
    return mark.replace(tempo=tempo, metronome=metronome)


def _related(left: mpq, right: mpq) -> Metronome:
    """A relation of these values, or of shorter ones where they have no symbol.

    Only the ratio counts: nine sixteenths to three eighths is a dotted quarter to a quarter.
    """
    if symbol(left) is not None and symbol(right) is not None:
        return Metronome(left, "", right)
    for kind in NOTE_TYPES:
        for dots in (1, 0):
            unit = symbol_value(kind, dots)
            if unit <= right and symbol(left / right * unit) is not None:
                return Metronome(left / right * unit, "", unit)
    raise MusicError(
        f"{format_value(left)} = {format_value(right)} is no relation of note values",
        legal="keep the tempo by value, or take the mark out",
    )


def _rescaled(metronome: Metronome, factor: mpq, beat: mpq) -> Metronome:
    unit = metronome.unit * factor
    if symbol(unit) is not None:
        return Metronome(unit, metronome.per_minute, None)
    # No single symbol is so long (5/4 of a quarter): state the beat itself instead.
    return Metronome(
        beat, _NUMBER.sub(lambda found: _times(found, unit / beat), metronome.per_minute)
    )


_NUMBER = re.compile(r"[0-9]{1,6}(?:[.,][0-9]{1,6})?")
"""A rate in a mark's text, which may have two ("176-184") or words beside it ("ca. 60")."""


def _times(found: re.Match[str], factor: mpq) -> str:
    rate = mpq(found.group().replace(",", ".")) * factor
    return format_value(rate) if rate.denominator == 1 else _decimal(rate)


def _decimal(rate: mpq) -> str:
    """A rate rounded to hundredths as text; metronome marks are read by people."""
    hundredths = int((rate * 100 + mpq(1, 2)) // 1)
    return f"{hundredths // 100}.{hundredths % 100:02d}".rstrip("0").rstrip(".")
