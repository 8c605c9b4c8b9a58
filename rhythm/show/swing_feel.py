"""Swing as it is played: pairs of equal notes long and short, where the score says so.

Conventions
-----------
MusicXML's ``swing`` (in ``sound``) holds from where it stands until the next, for all parts. Inside
a beat that is made of pairs of its unit, what falls on the second note of a pair comes later, and
what lies between follows in proportion. Beats of three units and notes in tuplets stay as they are
written: a triplet is one already.
"""

from __future__ import annotations

from bisect import bisect_right

from gmpy2 import mpq

from rhythm.formats.musicxml.performance import Swing, direction_of
from rhythm.score.model import Event, Score
from rhythm.show.beats import metre_of

__all__ = ["Feel"]


class Feel:
    """Knows where moments of the written score are played."""

    def __init__(self, score: Score) -> None:
        said: dict[mpq, Swing] = {}
        for part in score.parts:
            for mark in part.marks:
                swing = direction_of(mark).swing
                if swing is not None:
                    said.setdefault(max(mpq(0), mark.onset + mark.reach), swing)
        self._swings = [said[moment] for moment in sorted(said)]
        self._moments = sorted(said)
        self._bars = score.bars
        self._starts = [bar.start for bar in score.bars]

    def span(self, event: Event) -> tuple[mpq, mpq]:
        """Where an event begins and ends as it is played."""
        if not self._swings or not event.pieces:
            return event.onset, event.end
        first, last = event.pieces[0], event.pieces[-1]
        return (
            self.at(event.onset) if first.ratio == (1, 1) else event.onset,
            self.at(event.end) if last.ratio == (1, 1) else event.end,
        )

    def at(self, moment: mpq) -> mpq:
        """Where a moment is played."""
        index = bisect_right(self._moments, moment) - 1
        if index < 0 or self._swings[index].long == self._swings[index].short:
            return moment
        swing = self._swings[index]
        bar = self._bars[max(0, bisect_right(self._starts, moment) - 1)]
        beat = metre_of(bar).beat_node_at(moment - bar.start + bar.shift)
        pair = 2 * swing.unit
        if beat.length % pair:
            return moment
        inside = (moment - bar.start + bar.shift - beat.start) % pair
        middle = pair * swing.long / (swing.long + swing.short)
        if inside < swing.unit:
            return moment - inside + inside * middle / swing.unit
        return moment - inside + middle + (inside - swing.unit) * (pair - middle) / swing.unit
