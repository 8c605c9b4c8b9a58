"""Bars that a restatement leaves as they are, or reads in one of two metres, and what is said.

A map of one's own is made for beats of one length; parts may stand in metres of two kinds at once,
and a target that changes one kind of beat would tear them apart.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field

from rhythm.exact.errors import MusicError, Place, RequestError
from rhythm.exact.metre import Metre
from rhythm.score.model import Bar, Score

__all__ = ["LeftBars", "in_two_metres"]


@dataclass(slots=True)
class LeftBars:
    """Bars that are left as they are, or read in one of two metres, while the plan is made."""

    torn: list[tuple[Bar, str]] = field(default_factory=list)
    unsigned: list[tuple[Bar, MusicError]] = field(default_factory=list)
    unmapped: list[Metre] = field(default_factory=list)
    errors: dict[object, RequestError] = field(default_factory=dict)
    places: dict[object, Place] = field(default_factory=dict)

    def notes(self, stays: bool) -> tuple[str, ...]:
        """One clause for each kind; ``stays`` says that bars in two metres were left alone."""
        said = [
            f"bar {bar.number} left as written: {error.problem}" for bar, error in self.unsigned
        ]
        for metre, count in Counter(self.unmapped).items():
            verb = "is" if count == 1 else "are"
            said.append(f"{_bars(count)} of {metre} {verb} left as written: the map does not fit")
        for metres, count in Counter(metres for _, metres in self.torn).items():
            if stays:
                verb = "is" if count == 1 else "are"
                said.append(f"{_bars(count)} {verb} left as written: the parts stand in {metres}")
            else:
                first = metres.split(" and ")[0]
                said.append(f"{_bars(count)} with parts in {metres} read in {first}")
        return tuple(said)


def _bars(count: int) -> str:
    return f"{count} bar{'' if count == 1 else 's'}"


def in_two_metres(score: Score) -> dict[int, str]:
    """The bars in which the parts stand in metres of two kinds, with those metres' names."""
    found: dict[int, str] = {}
    for index, bar in enumerate(score.bars):
        metres = [part.bars[index].metre for part in score.parts if index < len(part.bars)]
        if all(metre is bar.metre for metre in metres):
            continue
        shown = {
            str(metre): (metre.length, metre.is_compound)
            for metre in (bar.metre, *metres)
            if metre is not None and metre.length
        }
        if len(set(shown.values())) > 1:
            found[index] = " and ".join(shown)
    return found
