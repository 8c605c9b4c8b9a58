"""What goes along with the notes of a restated part: directions, chord symbols, figures, tempo.

Conventions
-----------
A mark moves with what begins or ends at its position, else by the bar's exact map; how far it
reaches and how long it lasts follows (:mod:`rhythm.score.carried_marks`).
"""

from __future__ import annotations

from collections.abc import Sequence

from gmpy2 import mpq

from rhythm.exact.errors import MusicError, Place
from rhythm.exact.metre import Metre
from rhythm.restate.joint import Fitted
from rhythm.restate.targets import BarMap
from rhythm.restate.tempo import factor_of, follow_tempo
from rhythm.score.carried_marks import carried, with_leads
from rhythm.score.model import Bar, Mark, Part

__all__ = ["moved_marks"]


def moved_marks(
    part: Part,
    timeline: Sequence[Bar],
    maps: Sequence[BarMap | None],
    fitted: Sequence[Fitted | None],
    tempo: str,
) -> tuple[Mark, ...]:
    """The part's marks on the new timeline; ``fitted`` says where what begins or ends went."""
    found: list[Mark] = []
    for mark, lead in with_leads(part.marks):
        old, new, bar_map = part.bars[mark.bar], timeline[mark.bar], maps[mark.bar]
        offset = mark.onset - old.start
        place = fitted[mark.bar]
        if bar_map is None or place is None:
            kept = mark.replace(onset=new.start + offset)
            if tempo == "beat" and old.metre is not None and mark.bar and _relates(mark):
                before = factor_of(maps[mark.bar - 1])
                kept = _followed(kept, old, (old.metre, old.metre), before)
            found.append(kept)
            continue
        result = carried(mark, offset, lead, place).replace(onset=new.start + place(offset))
        if tempo == "beat" and (mark.tempo is not None or mark.metronome is not None):
            previous = maps[mark.bar - 1] if mark.bar else bar_map
            metres = bar_map.source, bar_map.written
            result = _followed(result, old, metres, factor_of(previous))
        found.append(result)
    return tuple(found)


def _followed(mark: Mark, bar: Bar, metres: tuple[Metre, Metre], before: mpq) -> Mark:
    try:
        return follow_tempo(mark, *metres, before)
    except MusicError as error:
        raise error.at(Place(bar=bar.number)) from None


def _relates(mark: Mark) -> bool:
    """Does the mark say that a value before the bar line lasts as long as one after it?"""
    return mark.metronome is not None and mark.metronome.other is not None
