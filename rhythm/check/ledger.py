"""The checker itself: every bar's length judged once, every voice against it, in one ledger."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

from gmpy2 import mpq

from rhythm.check.bar_alignment import align
from rhythm.check.bar_lengths import Verdict, is_cadenza, judge_lengths
from rhythm.check.findings import FindingLog
from rhythm.check.habits import Habits
from rhythm.check.ledger_rows import Ledger
from rhythm.check.numbering import remark_on_numbers
from rhythm.check.phrasing import a_value
from rhythm.check.places import say_places
from rhythm.check.planned_metres import Planned, lay_along
from rhythm.check.reader_findings import check_remarks
from rhythm.check.row_builder import findings_of, rows_of
from rhythm.check.score_findings import tell_misfit, tell_misprint
from rhythm.check.signatures import misprints
from rhythm.check.summary import summarise
from rhythm.check.survey import PartBar, survey
from rhythm.check.ties import check_ties
from rhythm.check.tuplets import is_plain, lacking, odd_ratio, tuplet_run
from rhythm.check.voice_lengths import check_voices
from rhythm.check.whole_bars import hold_to_plan, judge_bar, tell_left_out
from rhythm.exact.pattern import MetrePattern
from rhythm.score.model import Score
from rhythm.score.select import Bars, Selection, select
from rhythm.score.uncollected import uncollected

__all__ = ["check"]


def check(
    score: Score,
    *,
    against: MetrePattern | str | None = None,
    bars: str | Bars | None = None,
    part: str | None = None,
    voice: str | None = None,
) -> Ledger:
    """The bar ledger of a score: one row for every part, bar and voice.

    ``against`` is a plan of metres such as ``7/8 7/8 5/8`` that the bars are held to instead of
    the signatures. ``bars`` (``5-8``, as printed), ``part`` (id or name)
    and ``voice`` narrow the ledger; the whole score is looked at all the same, since what a bar
    should hold depends on all its parts. Raises :class:`~rhythm.exact.errors.RequestError` for a
    plan that cannot be read, and for bars, a part or a voice that the score does not have.
    """
    wanted = select(score, bars=bars, part=part, voice=voice)
    with uncollected():
        return _check(score, against, wanted)


def _check(score: Score, against: MetrePattern | str | None, wanted: Selection) -> Ledger:
    columns, misfits = align(survey(score), score.parts)
    plan = MetrePattern.parse(against) if isinstance(against, str) else against
    own = [column[0].bar.metre for column in columns]
    laid = [] if plan is None else _lay_plan(columns, plan)
    wrong = [] if plan is not None else list(misprints(columns))
    for misprint in wrong:
        for column in columns[misprint.column : misprint.until]:
            for which in misprint.parts:
                column[which].measure_by(misprint.metre)
    verdicts = judge_lengths(columns)
    desks = [
        [FindingLog(slot.part.id, slot.bar, which) for which, slot in enumerate(column)]
        for column in columns
    ]
    for misprint in wrong:
        tell_misprint(misprint, desks[misprint.column], len(score.parts))
    for misfit in misfits:
        tell_misfit(misfit, columns, desks[misfit.at][misfit.which], score.parts[misfit.which])
    habits = Habits(columns, verdicts)
    # What concerns all parts is entered once, with the first part that is asked for.
    lead = wanted.parts[0] if wanted.parts else 0
    departed = False
    for index, (column, verdict) in enumerate(zip(columns, verdicts, strict=True)):
        broken = _check_bar(columns, index, verdict, desks[index], habits)
        if plan is None:
            cadenza = is_cadenza(verdicts, columns, index)
            upbeat = _upbeat_of(columns, verdicts) if index + 1 == len(columns) else None
            judge_bar(column, verdict, desks[index][lead], broken, cadenza, upbeat)
        else:
            departed |= _tell_strays(laid, index, columns, desks, lead)
            if laid[index].metre is not None:
                departed |= hold_to_plan(
                    columns, index, verdict, desks[index], lead, own[index], departed
                )
    if plan is None:
        remark_on_numbers(columns, verdicts, [row[lead] for row in desks])
    for which, each in enumerate(score.parts):
        of_bar = _columns_of(columns, which, len(each.bars))
        check_ties(each, [desks[at][which] for at in of_bar], _spoiled(of_bar, desks, which))
    say_places(score.parts, columns, desks)
    names = tuple((each.id, each.name) for each in score.parts)
    return Ledger(
        findings_of(columns, desks, wanted),
        summarise(score),
        score.path,
        names,
        partial(rows_of, columns, verdicts, desks, wanted),
    )


def _lay_plan(columns: Sequence[list[PartBar]], plan: MetrePattern) -> list[Planned]:
    """Measure the bars by the plan; a bar that the plan does not have keeps its signature."""
    found = judge_lengths(columns)
    laid = lay_along(
        plan,
        [column[0].bar for column in columns],
        [verdict.role for verdict in found],
        [verdict.common for verdict in found],
    )
    for column, planned in zip(columns, laid, strict=True):
        for slot in column:
            if planned.metre is not None:
                slot.bar = slot.bar.replace(metre=planned.metre)
                slot.metre = planned.metre.length
    return laid


def _tell_strays(
    laid: Sequence[Planned],
    index: int,
    columns: Sequence[Sequence[PartBar]],
    desks: Sequence[Sequence[FindingLog]],
    lead: int,
) -> bool:
    """Tell of bars that the plan has before this one, and of this one if the plan has it not."""
    here = laid[index]
    if here.missing:
        at = max(index - 1, 0)
        tell_left_out(here.missing, index, columns[at][0].bar, desks[at][lead])
    if here.metre is None:
        message = "is a bar too many: the plan has no bar here"
        desks[index][lead].fault("plan", "", mpq(0), message)
    return bool(here.missing) or here.metre is None


def _upbeat_of(columns: Sequence[Sequence[PartBar]], verdicts: Sequence[Verdict]) -> mpq | None:
    """How long the upbeat is that the last bar should complete.

    None where there is none, and where the rest before it is not written.
    """
    first = verdicts[0]
    if first.role.kind != "upbeat":
        return None
    starts = [each.start for slot in columns[0] for each in slot.firm]
    return first.common if starts and not min(starts) else None


def _spoiled(
    of_bar: Sequence[int], desks: Sequence[Sequence[FindingLog]], which: int
) -> frozenset[int]:
    """The bars of a part of which, or of the next, something is said that may break a tie too."""
    wrong = {
        at
        for at, row in enumerate(desks)
        for desk in ((row[which],) if which == 0 else (row[which], row[0]))
        if any(f.is_fault and (desk is row[which] or not f.voice) for f in desk.found)
    }
    return frozenset(index for index, at in enumerate(of_bar) if at in wrong or at + 1 in wrong)


def _columns_of(columns: Sequence[Sequence[PartBar]], which: int, count: int) -> Sequence[int]:
    """The column of every bar of a part; a bar that has none of its own shares one."""
    found = [-1] * count
    for at, column in enumerate(columns):
        slot = column[which]
        if not slot.absent and found[slot.bar.index] < 0 and slot.bar.index < count:
            found[slot.bar.index] = at
    for index in range(count):
        if found[index] < 0:
            found[index] = found[index - 1] if index else 0
    return found


def _check_bar(
    columns: Sequence[Sequence[PartBar]],
    index: int,
    verdict: Verdict,
    desks: Sequence[FindingLog],
    habits: Habits,
) -> bool:
    """Check every part in one bar; True where a tuplet that stops midway explains its length."""
    found = False
    opens = not index or verdict.role.kind == "upbeat"
    for which, slot in enumerate(columns[index]):
        target = verdict.targets[which]
        if slot.plain_end == target:
            continue
        desk = desks[which]
        if slot.absent:
            continue
        if slot.bar.remarks:
            check_remarks(slot, target, desk)
        broken = _check_tuplets(columns, index, which, verdict, desk)
        found |= broken
        check_voices(slot, which, target, desk, habits, opens, broken)
    return found


def _check_tuplets(
    columns: Sequence[Sequence[PartBar]], index: int, which: int, verdict: Verdict, desk: FindingLog
) -> bool:
    slot = columns[index][which]
    found = False
    for stretch in slot.voices.values():
        if not stretch.tuplets:
            continue
        run = tuplet_run(columns, index, which, stretch, verdict)
        if run is None:
            continue
        start, end = run
        found = True
        missing = slot.metre - stretch.end
        message = f"a tuplet stops midway after {a_value(end - start)}"
        if odd := odd_ratio(stretch, start, end, verdict.targets[which]):
            piece, (actual, normal), added = odd
            ratio = f"{actual}:{normal}"
            fix = f"one note lacks the ratio {ratio} of the others, which would complete it"
            remedy = desk.remedy("ratio", stretch.voice, at=piece.offset, amount=added, to=ratio)
            desk.fault("tuplet", stretch.voice, start, message, None, fix, remedy)
            continue
        if not 0 < missing < slot.metre:
            missing = lacking(stretch, start, end)
        if not is_plain(end - start + missing) or a_value(missing).startswith("about"):
            fix = "its notes make no whole tuplet: is one of its ratios wrong?"
            desk.fault("tuplet", stretch.voice, start, message, None, fix)
            continue
        fix = f"{a_value(missing)} more would complete it"
        holds = stretch.end + missing
        if slot.metre and holds != slot.metre:
            fix += f"; the voice would then hold {desk.held(holds)}"
        remedy = desk.remedy("tuplet", stretch.voice, at=end, amount=missing)
        desk.fault("tuplet", stretch.voice, start, message, -missing, fix, remedy)
    return found
