"""The checker itself: every bar's length judged once, every voice against it, in one ledger."""

from __future__ import annotations

import gc
from collections.abc import Collection, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from functools import partial

from gmpy2 import mpq

from rhythm.check.findings import Desk
from rhythm.check.lengths import Verdict, is_cadenza, judge_lengths
from rhythm.check.plan import is_extra, planned_metres
from rhythm.check.rows import Finding, Ledger, Row
from rhythm.check.summary import summarise
from rhythm.check.survey import PartBar, Stretch, survey
from rhythm.check.ties import check_ties
from rhythm.check.tuplets import is_plain, tuplet_run
from rhythm.check.voices import check_remarks, check_voices
from rhythm.check.words import a_value, filling_rests
from rhythm.exact.errors import RequestError
from rhythm.exact.metre import Metre
from rhythm.exact.pattern import MetrePattern
from rhythm.score.bars import Role
from rhythm.score.model import Score
from rhythm.score.passages import bars_named

__all__ = ["check"]

ZERO = mpq(0)


def check(
    score: Score,
    *,
    against: MetrePattern | str | None = None,
    bars: str | Collection[int] | None = None,
    part: str | None = None,
    voice: str | None = None,
) -> Ledger:
    """The bar ledger of a score: one row for every part, bar and voice.

    ``against`` is a plan of metres such as ``7/8 7/8 5/8`` that the bars are held to instead of
    the signatures. ``bars`` (indices, or text such as ``5-8`` as printed), ``part`` (id or name)
    and ``voice`` narrow the ledger; the whole score is looked at all the same, since what a bar
    should hold depends on all its parts. Raises :class:`~rhythm.exact.errors.RequestError` for a
    plan that cannot be read, and for bars, a part or a voice that the score does not have.
    """
    wanted = _wanted(score, bars, part, voice)
    with _uncollected():
        return _check(score, against, wanted)


@contextmanager
def _uncollected() -> Iterator[None]:
    """Make no search for reference cycles: there are many objects here, and no cycles."""
    running = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if running:
            gc.enable()


def _check(score: Score, against: MetrePattern | str | None, wanted: _Wanted) -> Ledger:
    columns = survey(score)
    plan = MetrePattern.parse(against) if isinstance(against, str) else against
    own: list[list[Metre | None]] = []
    if plan is not None:
        own = [[slot.bar.metre for slot in column] for column in columns]
        _lay_plan(columns, plan)
    verdicts = judge_lengths(columns)
    desks = [[Desk(slot.part.id, slot.bar) for slot in column] for column in columns]
    departed = False
    for index, (column, verdict) in enumerate(zip(columns, verdicts, strict=True)):
        broken = _check_bar(columns, index, verdict, desks[index])
        if plan is None:
            cadenza = is_cadenza(verdicts, columns, index)
            _judge(column, verdict, desks[index][0], broken, cadenza)
        else:
            departed |= _hold(columns, index, verdict, desks[index][0], own[index][0], departed)
    for which, each in enumerate(score.parts):
        check_ties(each, lambda index, which=which: desks[index][which])  # type: ignore[misc]
    names = tuple((each.id, each.name) for each in score.parts)
    return Ledger(
        _findings(columns, desks, wanted),
        summarise(score),
        score.path,
        names,
        partial(_rows, columns, verdicts, desks, wanted),
    )


def _lay_plan(columns: Sequence[list[PartBar]], plan: MetrePattern) -> None:
    roles = [verdict.role for verdict in judge_lengths(columns)]
    bars = [column[0].bar for column in columns]
    for column, metre in zip(columns, planned_metres(plan, bars, roles), strict=True):
        for slot in column:
            slot.bar = slot.bar.replace(metre=metre)
            slot.metre = metre.length


def _check_bar(
    columns: Sequence[Sequence[PartBar]], index: int, verdict: Verdict, desks: Sequence[Desk]
) -> bool:
    """Check every part in one bar; True where a tuplet that stops midway explains its length."""
    found = False
    for which, slot in enumerate(columns[index]):
        target = verdict.targets[which]
        if slot.plain_end == target:
            continue
        desk = desks[which]
        if slot.bar.remarks:
            check_remarks(slot, desk)
        broken = _check_tuplets(columns, index, which, target, desk)
        found |= broken
        check_voices(slot, target, desk, broken)
    return found


