"""One part in one bar: do its voices fill what the bar should hold, once and without overlap?

A voice need not fill the bar: a second voice may enter for a beat with nothing around it. What
must hold is that no visible voice runs past the bar, that no voice overlaps itself, and that at
every moment something (a note, a rest, a hidden rest) stands in some voice of the part.
"""

from __future__ import annotations

from collections.abc import Sequence

from gmpy2 import mpq

from rhythm.check.bar_lengths import BROKEN
from rhythm.check.coverage import explains, overlap_in, stray_in, stray_of
from rhythm.check.findings import FindingLog
from rhythm.check.habits import Habits
from rhythm.check.holes import check_holes
from rhythm.check.phrasing import a_value, filling_rests
from rhythm.check.survey import Entry, PartBar, SurveyedVoice

__all__ = ["check_voices"]

ZERO = mpq(0)


def check_voices(
    slot: PartBar,
    which: int,
    target: mpq,
    desk: FindingLog,
    habits: Habits,
    opens: bool,
    settled: bool = False,
) -> None:
    """Ends, overlaps and uncovered time of every voice against what the bar should hold.

    ``opens``: the bar opens the piece or a section with an upbeat. ``settled`` says that something
    already reported accounts for the bar's sums.
    """
    bar = slot.bar
    lost: set[str] = set()
    for remark in bar.remarks:
        if remark.kind in BROKEN and not remark.settled:
            found = explains(slot, target, remark)
            if found is None:
                return
            lost.add(found.voice)
    slack = slot.slack if bar.remarks or target else ZERO
    doubtful = settled or any(
        remark.kind == "contradiction" and not remark.settled for remark in bar.remarks
    )
    if slack:
        _mention_guessed(slot, target, slack, desk)
    for stretch in slot.voices.values():
        if stretch.unseen:
            _check_unseen(stretch, target, desk)
    if settled:
        return
    if len(slot.voices) > 1 and not doubtful and _check_number(slot, which, target, desk, habits):
        return
    long = [
        stretch
        for stretch in slot.voices.values()
        if stretch.shown and not stretch.elastic
        if stretch.end > target + slack
    ]
    long = [stretch for stretch in long if not _is_pushed(stretch, long, target)]
    strays = [_check_stray(slot, stretch, target, desk) for stretch in long]
    if any(strays):
        return
    late: dict[mpq, list[SurveyedVoice]] = {}
    for stretch in long:
        if _is_late(stretch, target):
            late.setdefault(stretch.end - target, []).append(stretch)
        else:
            _too_long(stretch, target, desk)
    for together in late.values():
        _too_late(together, target, desk)
    overlapping = [
        _check_overlap(stretch, slack, desk)
        for stretch in slot.voices.values()
        if not stretch.smooth and not doubtful
    ]
    if not (any(overlapping) or long or doubtful):
        check_holes(slot, which, target, slack, desk, habits, lost, opens)


def _check_number(slot: PartBar, which: int, target: mpq, desk: FindingLog, habits: Habits) -> bool:
    """Report the note that has the number of another voice than the one whose hole it fits."""
    found = stray_of(slot, target, lambda voice: habits.fills(which, voice))
    if found is None:
        return False
    has, piece, owner = found
    message = f"a note of voice {has.voice} stands in the stream of voice {owner.voice}"
    fix = f"give it to voice {owner.voice}"
    remedy = desk.remedy("voice", has.voice, at=piece.offset, to=owner.voice)
    desk.fault("stray", owner.voice, piece.offset, message, piece.duration, fix, remedy)
    return True


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
        desk.remark("rounded", stretch.voice, stretch.end, message, off)


def _check_unseen(stretch: SurveyedVoice, target: mpq, desk: FindingLog) -> None:
    over = stretch.unseen_end - target
    if over > 0:
        cue = any(event.cue for _, event in stretch.unseen)
        word = "cue notes run" if cue else "a hidden voice runs"
        message = f"{word} {a_value(over)} past the end of the bar"
        desk.remark("hidden", stretch.voice, target, message, over)


def _check_overlap(stretch: SurveyedVoice, slack: mpq, desk: FindingLog) -> bool:
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
    where, over = found
    message = f"starts {a_value(over)} before what stands ahead of it in the voice ends"
    fix = f"{a_value(over)} later it would follow at once"
    desk.fault("overlap", stretch.voice, where, message, over, fix)
    return True


def _is_late(stretch: SurveyedVoice, target: mpq) -> bool:
    """Would this voice fit, were it not for a backup that leads to a wrong place?"""
    if stretch.start < stretch.end - target or not stretch.smooth:
        return False
    rests = all(event.is_rest for piece, event in stretch.shown if piece.end > target)
    return stretch.written == target or not rests


def _too_late(together: Sequence[SurveyedVoice], target: mpq, desk: FindingLog) -> None:
    """Tell of voices that stand late by the same: backups count from each other's ends."""
    first, over = together[0], together[0].end - target
    message = f"stands {a_value(over)} too late for {desk.bar_text(target)}"
    others = [each.voice for each in together[1:]]
    if others:
        message += f", and voice{'s' * (len(others) > 1)} {', '.join(others)} with it"
    fix = f"{a_value(over)} earlier it would fit"
    remedy = desk.remedy("shift", first.voice, amount=-over, to="\t".join(others))
    start = _where_it_goes_over(first, target)
    desk.fault("long", first.voice, start, message, over, fix, remedy)


def _too_long(stretch: SurveyedVoice, target: mpq, desk: FindingLog) -> None:
    over = stretch.end - target
    start = _where_it_goes_over(stretch, target)
    beyond = [event for piece, event in stretch.shown if piece.end > target]
    message = f"{a_value(over)} too long for {desk.bar_text(target)}"
    remedy = None
    rests = all(event.is_rest and event.bar == desk.bar.index for event in beyond)
    if rests:
        fix = f"{filling_rests(over)} less would fit"
        remedy = desk.remedy("trim", stretch.voice, at=target)
    elif stretch.written == stretch.end:
        fix = f"it holds {desk.held(stretch.end)}"
    else:
        fix = f"it must be {a_value(over)} shorter"
    desk.fault("long", stretch.voice, start, message, over, fix, remedy)


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
