"""How long every bar is meant to be, judged by what all parts hold there.

A signature alone does not say it: upbeats, split bars and cadenzas hold something else and are
right. The visible music decides. Where any part fills its metre the bar is a whole one and a part
that differs is at fault; where none does, what most parts hold is the bar's length, and its bar
lines and neighbours say whether that is an upbeat, half a split bar, or a fault.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from gmpy2 import mpq

from rhythm.check.coverage import stray_in
from rhythm.check.survey import PartBar
from rhythm.exact.frozen import dataclass
from rhythm.score.bar_roles import BarExtent, Role, roles
from rhythm.score.model import Bar

__all__ = [
    "BROKEN",
    "Verdict",
    "is_broken",
    "is_cadenza",
    "judge_lengths",
    "lacks_bar_line",
    "length_of",
]

BROKEN = frozenset({"before-start", "far-backup", "negative", "zero"})
"""Remarks after which, unless they are settled, the positions in a bar mean nothing."""

ZERO = mpq(0)


@dataclass(frozen=True, slots=True)
class Verdict:
    """What a bar is (``role``), the length most parts hold, and what each part should hold."""

    role: Role
    common: mpq
    targets: tuple[mpq, ...]
    plain: bool  # every part holds its metre


def is_broken(bar: Bar) -> bool:
    """Do positions in this bar mean nothing, so that its sums are not looked at?"""
    return any(remark.kind in BROKEN and not remark.settled for remark in bar.remarks)


def judge_lengths(columns: Sequence[Sequence[PartBar]]) -> list[Verdict]:
    """The verdict on every bar of the timeline."""
    spans: list[BarExtent] = []
    drafts: list[tuple[mpq, tuple[mpq, ...], bool]] = []
    for index, column in enumerate(columns):
        open_ = index == len(columns) - 1 or column[0].bar.implicit
        common, targets, whole = _weigh(column, index, open_)
        drafts.append((common, targets, whole))
        first = column[0].bar
        metre = common if whole else column[0].metre
        implicit = any(slot.bar.implicit for slot in column)
        spans.append(
            BarExtent(
                common, metre, implicit, first.number, first.left, first.right, first.shows_metre
            )
        )
    return [
        Verdict(role, common, targets, whole)
        for role, (common, targets, whole) in zip(roles(spans), drafts, strict=True)
    ]


def is_cadenza(
    verdicts: Sequence[Verdict], columns: Sequence[Sequence[PartBar]], index: int
) -> bool:
    """A single bar that holds twice its metre or more, between bars that are right.

    It was not filled so by a slip, except where a bar line was lost.
    """
    verdict = verdicts[index]
    if verdict.role.kind != "long" or verdict.common < 2 * columns[index][0].metre:
        return False
    if lacks_bar_line(columns[index], verdict.common):
        return False
    around = (*verdicts[max(index - 1, 0) : index], *verdicts[index + 1 : index + 2])
    return all(each.role.kind not in ("short", "long") for each in around)


def lacks_bar_line(column: Sequence[PartBar], length: mpq) -> bool:
    """Does a bar of this length hold whole bars of its metre, with no note over their borders?"""
    metre = column[0].metre
    if not metre or length <= metre or (length / metre).denominator != 1:
        return False
    return not any(
        piece.end > (piece.offset // metre + 1) * metre
        for slot in column
        for stretch in slot.firm
        for piece, event in stretch.shown
        if not event.is_rest
    )


def _weigh(column: Sequence[PartBar], index: int, open_: bool) -> tuple[mpq, tuple[mpq, ...], bool]:
    """The length a bar holds, what each part should hold, and whether that is its metre."""
    metres = [slot.metre for slot in column]
    said = [length_of(slot, metre, open_) for slot, metre in zip(column, metres, strict=True)]
    votes = Counter(length for length in said if length is not None)
    # A first or last bar may be short on purpose: then one part that fills it is the odd one out.
    agreed = (open_ or not index) and votes and votes.most_common(1)[0]
    short = agreed and agreed[0] < metres[0] and 2 * agreed[1] > votes.total() > 2
    for length, metre in zip(said, metres, strict=True):
        if length is not None and metre and length == metre and not short:
            return metre, tuple(metres), True
    if not votes:
        return _undecided(column, metres, index)
    metre = metres[0]
    most = max(votes.values())
    common = min(
        (length for length, count in votes.items() if count == most),
        key=lambda length: (abs(length - metre), length),
    )
    return common, (common,) * len(column), False


def _undecided(
    column: Sequence[PartBar], metres: list[mpq], index: int
) -> tuple[mpq, tuple[mpq, ...], bool]:
    """No part has firm music of its own: whole-bar rests, hidden voices, or nothing at all."""
    tops = [max((each.end for each in slot.firm), default=ZERO) for slot in column]
    top = max(tops)
    broken = any(is_broken(slot.bar) for slot in column)
    if top and not broken and (index == 0 or column[0].bar.implicit):
        return top, (top,) * len(column), False
    if metres[0] and any(slot.voices for slot in column):
        return metres[0], tuple(metres), True
    held = max(
        (max(each.end, each.unseen_end) for slot in column for each in slot.voices.values()),
        default=ZERO,
    )
    return held, (held,) * len(column), False


def _of_several(slot: PartBar, metre: mpq) -> mpq | None:
    """The length that several voices together say, where their ends alone would mislead.

    Twice the metre or more, where a voice fills that and a bar line is missing; the metre, where
    one voice is too long and a backup counts from its end, so that all the others stand late.
    """
    top = max(stretch.end for stretch in slot.firm)
    if not 0 < metre < top:
        return None
    fills = any(each.smooth and not each.start and each.end == top for each in slot.firm)
    if fills and lacks_bar_line([slot], top):
        return top
    over = top - metre
    pushed = sum(each.end == top and each.start >= over for each in slot.firm)
    if fills and pushed and pushed + 1 == len(slot.firm):
        return metre
    return None


def length_of(slot: PartBar, metre: mpq, open_: bool = False) -> mpq | None:
    """How long this part's visible music says the bar is; None where it leaves it open.

    What is hidden or passed over completes a bar, but not an ``open_`` one: the last, which may
    complete the upbeat, or one that the file does not count.
    """
    firm = slot.firm
    if not firm:
        return None
    if len(firm) > 1:
        whole = _of_several(slot, metre)
        if whole is not None:
            return whole
    elif firm[0].end == metre:
        return metre
    if any(stretch.end == metre for stretch in firm):
        return metre
    slack = slot.slack
    if slack and any(abs(stretch.end - metre) <= slack for stretch in firm):
        return metre
    top = max(stretch.end for stretch in firm)
    if is_broken(slot.bar):
        return None
    if top > metre:
        over = [stretch for stretch in firm if stretch.end > metre]
        strays = [stray_in(slot, stretch, stretch.end - metre) for stretch in over]
        return metre if any(strays) else top
    if slot.elastic:
        return None
    if open_ or slot.bar.length < metre:
        return top
    if slot.reached >= metre > 0:
        return metre
    unseen = max((each.unseen_end for each in slot.voices.values() if each.unseen), default=ZERO)
    return metre if unseen >= metre else max(top, unseen)
