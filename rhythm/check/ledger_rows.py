"""The bar ledger: one row for every part, bar and voice, and what is wrong or worth knowing.

Conventions
-----------
Lengths are ``mpq`` in whole notes, positions are counted from the bar's start. A finding is a
``fault`` (the visible music does not add up: exit code 1) or a ``remark`` (hidden or cue voices,
rounding, a last bar short of its metre). A finding about a whole bar has voice ``""`` and is
entered once, in the first row it concerns.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import field
from functools import cached_property

from gmpy2 import mpq

from rhythm.check.remedies import Remedy
from rhythm.exact.frozen import dataclass

__all__ = ["Finding", "Ledger", "Row", "Summary"]


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing found: what (``kind``), where, by how much, and what would make it right.

    ``amount`` is signed: positive where there is too much. ``name`` is the amount as a musician
    says it ("dotted eighth"); ``message`` the whole line; ``fix`` may be empty; ``remedy`` is the
    same as data. ``place`` says which part, hand and bar are meant as a musician would ("Piano,
    left hand, bar 12"), ``beat`` where in the bar ("after beat 2", "" for all of it).
    """

    weight: str  # "fault" or "remark"
    kind: str
    part: str
    number: str
    index: int
    voice: str
    position: mpq
    message: str
    amount: mpq | None = None
    name: str = ""
    fix: str = ""
    remedy: Remedy | None = field(default=None, repr=False)
    place: str = ""
    beat: str = ""

    @property
    def is_fault(self) -> bool:
        """True for a fault, False for a remark."""
        return self.weight == "fault"

    def __str__(self) -> str:
        if self.fix and self.message.endswith("?"):
            return f"{self.message} {self.fix[0].upper()}{self.fix[1:]}"
        return f"{self.message}; {self.fix}" if self.fix else self.message


@dataclass(frozen=True, slots=True)
class Row:
    """One voice in one bar of one part.

    ``metre`` is the signature's text ("" where none is in force), ``length`` what the bar should
    hold (the metre's length, or the actual length of an upbeat or half a split bar), ``written``
    the sum of the written values, ``ticks`` the sum of the ``duration`` elements (None where the
    format has none), ``difference`` how far the voice ends behind (+) or before (-) ``length``.
    """

    part: str
    number: str
    index: int
    voice: str
    metre: str
    length: mpq
    written: mpq
    ticks: mpq | None
    difference: mpq
    verdict: str
    findings: tuple[Finding, ...] = ()


@dataclass(frozen=True, slots=True)
class Summary:
    """The score at a glance.

    ``bars`` counts the bars of the timeline, ``voices`` the voices of all parts, ``metres`` the
    bars of each metre in the first part, ``length`` whole notes as written (repeats not played),
    ``seconds`` the same in time, exact, from the tempo marks (None where no tempo is marked), and
    ``untimed`` the whole notes before the first tempo mark, which have no time.
    """

    bars: int
    voices: int
    metres: tuple[tuple[str, int], ...]
    length: mpq
    seconds: mpq | None
    untimed: mpq = field(default_factory=mpq)


class Ledger:
    """All findings of a score in reading order, a row for every part, bar and voice, a summary.

    ``path`` is the file's, ``parts`` the parts' ids and names. The rows are made when they are
    first asked for.
    """

    def __init__(
        self,
        findings: tuple[Finding, ...],
        summary: Summary,
        path: str,
        parts: tuple[tuple[str, str], ...],
        make_rows: Callable[[], tuple[Row, ...]],
    ) -> None:
        self.findings = findings
        self.summary = summary
        self.path = path
        self.parts = parts
        self._make_rows = make_rows

    @cached_property
    def rows(self) -> tuple[Row, ...]:
        """One row for every bar, part and voice, in that order."""
        return self._make_rows()

    @property
    def faults(self) -> tuple[Finding, ...]:
        """What does not add up."""
        return tuple(finding for finding in self.findings if finding.is_fault)

    @property
    def remarks(self) -> tuple[Finding, ...]:
        """What is worth knowing and is no fault."""
        return tuple(finding for finding in self.findings if not finding.is_fault)

    @property
    def is_right(self) -> bool:
        """No fault."""
        return not any(finding.is_fault for finding in self.findings)

    def __repr__(self) -> str:
        return f"Ledger({len(self.faults)} faults, {len(self.remarks)} remarks, {self.summary})"
