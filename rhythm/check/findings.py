"""A desk for the findings of one part in one bar: who found what is entered in one form."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Any

from gmpy2 import mpq

from rhythm.check.ledger_rows import Finding
from rhythm.check.phrasing import said_length
from rhythm.check.remedies import ALL, Remedy
from rhythm.exact.metre import Metre
from rhythm.exact.metre_of_length import simplest_metre
from rhythm.exact.values import name_value
from rhythm.score.model import Bar

__all__ = ["FindingLog"]


@dataclass(slots=True)
class FindingLog:
    """Collects the findings of one part, ``which`` by its index, in one bar."""

    part: str
    bar: Bar
    which: int = 0
    found: list[Finding] = field(default_factory=list)

    def fault(
        self,
        kind: str,
        voice: str,
        position: mpq,
        message: str,
        amount: mpq | None = None,
        fix: str = "",
        remedy: Remedy | None = None,
    ) -> None:
        """Enter a fault; ``remedy`` is what ``fix`` says."""
        self._enter("fault", kind, voice, position, message, amount, fix, remedy)

    def remark(
        self,
        kind: str,
        voice: str,
        position: mpq,
        message: str,
        amount: mpq | None = None,
        fix: str = "",
        remedy: Remedy | None = None,
    ) -> None:
        """Enter a remark: worth knowing, and no fault."""
        self._enter("remark", kind, voice, position, message, amount, fix, remedy)

    def _enter(
        self,
        weight: str,
        kind: str,
        voice: str,
        position: mpq,
        message: str,
        amount: mpq | None,
        fix: str,
        remedy: Remedy | None = None,
    ) -> None:
        name = name_value(abs(amount)) if amount else ""
        bar = self.bar
        self.found.append(
            Finding(
                weight, kind, self.part, bar.number, bar.index, voice, position, message, amount,
                name, fix, remedy,
            )
        )  # fmt: skip

    def remedy(self, op: str, voice: str = "", *, all_parts: bool = False, **more: Any) -> Remedy:
        """A remedy in this bar of this part, or of all parts."""
        return Remedy(op, ALL if all_parts else self.which, self.bar.index, voice, **more)

    def depart(self, word: str) -> bool:
        """Call the lengths that were found wrong departures from a plan; True where any was."""
        departed = False
        for at, each in enumerate(self.found):
            if each.kind in ("short", "long"):
                fix = f"{each.fix}; {word}" if each.fix else word
                self.found[at] = replace(each, kind="plan", fix=fix)
                departed = True
        return departed

    def bar_text(self, target: mpq) -> str:
        """What the bar should hold: its signature, or its length where that is another."""
        metre = self.bar.metre
        if metre is not None and metre.length == target:
            said = str(metre)
            return said if " " not in said else str(Metre(metre.terms))  # 3/4 under a C
        return f"a bar of {self.held(target)}"

    def held(self, length: mpq) -> str:
        """A length as the simplest signature that holds it, or as a fraction."""
        metre = simplest_metre(length, self.bar.metre)
        return str(metre) if metre is not None and len(str(metre)) < 9 else said_length(length)
