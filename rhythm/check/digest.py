"""Many findings in few lines: what is said in the same words of several bars is said once.

A file that a program damaged has one fault in hundreds of bars. A reader wants to know what it is,
how often, and in which bars; each alone is for whoever mends it by hand.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from rhythm.check.ledger_rows import Finding
from rhythm.check.phrasing import bar_name
from rhythm.exact.frozen import dataclass

__all__ = ["Group", "digest", "runs"]

_MOST_GROUPS = 24


@dataclass(frozen=True, slots=True)
class Group:
    """Findings of one kind: what is said of them, of whom, how many, and the bars as text."""

    kind: str
    weight: str
    who: str
    what: str
    count: int
    bars: str


def digest(findings: Sequence[Finding]) -> list[Group]:
    """The findings in groups: by what is said and of whom; where that is too many, by kind."""
    for key in (_by_words, _by_part, _by_kind):
        groups: dict[tuple[str, ...], list[Finding]] = {}
        for finding in findings:
            groups.setdefault(key(finding), []).append(finding)
        if len(groups) <= _MOST_GROUPS:
            break
    return [_group(each) for each in sorted(groups.values(), key=len, reverse=True)]


def _who(finding: Finding) -> str:
    return finding.place.rpartition("bar ")[0].rstrip(", ")


def _by_words(finding: Finding) -> tuple[str, ...]:
    return finding.kind, finding.weight, _who(finding), str(finding)


def _by_part(finding: Finding) -> tuple[str, ...]:
    return finding.kind, finding.weight, finding.part


def _by_kind(finding: Finding) -> tuple[str, ...]:
    return finding.kind, finding.weight


def _group(found: Sequence[Finding]) -> Group:
    first = found[0]
    alike = all(str(each) == str(first) for each in found)
    whos = list(dict.fromkeys(map(_who, found)))
    who = whos[0] if len(whos) == 1 else f"{len(whos)} voices"
    what = str(first) if alike else f"such as: {first}"
    return Group(first.kind, first.weight, who, what, len(found), runs(found))


def runs(found: Iterable[Finding]) -> str:
    """The bars of findings as a musician lists them: ``5, 7-9, 12``."""
    numbers: dict[int, str] = {each.index: bar_name(each.number) for each in found}
    said: list[str] = []
    places = sorted(numbers)
    start = 0
    for at in range(1, len(places) + 1):
        if at == len(places) or places[at] != places[at - 1] + 1:
            first, last = numbers[places[start]], numbers[places[at - 1]]
            said.append(first if at - start == 1 else f"{first}-{last}")
            start = at
    if len(said) > 12:
        return f"{', '.join(said[:10])} ... {said[-1]}"
    return ", ".join(said)
