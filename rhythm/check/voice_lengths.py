"""One part in one bar: do its voices fill what the bar should hold, once and without overlap?

A voice need not fill the bar: a second voice may enter for a beat with nothing around it. What
must hold is that no visible voice runs past the bar, that no voice overlaps itself, and that at
every moment something (a note, a rest, a hidden rest) stands in some voice of the part.
"""

from __future__ import annotations

from collections.abc import Sequence

from gmpy2 import mpq

from rhythm.check.bar_lengths import is_broken, written_end
from rhythm.check.coverage import holes_of, overlap_in, stray_in, stray_of
from rhythm.check.findings import FindingLog
from rhythm.check.phrasing import a_value, filling_rests
from rhythm.check.survey import Entry, PartBar, SurveyedVoice

__all__ = ["check_voices"]

ZERO = mpq(0)


def check_voices(slot: PartBar, target: mpq, desk: FindingLog, settled: bool = False) -> None:
    """Ends, overlaps and uncovered time of every voice against what the bar should hold.

    ``settled`` says that something already reported accounts for the bar's sums.
    """
    bar = slot.bar
    if is_broken(bar):
        return
    slack = slot.slack if bar.remarks or target else ZERO
    doubtful = settled or any(
        remark.kind == "contradiction" and not remark.settled for remark in bar.remarks
    )
    long: list[SurveyedVoice] = []
    if slack:
        _mention_guessed(slot, target, slack, desk)
    for stretch in slot.voices.values():
        if stretch.unseen:
            _check_unseen(stretch, target, desk)
        if not stretch.shown or stretch.elastic or settled:
            continue
        if stretch.end > target + slack and written_end(slot, stretch) != target:
            long.append(stretch)
    long = [stretch for stretch in long if not _is_pushed(stretch, long, target)]
    strays = [_check_stray(slot, stretch, target, desk) for stretch in long]
    if any(strays):
        return
    for stretch in long:
        _too_long(stretch, target, desk)
    overlapping = [
        _check_overlap(slot, stretch, slack, desk)
        for stretch in slot.voices.values()
        if not stretch.smooth and not doubtful
    ]
    if not (slot.elastic or any(overlapping) or long or doubtful):
        _check_cover(slot, target, slack, desk)
        if len(slot.firm) > 1:
            _check_staves(slot, target, slack, desk)


def _is_pushed(stretch: SurveyedVoice, long: Sequence[SurveyedVoice], target: mpq) -> bool:
    """Does this voice run over only because a backup counts from the end of one that does?"""
    over = stretch.end - target
    return stretch.start >= over and any(
        other.end == stretch.end and other.start < over for other in long
    )


def _mention_guessed(slot: PartBar, target: mpq, slack: mpq, desk: FindingLog) -> None:
    """Note the voices that miss the end of the bar by the rounding of notes without a type."""
    rounded = {remark.voice for remark in slot.bar.remarks if remark.kind == "rounded"}
    for stretch in slot.firm:
        off = stretch.end - target
        if not off or abs(off) > slack or stretch.voice in rounded:
            continue
        side = "after" if off > 0 else "before"
        message = f"ends {a_value(off)} {side} the end of the bar, by rounding"
        desk.note("rounded", stretch.voice, stretch.end, message, off)


def _check_unseen(stretch: SurveyedVoice, target: mpq, desk: FindingLog) -> None:
    over = stretch.unseen_end - target
    if over > 0:
        cue = any(event.cue for _, event in stretch.unseen)
        word = "cue notes run" if cue else "a hidden voice runs"
        message = f"{word} {a_value(over)} past the end of the bar"
        desk.note("hidden", stretch.voice, target, message, over)


def _check_overlap(slot: PartBar, stretch: SurveyedVoice, slack: mpq, desk: FindingLog) -> bool:
    """Report the first piece that starts before the one ahead of it ends.

    Some writers number voices afresh on every staff: then each staff is a stream of its own.
    """
    found = overlap_in(stretch.shown, slack)
    if found is None:
        return False
    staves: dict[str, list[Entry]] = {}
    for entry in stretch.shown:
        staves.setdefault(entry[1].notes[0].staff if entry[1].notes else "", []).append(entry)
    if len(staves) > 1:
        each = [overlap_in(entries, slack) for entries in staves.values()]
        found = next((overlap for overlap in each if overlap is not None), None)
        if found is None:
            return False
    lost = stray_of(slot, stretch)
    if lost is not None:
        piece, owner = lost
        message = f"a note of voice {stretch.voice} stands inside this voice's stream"
        fix = f"give it to voice {owner}"
        desk.fault("stray", owner, piece.offset, message, piece.duration, fix)
        return True
    where, over = found
    message = f"starts {a_value(over)} before what stands ahead of it in the voice ends"
    fix = f"{a_value(over)} later it would follow at once"
    desk.fault("overlap", stretch.voice, where, message, over, fix)
    return True


