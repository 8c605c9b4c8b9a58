"""A bar as a whole: what is said once for all its parts and voices."""

from __future__ import annotations

from collections.abc import Sequence

from gmpy2 import mpq

from rhythm.check.bar_lengths import Verdict, lacks_bar_line
from rhythm.check.findings import FindingLog
from rhythm.check.phrasing import a_value, bar_name, filling_rests
from rhythm.check.planned_metres import is_extra
from rhythm.check.survey import PartBar
from rhythm.exact.metre import Metre
from rhythm.exact.metre_of_length import simplest_metre
from rhythm.exact.pattern import MetrePattern
from rhythm.score.bar_roles import Role
from rhythm.score.model import Bar

__all__ = ["hold_to_plan", "judge_bar", "tell_left_out"]

ZERO = mpq(0)
_FINEST = 128  # to the whole note: what no plain notes add up to is a broken tuplet's doing


def judge_bar(
    column: Sequence[PartBar],
    verdict: Verdict,
    desk: FindingLog,
    broken: bool,
    cadenza: bool,
    upbeat: mpq | None = None,
) -> None:
    """The findings about the bar as a whole, entered once for all its parts and voices.

    ``broken``: a tuplet that stops midway is reported here already. ``upbeat`` is how long the
    upbeat is that this bar, the last of all, should complete.
    """
    kind = verdict.role.kind
    metre = column[0].metre
    common = verdict.common
    if broken and (common * _FINEST).denominator != 1:
        return
    if kind in ("short", "long"):
        if cadenza:
            message = f"holds {desk.held(common)} under {desk.bar_text(metre)}"
            fix = "a cadenza, or its signature is missing"
            desk.remark("cadenza", "", metre, message, common - metre, fix)
            return
        _odd(column, common, metre, desk)
    elif kind == "last" and upbeat is not None:
        # That the last bar gives the upbeat its length back is good manners and no rule.
        both = upbeat + common
        message = f"the upbeat and the last bar make {desk.held(both)} together, "
        message += f"not {_signature(column)}"
        fix = f"{a_value(metre - both)} {'less' if both > metre else 'more'} would make it one bar"
        desk.remark("last", _sole_voice(column), common, message, both - metre, fix)
    elif kind == "last":
        message = f"the last bar is {a_value(metre - common)} short of {desk.bar_text(metre)}"
        desk.remark("last", _sole_voice(column), common, message, common - metre)
    elif kind == "upbeat" and not verdict.role.partners and _is_odd_upbeat(column, common):
        what = "a section" if column[0].bar.index else "the piece"
        message = f"{what} starts with {a_value(common)} of {desk.bar_text(metre)}"
        desk.remark("upbeat", _sole_voice(column), ZERO, message, common - metre)
    elif kind == "implicit":
        message = f"an uncounted bar of {desk.held(common)} that no other bar completes"
        desk.remark("implicit", _sole_voice(column), common, message, common - metre)


def _signature(column: Sequence[PartBar]) -> str:
    """The signature of a bar as it is spoken of."""
    return str(column[0].bar.metre)


def _is_odd_upbeat(column: Sequence[PartBar], common: mpq) -> bool:
    """Inside a piece, or most of a first bar that the file counts as one."""
    bar = column[0].bar
    return bar.index > 0 or (not is_extra(bar) and 2 * common > column[0].metre)


def _odd(column: Sequence[PartBar], common: mpq, metre: mpq, desk: FindingLog) -> None:
    """Every voice that decides ends at one place, and it is not the metre's."""
    amount = common - metre
    length = desk.held(common)
    held = f"holds {length}" if length.startswith("about") else f"holds exactly {length}"
    if amount < 0:
        message = f"{a_value(amount)} short of {desk.bar_text(metre)}"
        fix = f"{held}; {filling_rests(-amount)} would fill it"
        remedy = desk.remedy("rests", all_parts=True, at=common, amount=-amount)
        desk.fault("short", _sole_voice(column), common, message, amount, fix, remedy)
    else:
        message = f"{a_value(amount)} too long for {desk.bar_text(metre)}"
        printed = column[0].bar.metre
        fix = held
        new = simplest_metre(common, printed)
        remedy = None
        if printed is not None and lacks_bar_line(column, common):
            fix = f"{held}; {_missing_lines(common / metre, printed)}"
            remedy = desk.remedy("line", all_parts=True, at=metre)
        elif _ends_in_rests(column, metre):
            fix = f"{held}; {filling_rests(amount)} less would fit"
            remedy = desk.remedy("trim", all_parts=True, at=metre)
        elif new is not None:
            fix = f"{held}; the signature {new} would fit"
            remedy = desk.remedy("metre", all_parts=True, metre=new, amount=common)
        desk.fault(
            "long", _sole_voice(column), _passing(column, metre), message, amount, fix, remedy
        )


