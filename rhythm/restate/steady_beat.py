"""The tempo at the edges of a passage restated in place: the beat keeps its rate on both sides.

Quarter = 96 before a passage that becomes 12/8 is dotted quarter = 96 in it and quarter = 96
again behind it. A mark of the passage itself holds as long as it does in the source.
"""

from __future__ import annotations

from collections.abc import Sequence

from gmpy2 import mpq

from rhythm.exact.errors import MusicError
from rhythm.restate.targets import BarMap
from rhythm.restate.tempo import factor_of, follow_tempo
from rhythm.score.model import Mark, Part, Score

__all__ = ["with_steady_beat"]


def with_steady_beat(source: Score, result: Score, maps: Sequence[BarMap | None]) -> Score:
    """``result``, its tempo stated again wherever the beat begins to be another value."""
    pairs = zip(source.parts, result.parts, strict=True)
    return result.replace(parts=tuple(_steadied(old, new, maps) for old, new in pairs))


def _steadied(old: Part, new: Part, maps: Sequence[BarMap | None]) -> Part:
    added: list[Mark] = []
    for bar, before in zip(old.bars[1:], maps, strict=False):
        here = maps[bar.index]
        if factor_of(here) == factor_of(before):
            continue
        told = [m for m in old.marks if _sets_tempo(m)]
        if any(m.onset + m.reach == bar.start for m in told):
            continue
        last = max((m for m in told if m.onset < bar.start), key=lambda m: m.onset, default=None)
        mark = None if last is None else _again(last, here)
        if mark is not None:
            at = new.bars[bar.index].start
            added.append(mark.replace(onset=at, bar=bar.index))
    return new.replace(marks=(*new.marks, *added)) if added else new


def _again(mark: Mark, bar_map: BarMap | None) -> Mark | None:
    """The tempo in force, as it reads under a bar's new beat."""
    if bar_map is not None:
        try:
            mark = follow_tempo(mark, bar_map.source, bar_map.written, mpq(1))
        except MusicError:
            return None
    plain = mark.metronome is not None and mark.metronome.other is None
    return Mark(
        mpq(0),
        0,
        "metronome" if plain else "sound",
        order=-1,
        metronome=mark.metronome if plain else None,
        tempo=mark.tempo,
    )


def _sets_tempo(mark: Mark) -> bool:
    return mark.tempo is not None or (mark.metronome is not None and mark.metronome.other is None)
