"""What a score does everywhere else: which voices fill their bars wherever they stand.

A second voice that comes in for a beat with nothing around it is right; so is a hand that hands
its line over and leaves its staff empty. But where a voice has filled every other bar from edge to
edge, a hole in it is a note or a rest that was lost.
"""

from __future__ import annotations

from collections.abc import Sequence

from rhythm.check.bar_lengths import Verdict
from rhythm.check.coverage import holes_of
from rhythm.check.survey import PartBar

__all__ = ["Habits"]

_ENOUGH = 5
_RARE = 20
_PLENTY = 10
_SELDOM = 50


class Habits:
    """Which voices of a score fill their bars; counted when a part is first asked about."""

    def __init__(self, columns: Sequence[Sequence[PartBar]], verdicts: Sequence[Verdict]) -> None:
        self._columns = columns
        self._verdicts = verdicts
        self._counts: dict[int, dict[str, list[int]]] = {}

    def fills(self, which: int, voice: str) -> bool:
        """Does this voice of a part fill its bars, but for one in twenty at most?

        The voice must be full in at least five bars.
        """
        full, partial = self._found(which, voice)
        return full >= _ENOUGH and partial <= max(1, full // _RARE)

    def always_fills(self, which: int, voice: str) -> bool:
        """Does this voice fill ten bars or more, and at most one in fifty not?"""
        full, partial = self._found(which, voice)
        return full >= _PLENTY and partial <= max(1, full // _SELDOM)

    def _found(self, which: int, voice: str) -> list[int]:
        if which not in self._counts:
            self._counts[which] = self._count(which)
        return self._counts[which].get(voice, [0, 0])

    def _count(self, which: int) -> dict[str, list[int]]:
        counts: dict[str, list[int]] = {}
        for column, verdict in zip(self._columns, self._verdicts, strict=True):
            slot = column[which]
            target = verdict.targets[which] - slot.slack
            for stretch in slot.voices.values():
                if stretch.shown:
                    partial = any(True for _ in holes_of([stretch], target))
                    counts.setdefault(stretch.voice, [0, 0])[partial] += 1
        return counts
