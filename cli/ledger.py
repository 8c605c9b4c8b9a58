"""The ledger of a score as plain values: what ``remetre check`` prints and what JSON holds.

Conventions
-----------
Lengths and positions are texts in whole notes ("3/4"). The keys of :func:`row_record`:

file, part, bar (as printed), index (from 0), voice, metre, length (what the bar should hold),
written (the sum of the written values), ticks (the sum of the durations in ticks, or null),
difference (how far the voice ends behind or, negative, before the length), verdict (right, note
or fault) and findings, each with weight, kind, position, amount, name, message and fix.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from rhythm.check.rows import Finding, Ledger, Row, Summary
    from rhythm.exact.pattern import MetrePattern

__all__ = [
    "Record",
    "error_record",
    "examine",
    "findings_table",
    "row_record",
    "summary_line",
]

Record = dict[str, Any]


def examine(
    path: str, bars: str | None, against: MetrePattern | None, narrow: dict[str, str]
) -> Record:
    """Read and check one file; everything about it as plain values."""
    import rhythm
    from rhythm.score.passages import bars_named

    score = rhythm.read(path)
    indices = bars_named(score.bars, bars) if bars else None
    ledger = rhythm.check(score, bars=indices, against=against, **narrow)
    return {
        "file": path,
        "faults": len(ledger.faults),
        "notes": len(ledger.notes),
        "summary": summary_line(ledger.summary),
        "rows": [row_record(row, path) for row in ledger.rows],
        "findings": findings_table(ledger),
    }


def error_record(path: str, error: Exception) -> Record:
    """What stands in place of a file that could not be checked."""
    return {"file": path, "error": str(error)}


def row_record(row: Row, path: str) -> Record:
    """One row as plain values."""
    return {
        "file": path,
        "part": row.part,
        "bar": row.number,
        "index": row.index,
        "voice": row.voice,
        "metre": row.metre,
        "length": str(row.length),
        "written": str(row.written),
        "ticks": None if row.ticks is None else str(row.ticks),
        "difference": str(row.difference),
        "verdict": row.verdict,
        "findings": [_finding_record(finding) for finding in row.findings],
    }


def _finding_record(finding: Finding) -> Record:
    return {
        "weight": finding.weight,
        "kind": finding.kind,
        "position": str(finding.position),
        "amount": None if finding.amount is None else str(finding.amount),
        "name": finding.name,
        "message": finding.message,
        "fix": finding.fix,
    }


def findings_table(ledger: Ledger) -> list[tuple[str, ...]]:
    """Every finding for people: bar, part, voice, position, weight, and the line that says it."""
    return [(f.number, f.part, f.voice, str(f.position), f.weight, str(f)) for f in ledger.findings]


def summary_line(summary: Summary) -> str:
    """Bars, voices, metres, length and, where the tempo is marked, time."""
    metres = ", ".join(f"{count} of {metre}" for metre, count in summary.metres)
    line = (
        f"{_counted(summary.bars, 'bar')} ({metres}), {_counted(summary.voices, 'voice')}, "
        f"{summary.length} whole notes"
    )
    if summary.seconds is None:
        return line
    minutes, seconds = divmod(round(summary.seconds), 60)
    return f"{line}, {minutes}:{seconds:02d}"


def _counted(number: int, noun: str) -> str:
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"