def _too_long(stretch: SurveyedVoice, target: mpq, desk: FindingLog) -> None:
    over = stretch.end - target
    start = _where_it_goes_over(stretch, target)
    message = f"{a_value(over)} too long for {desk.bar_text(target)}"
    if stretch.written == stretch.end:
        fix = f"it holds {desk.held(stretch.end)}"
    elif stretch.start >= over:
        fix = f"{a_value(over)} earlier it would fit"
    else:
        fix = f"it must be {a_value(over)} shorter"
    desk.fault("long", stretch.voice, start, message, over, fix)


def _where_it_goes_over(stretch: SurveyedVoice, target: mpq) -> mpq:
    """The start of the piece that first runs past the end of the bar."""
    return next(piece.offset for piece, _ in stretch.shown if piece.end > target)


def _check_stray(slot: PartBar, stretch: SurveyedVoice, target: mpq, desk: FindingLog) -> bool:
    over = stretch.end - target
    found = stray_in(slot, stretch, over)
    if found is None:
        return False
    start, other = found
    message = f"a note of voice {other} stands inside this voice's stream"
    desk.fault("stray", stretch.voice, start, message, over, f"move it to voice {other}'s own")
    return True


def _check_cover(slot: PartBar, target: mpq, slack: mpq, desk: FindingLog) -> None:
    """Report the time that nothing in the part covers."""
    if any(each.smooth and not each.start and each.end >= target for each in slot.firm):
        return
    stretches = [each for each in slot.voices.values() if each.shown or each.unseen]
    if not stretches:
        if slot.metre:
            desk.note("empty", "", ZERO, "holds nothing, not even a rest")
        return
    if not any(each.shown for each in stretches):
        return
    for start, end in holes_of(stretches, target):
        gap = end - start
        if gap <= slack:
            continue
        voice = _owner(stretches, start, end)
        fix = f"{filling_rests(gap)} would fill it"
        if end == target and slot.reached < end:
            message = f"{a_value(gap)} short of {desk.bar_text(target)}"
            desk.fault("short", voice, start, message, -gap, fix)
        else:
            message = f"a forward passes over {a_value(gap)} from {start} to {end} without a rest"
            desk.note("gap", voice, start, message, -gap, fix)


def _check_staves(slot: PartBar, target: mpq, slack: mpq, desk: FindingLog) -> None:
    """Note a voice that has a staff to itself and leaves its end empty while others play on.

    No fault: a line that another staff takes over is often written so, without rests.
    """
    if max(stretch.end for stretch in slot.firm) < target:
        return
    for stretch in slot.firm:
        if stretch.end >= target - slack or stretch.start or stretch.unseen:
            continue
        staves = _staves_of(stretch)
        if len(staves) == 1 and all(
            staves.isdisjoint(_staves_of(other))
            for other in slot.voices.values()
            if other is not stretch
        ):
            gap = target - stretch.end
            message = f"staff {min(staves) or 1} is empty for {a_value(gap)} at the bar's end"
            fix = f"{filling_rests(gap)} would fill it"
            desk.note("staff", stretch.voice, stretch.end, message, -gap, fix)


def _staves_of(stretch: SurveyedVoice) -> set[str]:
    entries = (*stretch.shown, *stretch.unseen)
    return {note.staff for _, event in entries for note in event.notes}


def _owner(stretches: list[SurveyedVoice], start: mpq, end: mpq) -> str:
    """The voice to which a hole belongs: the one that stops there, or goes on behind it."""
    shown = [each for each in stretches if each.shown]
    for stretch in shown:
        if any(piece.end == start for piece, _ in stretch.shown):
            return stretch.voice
    for stretch in shown:
        if any(piece.offset == end for piece, _ in stretch.shown):
            return stretch.voice
    return shown[0].voice
