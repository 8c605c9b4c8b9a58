"""The checker itself: every bar's length judged once, every voice against it, in one ledger."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

from gmpy2 import mpq

from rhythm.check.bar_lengths import Verdict, is_cadenza, judge_lengths
from rhythm.check.findings import FindingLog
from rhythm.check.ledger_rows import Ledger
from rhythm.check.phrasing import a_value
from rhythm.check.planned_metres import planned_metres
from rhythm.check.reader_findings import check_remarks
from rhythm.check.row_builder import findings_of, rows_of
from rhythm.check.summary import summarise
from rhythm.check.survey import PartBar, survey
from rhythm.check.ties import check_ties
from rhythm.check.tuplets import lacking, tuplet_run
from rhythm.check.voice_lengths import check_voices
from rhythm.check.whole_bars import hold_to_plan, judge_bar
from rhythm.exact.metre import Metre
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
    columns = survey(score)
    plan = MetrePattern.parse(against) if isinstance(against, str) else against
    own: list[list[Metre | None]] = []
    if plan is not None:
        own = [[slot.bar.metre for slot in column] for column in columns]
        _lay_plan(columns, plan)
    verdicts = judge_lengths(columns)
    desks = [[FindingLog(slot.part.id, slot.bar) for slot in column] for column in columns]
    # What concerns all parts is entered once, with the first part that is asked for.
    lead = wanted.parts[0] if wanted.parts else 0
    departed = False
    for index, (column, verdict) in enumerate(zip(columns, verdicts, strict=True)):
        broken = _check_bar(columns, index, verdict, desks[index])
        if plan is None:
            cadenza = is_cadenza(verdicts, columns, index)
            judge_bar(column, verdict, desks[index][lead], broken, cadenza)
        else:
            departed |= hold_to_plan(
                columns, index, verdict, desks[index], lead, own[index][0], departed
            )
    for which, each in enumerate(score.parts):
        check_ties(each, lambda index, which=which: desks[index][which])  # type: ignore[misc]
    names = tuple((each.id, each.name) for each in score.parts)
    return Ledger(
        findings_of(columns, desks, wanted),
        summarise(score),
        score.path,
        names,
        partial(rows_of, columns, verdicts, desks, wanted),
    )


def _lay_plan(columns: Sequence[list[PartBar]], plan: MetrePattern) -> None:
    roles = [verdict.role for verdict in judge_lengths(columns)]
    bars = [column[0].bar for column in columns]
    for column, metre in zip(columns, planned_metres(plan, bars, roles), strict=True):
        for slot in column:
            slot.bar = slot.bar.replace(metre=metre)
            slot.metre = metre.length


def _check_bar(
    columns: Sequence[Sequence[PartBar]], index: int, verdict: Verdict, desks: Sequence[FindingLog]
) -> bool:
    """Check every part in one bar; True where a tuplet that stops midway explains its length."""
    found = False
    for which, slot in enumerate(columns[index]):
        target = verdict.targets[which]
        if slot.plain_end == target:
            continue
        desk = desks[which]
        if slot.absent:
            if index and not columns[index - 1][which].absent:
                left = len(columns) - index
                message = f"the part ends {left} bar{'s' * (left > 1)} before the others"
                desk.note("empty", "", mpq(0), message)
            continue
        if slot.bar.remarks:
            check_remarks(slot, desk)
        broken = _check_tuplets(columns, index, which, verdict, desk)
        found |= broken
        check_voices(slot, target, desk, broken)
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
        message = f"a tuplet stops midway: {end - start} of a whole note from {start} to {end}"
        if not 0 < missing < slot.metre:
            missing = lacking(stretch, start, end)
        fix = f"{a_value(missing)} more would complete it"
        holds = stretch.end + missing
        if slot.metre and holds != slot.metre:
            fix += f"; the voice would then hold {desk.held(holds)}"
        desk.fault("tuplet", stretch.voice, start, message, -missing, fix)
    return found
