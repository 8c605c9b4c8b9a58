"""The entries of the ledger: which findings and rows are asked for, and what a row says."""

from __future__ import annotations

from collections.abc import Sequence

from gmpy2 import mpq

from rhythm.check.bar_lengths import Verdict
from rhythm.check.findings import FindingLog
from rhythm.check.ledger_rows import Finding, Row
from rhythm.check.survey import PartBar, SurveyedVoice
from rhythm.exact.metre import Metre
from rhythm.score.select import Selection

__all__ = ["findings_of", "rows_of"]

ZERO = mpq(0)
_ODD = frozenset({"short", "long"})


def findings_of(
    columns: Sequence[Sequence[PartBar]], desks: Sequence[Sequence[FindingLog]], wanted: Selection
) -> tuple[Finding, ...]:
    """The findings asked for, bar by bar and part by part."""
    return tuple(
        finding
        for column, row in zip(columns, desks, strict=True)
        for which, (slot, desk) in enumerate(zip(column, row, strict=True))
        if desk.found and which in wanted.parts and wanted.has_bar(slot.bar.index)
        for finding in desk.found
        if not finding.voice or wanted.has_voice(which, finding.voice)
    )


def rows_of(
    columns: Sequence[Sequence[PartBar]],
    verdicts: Sequence[Verdict],
    desks: Sequence[Sequence[FindingLog]],
    wanted: Selection,
) -> tuple[Row, ...]:
    """The rows asked for; a finding of no voice stands in the first row of its part and bar."""
    rows: list[Row] = []
    names = _MetreNames()
    for index, column in enumerate(columns):
        if not wanted.has_bar(index):
            continue
        for which, slot in enumerate(column):
            if which not in wanted.parts:
                continue
            voices = [each for name, each in slot.voices.items() if wanted.has_voice(which, name)]
            found = desks[index][which].found
            if not voices and found and wanted.voice is None:
                voices = [SurveyedVoice("")]
            role = verdicts[index].role.kind
            target = slot.metre if role in _ODD else verdicts[index].targets[which]
            for place, stretch in enumerate(voices):
                own = tuple(
                    finding
                    for finding in found
                    if finding.voice == stretch.voice
                    or (not place and finding.voice not in slot.voices)
                )
                rows.append(_row(slot, stretch, names[slot.bar.metre], target, role, own))
    return tuple(rows)


class _MetreNames(dict[Metre | None, str]):
    """The text of every metre, made once."""

    def __missing__(self, metre: Metre | None) -> str:
        self[metre] = "" if metre is None else str(metre)
        return self[metre]


def _row(
    slot: PartBar,
    stretch: SurveyedVoice,
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


def _verdict(stretch: SurveyedVoice, role: str, difference: mpq, found: tuple[Finding, ...]) -> str:
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