def _check_tuplets(
    columns: Sequence[Sequence[PartBar]], index: int, which: int, target: mpq, desk: Desk
) -> bool:
    slot = columns[index][which]
    found = False
    for stretch in slot.voices.values():
        if not stretch.tuplets:
            continue
        run = tuplet_run(columns, index, which, stretch, target)
        if run is None:
            continue
        start, end = run
        found = True
        missing = stretch.end - slot.metre
        lacks = -slot.metre < missing < 0
        message = f"a tuplet stops midway: {end - start} of a whole note from {start} to {end}"
        fix = f"{a_value(missing)} more would complete it" if lacks else ""
        desk.fault("tuplet", stretch.voice, start, message, missing if lacks else None, fix)
    return found


def _judge(
    column: Sequence[PartBar], verdict: Verdict, desk: Desk, broken: bool, cadenza: bool
) -> None:
    """The findings about the bar as a whole, entered once for all its parts and voices.

    ``broken``: a tuplet that stops midway is reported here already.
    """
    kind = verdict.role.kind
    metre = column[0].metre
    common = verdict.common
    if kind in ("short", "long"):
        if broken and not is_plain(common):
            return
        if cadenza:
            message = f"holds {desk.held(common)} under {desk.bar_text(metre)}"
            fix = "a cadenza, or a bar line is missing"
            desk.note("cadenza", "", metre, message, common - metre, fix)
            return
        _odd(column, common, metre, desk)
    elif kind == "last":
        message = f"the last bar is {a_value(metre - common)} short of {desk.bar_text(metre)}"
        desk.note("last", _sole_voice(column), common, message, common - metre)
    elif kind == "upbeat" and column[0].bar.index and not verdict.role.partners:
        message = f"a section starts with {a_value(common)} of {desk.bar_text(metre)}"
        desk.note("upbeat", _sole_voice(column), ZERO, message, common - metre)
    elif kind == "implicit":
        message = f"an uncounted bar of {desk.held(common)} that no other bar completes"
        desk.note("implicit", _sole_voice(column), common, message, common - metre)


def _odd(column: Sequence[PartBar], common: mpq, metre: mpq, desk: Desk) -> None:
    """Every voice that decides ends at one place, and it is not the metre's."""
    amount = common - metre
    held = f"holds exactly {desk.held(common)}"
    if amount < 0:
        message = f"{a_value(amount)} short of {desk.bar_text(metre)}"
        fix = f"{held}; {filling_rests(-amount)} would fill it"
        desk.fault("short", _sole_voice(column), common, message, amount, fix)
    else:
        message = f"{a_value(amount)} too long for {desk.bar_text(metre)}"
        desk.fault("long", _sole_voice(column), _passing(column, metre), message, amount, held)


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


def _hold(
    columns: Sequence[Sequence[PartBar]],
    index: int,
    verdict: Verdict,
    desk: Desk,
    own: Metre | None,
    departed: bool,
) -> bool:
    """Hold a bar to its plan; True where it departs."""
    planned = columns[index][0].bar.metre
    assert planned is not None
    kind = verdict.role.kind
    if kind in ("short", "long", "last", "upbeat", "split", "complement", "implicit"):
        if _belongs(columns, index, verdict.role):
            return False
        amount = verdict.common - planned.length
        word = "a further departure" if departed else "the first departure"
        message = f"holds {desk.held(verdict.common)} where the plan has {planned}"
        desk.fault("plan", "", min(verdict.common, planned.length), message, amount, word)
        return True
    if own is not None and own.length != planned.length:
        message = f"the signature is {own} where the plan has {planned}"
        desk.note("signature", "", ZERO, message)
    return False


def _belongs(columns: Sequence[Sequence[PartBar]], index: int, role: Role) -> bool:
    """Is this half a split bar, or an upbeat that the plan does not count, or its complement?"""
    if role.kind == "upbeat":
        return is_extra(columns[index][0].bar) and index == 0
    if role.kind == "complement":
        return all(is_extra(columns[partner][0].bar) for partner in role.partners)
    return role.kind == "split"


@dataclass(frozen=True, slots=True)
class _Wanted:
    """What to keep of the ledger."""

    bars: frozenset[int] | None
    part: str | None
    voice: str | None

    def keeps_part(self, slot: PartBar) -> bool:
        return self.part is None or self.part in (slot.part.id, slot.part.name)

    def keeps_voice(self, voice: str) -> bool:
        return self.voice is None or self.voice == voice


