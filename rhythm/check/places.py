"""Where a finding is, as a musician says it: the part, the hand or voice, the bar, the beat."""

from __future__ import annotations

from collections.abc import Sequence

from gmpy2 import mpq

from rhythm.check.coverage import home_staff
from rhythm.check.findings import FindingLog
from rhythm.check.ledger_rows import Finding
from rhythm.check.phrasing import bar_name
from rhythm.check.remedies import ALL
from rhythm.check.survey import PartBar
from rhythm.exact.frozen import changed
from rhythm.score.model import Bar, Part

__all__ = ["beat_of", "part_names", "say_places"]

ZERO = mpq(0)
_HANDS = {"1": "right hand", "2": "left hand"}
_OF_ALL = frozenset({"cadenza", "last", "upbeat", "implicit", "split", "plan"})


def say_places(
    parts: Sequence[Part],
    columns: Sequence[Sequence[PartBar]],
    desks: Sequence[Sequence[FindingLog]],
) -> None:
    """Let every finding say its place."""
    names = part_names([(part.id, part.name) for part in parts])
    staves: dict[int, frozenset[str]] = {}
    for column, row in zip(columns, desks, strict=True):
        for which, (slot, desk) in enumerate(zip(column, row, strict=True)):
            if not desk.found:
                continue
            if which not in staves:
                staves[which] = _staves(parts[which])
            name = names[parts[which].id] if len(parts) > 1 or parts[which].name else ""
            for at, finding in enumerate(desk.found):
                whole = _is_of_all(finding) and len(parts) > 1
                said = [
                    "all parts" if whole else name,
                    "" if whole else _voice(slot, finding.voice, staves[which]),
                    f"bar {bar_name(finding.number)}",
                ]
                place = ", ".join(filter(None, said))
                beat = beat_of(slot.bar, finding.position)
                desk.found[at] = changed(finding, {"place": place, "beat": beat})


def part_names(parts: Sequence[tuple[str, str]]) -> dict[str, str]:
    """What to call each part: by its name where that tells it from the others, else by its id."""
    count: dict[str, int] = {}
    for _, name in parts:
        count[name] = count.get(name, 0) + 1
    return {id: name if name and count[name] == 1 else id for id, name in parts}


def beat_of(bar: Bar, position: mpq) -> str:
    """Where in the bar a position is: ``beat 3``, ``after beat 3``; "" where no metre tells."""
    if bar.metre is None or not bar.metre.beats:
        return ""
    at = position + bar.shift
    start = ZERO
    for count, beat in enumerate(bar.metre.beats, 1):
        if at == start:
            return f"beat {count}"
        start += beat
        if at < start:
            return f"after beat {count}"
    return "at the end" if at == start else "past the end"


def _is_of_all(finding: Finding) -> bool:
    if finding.voice and (finding.kind not in _OF_ALL or finding.kind == "plan"):
        return False
    remedy = finding.remedy
    return finding.kind in _OF_ALL or (remedy is not None and remedy.part == ALL)


def _staves(part: Part) -> frozenset[str]:
    return frozenset(
        note.staff or "1" for voice in part.voices for event in voice.events for note in event.notes
    )


def _voice(slot: PartBar, voice: str, staves: frozenset[str]) -> str:
    """The hand, the staff or the voice, as far as there is more than one."""
    stretch = slot.voices.get(voice)
    if stretch is None:
        return ""
    if len(staves) < 2:
        return f"voice {voice}" if len(slot.voices) > 1 else ""
    staff = home_staff(stretch, ZERO, ZERO) or "1"
    said = _HANDS.get(staff, f"staff {staff}") if len(staves) == 2 else f"staff {staff}"
    beside = [
        other
        for other in slot.voices.values()
        if other is not stretch and (home_staff(other, ZERO, ZERO) or "1") == staff
    ]
    return f"{said}, voice {voice}" if beside else said
