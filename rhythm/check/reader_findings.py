"""What the reader remarked on in a bar: broken durations and backups, contradictions, rounding."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from gmpy2 import mpq

from rhythm.check.bar_lengths import BROKEN
from rhythm.check.coverage import explains
from rhythm.check.findings import FindingLog
from rhythm.check.phrasing import a_symbol, a_value
from rhythm.check.survey import PartBar
from rhythm.score.model import Remark

__all__ = ["check_remarks"]

ZERO = mpq(0)
_DURATIONS = frozenset({"negative", "zero", "contradiction"})
_BACKUPS = frozenset({"before-start", "far-backup"})
_BROKEN_WORDS = {
    "negative": "a note or rest has a negative duration",
    "zero": "a note or rest has the duration 0",
    "before-start": "a backup goes before the start of the bar",
    "far-backup": "a backup goes back by more than the bar holds",
}


def check_remarks(slot: PartBar, target: mpq, desk: FindingLog) -> None:
    """What the reader saw: broken durations and backups, contradictions, rounding."""
    said: set[tuple[str, str]] = set()
    contradicted: list[Remark] = []
    for remark in _unexplained(slot.bar.remarks):
        kind, voice = remark.kind, remark.voice
        if kind in BROKEN:
            if (kind, voice) not in said and explains(slot, target, remark) is None:
                over = -(remark.ticks or ZERO) if kind in _BACKUPS else None
                words, remedy = _BROKEN_WORDS[kind], desk.remedy("afresh")
                desk.fault(kind, voice, remark.offset, words, over, _fix(remark), remedy)
        elif kind == "contradiction":
            contradicted.append(remark)
        elif (kind, voice) not in said:
            _mention(slot, remark, desk)
        said.add((kind, voice))
    _contradictions(slot, contradicted, desk)


def _unexplained(remarks: Sequence[Remark]) -> Iterator[Remark]:
    """The remarks without the backups that lead before the bar for a wrong duration ahead of them.

    They go back by what the durations should have been. Nobody knows how much that is after one
    below or equal to 0 without a type.
    """
    owed, blind = ZERO, False
    for remark in remarks:
        if remark.kind in _DURATIONS:
            blind = blind or remark.written is None
            owed += (remark.written or ZERO) - (remark.ticks or ZERO)
        elif remark.kind in _BACKUPS:
            explained = blind or (owed > 0 and remark.ticks == -owed)
            owed, blind = ZERO, False
            if explained:
                continue
        yield remark


def _fix(remark: Remark) -> str:
    if remark.kind in _BACKUPS:
        return f"{a_value(remark.ticks or ZERO)} less would reach the bar's start"
    if remark.written:
        return f"its type says {a_value(remark.written)}"
    return "a duration above 0 or a type would say how long it is"


def _mention(slot: PartBar, remark: Remark, desk: FindingLog) -> None:
    kind, voice = remark.kind, remark.voice
    count = sum(1 for each in slot.bar.remarks if each.kind == kind and each.voice == voice)
    if kind == "rounded" and remark.written is None:
        message = "a backup is rounded; the place next to it counts"
        desk.remark(kind, voice, remark.offset, message, remedy=desk.remedy("afresh"))
    elif kind == "rounded":
        many = "duration is" if count == 1 else "durations are"
        message = f"{count} {many} rounded; the written values count"
        desk.remark(kind, voice, remark.offset, message, remedy=desk.remedy("afresh"))
    elif kind == "member":
        message = "a chord member lasts other than its head, which counts"
        desk.remark(kind, voice, remark.offset, message)
    elif kind == "bracket":
        message = "a tuplet's bracket lacks its other end"
        desk.remark(kind, voice, remark.offset, message, remedy=desk.remedy("afresh"))
    elif kind == "odd":
        message = "a rest without a type lasts what no rest can"
        fix = "it is read as nothing: the bar is full before it"
        if remark.written:
            fix = f"it is read as {a_value(remark.written)}: with it the bar adds up"
        off = (remark.ticks or ZERO) - (remark.written or ZERO)
        desk.fault(kind, voice, remark.offset, message, off, fix, desk.remedy("afresh"))
    elif kind == "overrun":
        message = "a tuplet is written past its end; the notes behind it are read as plain"
        desk.remark(kind, voice, remark.offset, message, remedy=desk.remedy("afresh"))
    elif kind == "no-divisions":
        desk.remark(kind, voice, remark.offset, "no divisions yet; the written values count")


def _contradictions(slot: PartBar, remarks: Sequence[Remark], desk: FindingLog) -> None:
    """Written values that their durations contradict, alike ones of a voice together."""
    alike: dict[tuple[object, ...], list[Remark]] = {}
    for remark in remarks:
        if remark.written is not None and remark.ticks is not None:
            key = remark.voice, remark.written, remark.ticks, remark.settled
            alike.setdefault(key, []).append(remark)
    seen: dict[str, frozenset[mpq]] = {}
    for found in alike.values():
        voice = found[0].voice
        if voice not in seen:
            shown = slot.voices[voice].shown if voice in slot.voices else ()
            seen[voice] = frozenset(piece.offset for piece, _ in shown)
        # Hidden and cue notes realise something for playback: nobody reads them.
        read = [each for each in found if voice not in slot.voices or each.offset in seen[voice]]
        _contradiction(slot, read or found, desk, unseen=not read)


def _contradiction(slot: PartBar, alike: Sequence[Remark], desk: FindingLog, unseen: bool) -> None:
    first = alike[0]
    written, ticks, voice = first.written or ZERO, first.ticks or ZERO, first.voice
    stretch = slot.voices.get(voice)
    if first.settled:
        belief = "the written value is believed: with it the bar adds up"
    elif stretch is not None and stretch.end == slot.metre:
        belief = "the duration is believed: with it the bar adds up"
    else:
        belief = "the duration is believed: the positions follow it"
    message = f"written as {a_symbol(written)}, but its duration is {a_value(ticks)}"
    if len(alike) > 1:
        message = f"{len(alike)} notes are written as {a_symbol(written)}, "
        message += f"but their durations are {a_value(ticks)}"
    if unseen:
        desk.remark("contradiction", voice, first.offset, message, ticks - written, belief)
        return
    remedy = desk.remedy("value", voice, at=first.offset)
    desk.fault("contradiction", voice, first.offset, message, ticks - written, belief, remedy)