def _ends_in_rests(column: Sequence[PartBar], metre: mpq) -> bool:
    """Is everything that runs past the end of the metre a rest of this bar?"""
    return all(
        event.is_rest and event.bar == slot.bar.index
        for slot in column
        for each in slot.firm
        for piece, event in each.shown
        if piece.end > metre
    )


def _missing_lines(bars: mpq, metre: Metre) -> str:
    numbers = Metre(metre.terms)  # 4/4, not C
    if bars == 2:
        return f"a bar line is missing after {numbers}"
    return f"bar lines are missing, one after every {numbers}"


def _sole_voice(column: Sequence[PartBar]) -> str:
    """The voice to name where one alone decides; "" where the bar as a whole is meant."""
    names = [each.voice for slot in column for each in slot.firm]
    return names[0] if len(names) == 1 and len(column) == 1 else ""


def _passing(column: Sequence[PartBar], metre: mpq) -> mpq:
    """Where the first piece that runs past the end of the metre starts."""
    return min(
        (
            piece.offset
            for slot in column
            for each in slot.firm
            for piece, _ in each.shown
            if piece.end > metre
        ),
        default=metre,
    )


def hold_to_plan(
    columns: Sequence[Sequence[PartBar]],
    index: int,
    verdict: Verdict,
    desks: Sequence[FindingLog],
    lead: int,
    own: Metre | None,
    departed: bool,
) -> bool:
    """Hold a bar to its plan; True where it departs, all its parts together or one of them.

    What concerns all parts is entered at the desk of ``lead``. Music that holds what the plan says
    is right under another signature; rests alone last what the signature says.
    """
    column, desk = columns[index], desks[lead]
    planned = column[0].bar.metre
    assert planned is not None
    kind = verdict.role.kind
    word = "a further departure" if departed else "the first departure"
    parted = sum(each.depart(word) for each in desks) > 0
    if kind in ("short", "long", "last", "upbeat", "split", "complement", "implicit"):
        if _belongs(columns, index, verdict.role):
            return parted
        amount = verdict.common - planned.length
        message = f"holds {desk.held(verdict.common)} where the plan has {planned}"
        desk.fault("plan", "", min(verdict.common, planned.length), message, amount, word)
        return True
    if own is None or own.length == planned.length:
        return parted
    if not parted and any(slot.elastic for slot in column) and not any(s.firm for s in column):
        message = f"rests for a bar of {own} where the plan has {planned}"
        desk.fault("plan", "", ZERO, message, own.length - planned.length, word)
        return True
    desk.remark("signature", "", ZERO, f"the signature is {own} where the plan has {planned}")
    return parted


def tell_left_out(missing: Sequence[Metre], index: int, before: Bar, desk: FindingLog) -> None:
    """Tell of bars that the plan has before the bar ``index`` and the score has not."""
    many = len(missing)
    lack = "a bar is" if many == 1 else f"{many} bars are"
    where = f"after bar {bar_name(before.number)}" if index else "at the start"
    said = str(missing[0]) if many == 1 else str(MetrePattern(tuple(missing)))
    message = f"{lack} missing {where}: the plan has {said} there"
    desk.fault("plan", "", before.metre.length if index and before.metre else ZERO, message)


def _belongs(columns: Sequence[Sequence[PartBar]], index: int, role: Role) -> bool:
    """Is this half a split bar, or an upbeat that the plan does not count, or its complement?"""
    if role.kind == "upbeat":
        return is_extra(columns[index][0].bar) and index == 0
    if role.kind == "complement":
        return all(is_extra(columns[partner][0].bar) for partner in role.partners)
    return role.kind == "split"
