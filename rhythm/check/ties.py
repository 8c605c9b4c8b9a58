"""Ties that lead nowhere.

The reader joins notes that are tied in full; what is left are ties that reach outside their event:
partial ties of a chord, ties into another voice, ties over a repeat, and ties without a partner. A
tie is right when its pitch sounds on at the very moment it ends, in whichever voice, or where the
music may go from there by a repeat or an ending. If that note only lacks its stop mark, that is a
note. Enharmonic spellings of one key count as one pitch.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable
from dataclasses import dataclass, field

from gmpy2 import mpq

from rhythm.check.findings import Desk
from rhythm.score.model import Bar, Event, Note, Part

__all__ = ["check_ties"]


@dataclass(slots=True)
class _Sounds:
    """The notes of a part by the moment they start and the moment they end."""

    starts: dict[mpq, list[tuple[Event, Note]]] = field(default_factory=lambda: defaultdict(list))
    ends: dict[mpq, list[tuple[Event, Note]]] = field(default_factory=lambda: defaultdict(list))


@dataclass(frozen=True, slots=True)
class _Loose:
    """A tie mark that reaches outside its event."""

    voice: str
    event: Event
    note: Note


def check_ties(part: Part, desk_of: Callable[[int], Desk]) -> None:
    """Report the ties of ``part`` that lead nowhere or whose other end lacks its mark."""
    outs: list[_Loose] = []
    ins: list[_Loose] = []
    for voice in part.voices:
        for event in voice.events:
            for note in event.notes:
                if note.tie_out and note.pitch is not None and event.visible:
                    outs.append(_Loose(voice.name, event, note))
                if note.tie_in and note.pitch is not None and event.visible:
                    ins.append(_Loose(voice.name, event, note))
    if not outs and not ins:
        return
    sounds = _Sounds()
    for voice in part.voices:
        for event in voice.events:
            if event.duration:
                for note in event.notes:
                    if note.pitch is not None:
                        sounds.starts[event.onset].append((event, note))
                        sounds.ends[event.end].append((event, note))
    late: set[tuple[mpq, mpq]] = set()
    reported: set[int] = set()
    for loose in outs:
        if id(loose.event) not in reported and _check_out(part, loose, ins, sounds, late, desk_of):
            reported.add(id(loose.event))
    for loose in ins:
        if id(loose.event) not in reported and _check_in(part, loose, sounds, late, desk_of):
            reported.add(id(loose.event))


def _height(note: Note) -> mpq:
    assert note.pitch is not None
    return note.pitch.midi


def _last_place(event: Event) -> tuple[int, mpq]:
    if event.pieces:
        return event.pieces[-1].bar, event.pieces[-1].offset
    return event.bar, mpq(0)


def _check_out(
    part: Part,
    loose: _Loose,
    ins: list[_Loose],
    sounds: _Sounds,
    late: set[tuple[mpq, mpq]],
    desk_of: Callable[[int], Desk],
) -> bool:
    event, height = loose.event, _height(loose.note)
    index, offset = _last_place(event)
    found = [
        note
        for moment in _moments_after(part, event)
        for other, note in sounds.starts.get(moment, ())
        if _height(note) == height and other is not event
    ]
    if any(note.tie_in for note in found):
        return False
    name = repr(loose.note.pitch)
    if found:
        message = f"the tie of {name} starts, but the {name} it leads to has no stop mark"
        desk_of(index).note("tie-mark", loose.voice, offset, message)
        return True
    if any(
        _height(note) == height
        for target in _jumps(part.bars, index)
        for _, note in sounds.starts.get(target, ())
    ):
        return False
    stop = next(
        (each for each in ins if each.event.onset > event.end and _height(each.note) == height
         and each.event.bar <= index + 1 and not _is_met(each, sounds)),
        None,
    )  # fmt: skip
    message = f"the tie of {name} leads nowhere: no {name} follows at once"
    fix = ""
    if stop is not None:
        late.add((stop.event.onset, height))
        fix = f"its stop stands later, in bar {part.bars[stop.event.bar].number}"
    desk_of(index).fault("tie", loose.voice, offset, message, fix=fix)
    return True


def _moments_after(part: Part, event: Event) -> tuple[mpq, ...]:
    """When the partner may start: at the event's end, or in the next bar if this one is short."""
    index, _ = _last_place(event)
    if index + 1 < len(part.bars) and event.pieces:
        bar = part.bars[index]
        if bar.filled <= event.pieces[-1].end != bar.length:
            return event.end, part.bars[index + 1].start
    return (event.end,)


def _is_met(loose: _Loose, sounds: _Sounds) -> bool:
    """Does a note of this pitch end where this one, which a tie leads to, starts?"""
    height = _height(loose.note)
    return any(_height(note) == height for _, note in sounds.ends.get(loose.event.onset, ()))


def _check_in(
    part: Part,
    loose: _Loose,
    sounds: _Sounds,
    late: set[tuple[mpq, mpq]],
    desk_of: Callable[[int], Desk],
) -> bool:
    event, height = loose.event, _height(loose.note)
    if (event.onset, height) in late or event.graces:
        return False
    found = [
        note for _, note in sounds.ends.get(event.onset, ()) if _height(note) == height
    ]
    if any(note.tie_out for note in found):
        return False
    offset = event.pieces[0].offset if event.pieces else mpq(0)
    name = repr(loose.note.pitch)
    if found:
        message = f"a tie stops at {name}, but the {name} before it has no start mark"
    elif not offset and (not event.bar or _is_landing(part.bars, event.bar)):
        return False
    else:
        message = f"a tie stops at {name}, but none starts before it"
    desk_of(event.bar).note("tie-mark", loose.voice, offset, message)
    return True


def _jumps(bars: tuple[Bar, ...], index: int) -> list[mpq]:
    """Where the music may go on after this bar other than to the next: repeats and endings."""
    right = bars[index].right
    ahead = bars[index + 1].left if index + 1 < len(bars) else None
    targets = []
    if (right and right.repeat == "backward") or (ahead and ahead.repeat == "backward"):
        start = next((i for i in range(index, 0, -1) if _is_forward(bars[i])), 0)
        targets.append(bars[start].start)
    if ahead and ahead.ending_type == "start":
        targets += [
            bar.start for bar in bars[index + 2 :] if bar.left and bar.left.ending_type == "start"
        ]
    return targets


def _is_forward(bar: Bar) -> bool:
    return bool(bar.left and bar.left.repeat == "forward")


def _is_landing(bars: tuple[Bar, ...], index: int) -> bool:
    """May the music arrive in this bar from elsewhere than the bar before?"""
    bar, before = bars[index], bars[index - 1]
    return bool(
        bar.left and (bar.left.ending_type == "start" or bar.left.repeat == "forward")
    ) or bool(before.right and (before.right.repeat == "backward" or before.right.ending_type))