def _wanted(
    score: Score, bars: str | Collection[int] | None, part: str | None, voice: str | None
) -> _Wanted:
    names = {name: None for each in score.parts for name in (each.id, each.name) if name}
    if part is not None and part not in names:
        raise RequestError(f"there is no part {part!r}", legal=f"there are {', '.join(names)}")
    voices = {
        own.name: None
        for each in score.parts
        if part is None or part in (each.id, each.name)
        for own in each.voices
    }
    if voice is not None and voice not in voices:
        raise RequestError(f"there is no voice {voice!r}", legal=f"there are {', '.join(voices)}")
    if isinstance(bars, str):
        bars = bars_named(score.bars, bars)
    return _Wanted(None if bars is None else frozenset(bars), part, voice)


def _findings(
    columns: Sequence[Sequence[PartBar]], desks: Sequence[Sequence[Desk]], wanted: _Wanted
) -> tuple[Finding, ...]:
    return tuple(
        finding
        for column, row in zip(columns, desks, strict=True)
        for slot, desk in zip(column, row, strict=True)
        if desk.found
        and wanted.keeps_part(slot)
        and (wanted.bars is None or slot.bar.index in wanted.bars)
        for finding in desk.found
        if not finding.voice or wanted.keeps_voice(finding.voice)
    )


def _rows(
    columns: Sequence[Sequence[PartBar]],
    verdicts: Sequence[Verdict],
    desks: Sequence[Sequence[Desk]],
    wanted: _Wanted,
) -> tuple[Row, ...]:
    rows: list[Row] = []
    names = _MetreNames()
    for index, column in enumerate(columns):
        if wanted.bars is not None and index not in wanted.bars:
            continue
        for which, slot in enumerate(column):
            if not wanted.keeps_part(slot):
                continue
            voices = [each for name, each in slot.voices.items() if wanted.keeps_voice(name)]
            found = desks[index][which].found
            if not voices and found and wanted.voice is None:
                voices = [Stretch("")]
            target = verdicts[index].targets[which]
            role = verdicts[index].role.kind
            for place, stretch in enumerate(voices):
                own = _own_findings(found, stretch.voice, place == 0, voices) if found else ()
                rows.append(_row(slot, stretch, names[slot.bar.metre], target, role, own))
    return tuple(rows)


class _MetreNames(dict[Metre | None, str]):
    """The text of every metre, made once."""

    def __missing__(self, metre: Metre | None) -> str:
        self[metre] = "" if metre is None else str(metre)
        return self[metre]


def _own_findings(
    found: Sequence[Finding], voice: str, first: bool, voices: Sequence[Stretch]
) -> tuple[Finding, ...]:
    """The findings of a voice; those of no voice stand in the first row."""
    if len(voices) == 1 and not voices[0].voice:
        return tuple(found)
    names = {each.voice for each in voices}
    return tuple(
        finding
        for finding in found
        if finding.voice == voice or (first and (not finding.voice))
        or (first and finding.voice not in names and not names - {voice})
    )


def _row(
    slot: PartBar,
    stretch: Stretch,
    metre: str,
    target: mpq,
    role: str,
    found: tuple[Finding, ...],
) -> Row:
    bar = slot.bar
    if stretch.shown:
        end = target if stretch.elastic else stretch.end
        difference = ZERO if target == end else end - target
    else:
        difference = stretch.unseen_end - target if stretch.unseen else ZERO
    verdict = _verdict(stretch, role, difference, found)
    return Row(
        slot.part.id, bar.number, bar.index, stretch.voice, metre, target, stretch.written,
        stretch.ticks, difference, verdict, found,
    )  # fmt: skip


def _verdict(stretch: Stretch, role: str, difference: mpq, found: tuple[Finding, ...]) -> str:
    """One word: the fault, else the note, else what kind of right this is."""
    for finding in found:
        if finding.is_fault:
            return finding.kind
    if found:
        return found[0].kind
    if not stretch.shown:
        return "hidden" if stretch.unseen else "empty"
    if difference < 0 or stretch.start:
        return "partial"
    return "right" if role in ("full", "empty", "short", "long") else role
