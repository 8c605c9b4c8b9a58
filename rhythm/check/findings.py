"""A desk for the findings of one part in one bar: who found what is entered in one form."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from gmpy2 import mpq

from rhythm.check.ledger_rows import Finding
from rhythm.exact.metre_of_length import simplest_metre
from rhythm.exact.values import name_value
from rhythm.score.model import Bar

__all__ = ["FindingLog"]


@dataclass(slots=True)
class FindingLog:
    """Collects the findings of one part in one bar."""

    part: str
    bar: Bar
    found: list[Finding] = field(default_factory=list)

    def fault(
        self,
        kind: str,
        voice: str,
        position: mpq,
        message: str,
        amount: mpq | None = None,
        fix: str = "",
    ) -> None:
        """Enter a fault."""
        self._enter("fault", kind, voice, position, message, amount, fix)

    def note(
        self,
        kind: str,
        voice: str,
        position: mpq,
        message: str,
        amount: mpq | None = None,
        fix: str = "",
    ) -> None:
        """Enter a note."""
        self._enter("note", kind, voice, position, message, amount, fix)

    def _enter(
        self,
        weight: str,
        kind: str,
        voice: str,
        position: mpq,
        message: str,
        amount: mpq | None,
        fix: str,
    ) -> None:
        name = name_value(abs(amount)) if amount else ""
        bar = self.bar
        self.found.append(
            Finding(
                weight, kind, self.part, bar.number, bar.index, voice, position, message, amount,
                name, fix,
            )
        )  # fmt: skip

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
            return str(metre)
        return f"a bar of {self.held(target)}"

    def held(self, length: mpq) -> str:
        """A length as the simplest signature that holds it, or as a fraction."""
        metre = simplest_metre(length, self.bar.metre)
        return str(metre) if metre is not None else f"{length} of a whole note"
