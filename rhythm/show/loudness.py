"""How loud a part is as it goes on: dynamics, and hairpins between them.

Conventions
-----------
Loudness is a MIDI velocity, 1 to 127; moments are whole notes of the written score. A dynamic holds
for its part until the next. A hairpin leads evenly to the dynamic that follows it, or one step up
or down (16; common practice, no source).
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence

from gmpy2 import mpq

from rhythm.formats.musicxml.performance import direction_of
from rhythm.score.model import Part

__all__ = ["Dynamics"]

_USUAL = 80
_STEP = 16


class Dynamics:
    """How loud a part is, as it goes on; hairpins lead evenly from one dynamic to the next."""

    def __init__(self, part: Part) -> None:
        steps: dict[mpq, int] = {mpq(0): _USUAL}
        wedges: list[tuple[mpq, mpq, str]] = []
        opened: dict[str, tuple[mpq, str]] = {}
        self._once: dict[mpq, int] = {}
        for mark in part.marks:
            direction = direction_of(mark)
            moment = max(mpq(0), mark.onset + mark.reach)
            if direction.loudness is not None:
                steps[moment] = direction.loudness
            if direction.once is not None:
                self._once[moment] = direction.once
            if direction.wedge in ("crescendo", "diminuendo"):
                opened[direction.wedge_number] = moment, direction.wedge
            elif direction.wedge == "stop" and direction.wedge_number in opened:
                began, kind = opened.pop(direction.wedge_number)
                if began < moment:
                    wedges.append((began, moment, kind))
        self._steps = _stretches(sorted(steps.items()), sorted(wedges))
        self._moments = [moment for moment, *_ in self._steps]

    def at(self, moment: mpq) -> int:
        """The loudness of a note struck at this moment."""
        if moment in self._once:
            return self._once[moment]
        began, level, stopped, goal = self._steps[max(0, bisect_right(self._moments, moment) - 1)]
        if moment >= stopped:
            return goal
        return level + int((goal - level) * (moment - began) / (stopped - began))


def _stretches(
    steps: Sequence[tuple[mpq, int]], wedges: Sequence[tuple[mpq, mpq, str]]
) -> list[tuple[mpq, int, mpq, int]]:
    """From a moment with its loudness to a moment with its, in order; a step takes no time."""
    made = [(moment, level, moment, level) for moment, level in steps]
    for began, stopped, kind in wedges:
        level = max(stretch for stretch in made if stretch[0] <= began)[3]
        goal = level + (_STEP if kind == "crescendo" else -_STEP)
        after = [stretch[1] for stretch in made if stopped <= stretch[0] <= stopped + mpq(1, 4)]
        if after and (after[0] > level) == (kind == "crescendo"):
            goal = after[0]
        made.append((began, level, stopped, max(1, min(127, goal))))
        made.sort()
    return made
