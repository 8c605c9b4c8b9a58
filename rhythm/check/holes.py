"""Time in a bar that no note and no rest covers: in the part, on a staff, in a voice.

A voice need not fill the bar. A hole is at fault where nothing in the part covers it and no
``forward`` passes over it on purpose; where it is shorter than a quarter and nothing else on its
staff fills it; and where its voice fills every other bar (see :mod:`~rhythm.check.habits`).
"""

from __future__ import annotations

from collections.abc import Collection, Sequence

from gmpy2 import mpq

from rhythm.check.coverage import holes_of, home_staff, uncovered
from rhythm.check.findings import FindingLog
from rhythm.check.habits import Habits
from rhythm.check.phrasing import a_value, filling_rests
from rhythm.check.remedies import Remedy
from rhythm.check.survey import PartBar, SurveyedVoice
from rhythm.score.model import Piece

__all__ = ["check_holes"]

ZERO = mpq(0)
_SHORT = mpq(1, 4)


def check_holes(
    slot: PartBar,
    which: int,
    target: mpq,
    slack: mpq,
    desk: FindingLog,
    habits: Habits,
    lost: Collection[str],
    opens: bool,
) -> None:
    """Report the time that nothing covers.

    ``lost`` are the voices that are known to lack something; in a bar that ``opens`` the piece
    what is empty before the first note is the rest of the bar before an upbeat.
    """
    stretches = [each for each in slot.voices.values() if each.shown or each.unseen]
    if not stretches:
        if slot.metre:
            desk.remark("empty", "", ZERO, "holds nothing, not even a rest")
        return
    if not any(each.shown for each in stretches):
        return
    bare = []
    owners: _Owners | None = None
    for start, end in holes_of(stretches, target):
        if end - start > slack:
            bare.append((start, end))
            owners = owners or _Owners(stretches)
            owner = owners.of(start, end)
            passed = end < target or slot.reached >= end
            if not start and opens:
                continue
            wrong = not passed or end - start < _SHORT or habits.always_fills(which, owner.voice)
            _report(slot, owner, (start, end), target, desk, "short" if wrong else "gap", passed)
    if len(stretches) < 2:
        return
    staves = _Staves(slot)
    for stretch in slot.firm:
        for start, end in holes_of([stretch], target):
            if end - start <= slack or any(a < end and start < b for a, b in bare):
                continue
            hole, short = (start, end), end - start < _SHORT
            if stretch.voice in lost or (short and habits.fills(which, stretch.voice)):
                _report(slot, stretch, hole, target, desk, "short")
            elif staves.is_bare(stretch, hole):
                wrong = short or habits.always_fills(which, stretch.voice)
                _report(slot, stretch, hole, target, desk, "short" if wrong else "staff")
                bare.append(hole)


class _Staves:
    """What stands on each staff of a part in one bar, in order, whoever's voice it is."""

    def __init__(self, slot: PartBar) -> None:
        self._pieces: dict[str, list[Piece]] = {}
        self._elastic: set[str] = set()
        for other in slot.voices.values():
            for piece, event in (*other.shown, *other.unseen):
                for staff in {note.staff or "1" for note in event.notes}:
                    self._pieces.setdefault(staff, []).append(piece)
                    if other.elastic:
                        self._elastic.add(staff)
        for pieces in self._pieces.values():
            pieces.sort(key=lambda piece: piece.offset)

    def is_bare(self, stretch: SurveyedVoice, hole: tuple[mpq, mpq]) -> bool:
        """Does nothing else on the voice's staff fill its hole, in whole or in part?"""
        staff = home_staff(stretch, *hole)
        if staff in self._elastic:
            return False
        return list(uncovered(self._pieces.get(staff, ()), *hole)) == [hole]


def _report(
    slot: PartBar,
    stretch: SurveyedVoice,
    hole: tuple[mpq, mpq],
    target: mpq,
    desk: FindingLog,
    kind: str,
    passed: bool = False,
) -> None:
    start, end = hole
    gap = end - start
    fix = f"{filling_rests(gap)} would fill it"
    if kind == "gap":
        message = f"nothing stands for {a_value(gap)}, not even a rest"
        desk.remark("gap", stretch.voice, start, message, -gap, fix)
        return
    if kind == "staff":
        message = f"its staff is empty for {a_value(gap)}"
        desk.remark("staff", stretch.voice, start, message, -gap, fix)
        return
    if end == target:
        message = f"{a_value(gap)} short of {desk.bar_text(target)}"
    else:
        message = f"{a_value(gap)} is missing here"
    remedy: Remedy | None = desk.remedy("rests", stretch.voice, at=start, amount=gap)
    if end == target and _is_tied_on(stretch, start, desk.bar.index):
        fix = f"its last note is tied on: {a_value(gap)} is missing before it, or in it"
        remedy = None
    desk.fault("short", stretch.voice, start, message, -gap, fix, remedy)


def _is_tied_on(stretch: SurveyedVoice, end: mpq, index: int) -> bool:
    """Does the note that ends here sound on in the next bar, so that no rest can follow it?"""
    return any(
        piece.end == end
        and not event.is_rest
        and (event.pieces[-1].bar > index or any(note.tie_out for note in event.notes))
        for piece, event in stretch.shown
    )


class _Owners:
    """To which voice a hole belongs: the one that stops there, or goes on behind it."""

    def __init__(self, stretches: Sequence[SurveyedVoice]) -> None:
        self._ends: dict[mpq, SurveyedVoice] = {}
        self._starts: dict[mpq, SurveyedVoice] = {}
        self._first = next(each for each in stretches if each.shown)
        for stretch in stretches:
            for piece, _ in stretch.shown:
                self._ends.setdefault(piece.end, stretch)
                self._starts.setdefault(piece.offset, stretch)

    def of(self, start: mpq, end: mpq) -> SurveyedVoice:
        """The voice that lacks something from ``start`` to ``end``."""
        return self._ends.get(start) or self._starts.get(end) or self._first
