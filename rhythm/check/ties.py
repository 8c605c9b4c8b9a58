"""Ties that lead nowhere.

The reader joins notes that are tied in full; what is left are ties that reach outside their event:
partial ties of a chord, ties into another voice, ties over a repeat, and ties without a partner. A
tie is right when its pitch sounds on at the very moment it ends, in whichever voice, or where the
music may go from there by a repeat or an ending. If that note only lacks its stop mark, that is a
note. Enharmonic spellings of one key count as one pitch.
"""

from __future__ import annotations

from bisect import bisect_left
from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import field, replace

from gmpy2 import mpq

from rhythm.check.findings import FindingLog
from rhythm.exact.frozen import changed, dataclass
from rhythm.score.model import Bar, Event, Note, Part

__all__ = ["Loose", "check_ties", "loose_ties"]


@dataclass(frozen=True, slots=True)
class Loose:
    """A tie mark that reaches outside its event and meets no mark there.

    ``starts`` tells a start from a stop; ``late`` is the stop that stands further on.
    """

    voice: str
    event: Event
    note: Note
    starts: bool
    late: Loose | None = None

    @property
    def height(self) -> mpq:
        """The key it sounds, in semitones."""
        assert self.note.pitch is not None
        return self.note.pitch.midi


@dataclass(slots=True)
class _Sounds:
    """The notes of a part by the moment they start and the moment they end."""

    starts: dict[mpq, list[Event]] = field(default_factory=lambda: defaultdict(list))
    ends: dict[mpq, list[Event]] = field(default_factory=lambda: defaultdict(list))

    def starting(self, moment: mpq, like: Loose) -> list[Loose]:
        """The notes of the same key that start at this moment."""
        return _alike(self.starts.get(moment, ()), like)

    def ending(self, moment: mpq, like: Loose) -> list[Loose]:
        """The notes of the same key that end at this moment."""
        return _alike(self.ends.get(moment, ()), like)


def _alike(events: Iterable[Event], like: Loose) -> list[Loose]:
    return [
        Loose("", event, note, False)
        for event in events
        if event is not like.event
        for note in event.notes
        if note.pitch is not None
        and (note.pitch == like.note.pitch or note.pitch.midi == like.height)
    ]


def check_ties(part: Part, desks: Sequence[FindingLog], spoiled: Collection[int]) -> None:
    """Report the ties of ``part`` that lead nowhere or whose other end lacks its mark.

    ``desks`` take the findings of its bars. One finding an event, however many members of a chord
    it concerns; none from the bars in ``spoiled``, where another fault may have broken the tie.
    """
    reported: set[tuple[int, bool]] = set()
    lines = _Lines(part)
    for loose, partner in loose_ties(part):
        event, name = loose.event, repr(loose.note.pitch)
        if (id(event), loose.starts) in reported:
            continue
        reported.add((id(event), loose.starts))
        if not loose.starts:
            offset = event.pieces[0].offset if event.pieces else mpq(0)
            before = f"the {name} before it has no start mark" if partner else "none starts there"
            message = f"a tie stops at {name}, but {before}"
            desk = desks[event.bar]
            give = desk.remedy("tie-mark", loose.voice, at=offset, to="stop")
            here = changed(give, {"bar": event.bar})
            desk.remark("tie-mark", loose.voice, offset, message, remedy=here)
            continue
        index, offset = _last_place(event)
        desk = desks[index]
        if partner is None and index in spoiled:
            continue
        if partner is not None:
            message = f"the tie of {name} starts, but the {name} it leads to has no stop mark"
            give = desk.remedy("tie-mark", loose.voice, at=offset, to="start")
            here = changed(give, {"bar": index})
            desk.remark("tie-mark", loose.voice, offset, message, remedy=here)
            continue
        fix = f"end it on another {name} that follows at once, or take it off"
        if loose.late is not None:
            fix = f"its stop stands later, in bar {part.bars[loose.late.event.bar].number}"
        follows = _what_follows(lines, loose)
        message = f"the tie of {name} leads nowhere: {follows or f'no {name} follows at once'}"
        remedy = changed(desk.remedy("tie", loose.voice, at=offset), {"bar": index})
        desk.fault("tie", loose.voice, offset, message, fix=fix, remedy=remedy)


class _Lines:
    """The events of every voice of a part in order of time; laid out when they are asked for."""

    def __init__(self, part: Part) -> None:
        self._part = part
        self._laid: dict[str, tuple[list[mpq], list[Event]]] = {}

    def after(self, name: str, moment: mpq) -> Event | None:
        """The first event of a voice that starts at ``moment`` or later."""
        onsets, timed = self._of(name)
        at = bisect_left(onsets, moment)
        return timed[at] if at < len(timed) else None

    def between(self, name: str, start: mpq, end: mpq) -> list[Event]:
        """The events of a voice that start from ``start`` on and before ``end``."""
        onsets, timed = self._of(name)
        return timed[bisect_left(onsets, start) : bisect_left(onsets, end)]

    def _of(self, name: str) -> tuple[list[mpq], list[Event]]:
        if name not in self._laid:
            events = next(voice.events for voice in self._part.voices if voice.name == name)
            timed = sorted((e for e in events if e.duration), key=lambda event: event.onset)
            self._laid[name] = [event.onset for event in timed], timed
        return self._laid[name]


def _what_follows(lines: _Lines, loose: Loose) -> str:
    """What stands in the voice where the tied note should go on, in words."""
    own = loose.note.pitch
    assert own is not None
    after = lines.after(loose.voice, loose.event.end)
    if after is None or after.bar > _last_place(loose.event)[0] + 1:
        return ""
    if after.is_rest:
        return "a rest follows"
    alike = [p for p in after.pitches if (p.step, p.octave) == (own.step, own.octave)]
    if not alike:
        return f"{after.pitches[0]!r} follows" if len(after.pitches) == 1 else ""
    other = alike[0]
    if other == own:
        return ""
    if own.alter and not other.alter:
        lost = {-2: "double flat", -1: "flat", 1: "sharp", 2: "double sharp"}.get(
            int(own.alter), "sign"
        )
        return f"{other!r} follows: a {lost} lost?"
    return f"{other!r} follows: a sign too many?" if not own.alter else f"{other!r} follows"


def loose_ties(part: Part) -> Iterator[tuple[Loose, Loose | None]]:
    """Every tie mark of the visible music that meets no other, and the note it should have met.

    The second is None where there is no such note. A start whose stop stands later is given with
    that as ``late``, and it is not given again.
    """
    outs, ins = _marked(part)
    if not outs and not ins:
        return
    sounds = _sounds(part, outs, ins)
    stops: dict[tuple[mpq, int], list[Loose]] = defaultdict(list)
    for loose in ins:
        stops[loose.height, loose.event.bar].append(loose)
    late: set[int] = set()
    lines = _Lines(part)
    for loose in outs:
        found = [
            other
            for moment in _moments_after(part, loose.event)
            for other in sounds.starting(moment, loose)
        ]
        if any(other.note.tie_in for other in found):
            continue
        elsewhere = _where_it_jumps(part, loose, sounds)
        if any(other.note.tie_in for other in elsewhere):
            continue
        if found:
            yield loose, found[0]
            continue
        if elsewhere:
            continue
        if _stops_on_a_grace(part, loose) or _rings(part, loose):
            continue
        stop = _late_stop(part, loose, stops, sounds)
        if stop is not None:
            late.add(id(stop.event))
            if _is_gathered(lines, loose, stop):
                continue
            loose = replace(loose, late=stop)
        yield loose, None
    for loose in ins:
        event = loose.event
        if event.graces or id(event) in late or _arrives(part, event):
            continue
        found = _ending_before(part, loose, sounds)
        if any(other.note.tie_out for other in found):
            continue
        yield loose, found[0] if found else None


def _marked(part: Part) -> tuple[list[Loose], list[Loose]]:
    """The tie marks that reach outside their events: starts and stops."""
    outs: list[Loose] = []
    ins: list[Loose] = []
    for voice in part.voices:
        for event in voice.events:
            for note in event.notes:
                if not (note.tie_out or note.tie_in) or note.pitch is None or not event.visible:
                    continue
                if note.tie_out:
                    outs.append(Loose(voice.name, event, note, True))
                if note.tie_in:
                    ins.append(Loose(voice.name, event, note, False))
    return outs, ins


def _sounds(part: Part, outs: list[Loose], ins: list[Loose]) -> _Sounds:
    """The notes in the bars where a tie ends or its partner may stand, or a repeat leads."""
    bars = {0}
    for loose in (*outs, *ins):
        index, _ = _last_place(loose.event)
        bars.update((index, index + 1, loose.event.bar, loose.event.bar - 1))
    bars.update(bar.index for bar in part.bars if _opens(bar))
    sounds = _Sounds()
    for voice in part.voices:
        for event in voice.events:
            starts = event.bar in bars
            ends = starts or (len(event.pieces) > 1 and event.pieces[-1].bar in bars)
            if not ends or not event.duration or event.is_rest:
                continue
            if starts:
                sounds.starts[event.onset].append(event)
            sounds.ends[event.onset + event.duration].append(event)
    return sounds


def _opens(bar: Bar) -> bool:
    """May a repeat or an ending lead here?"""
    return bool(bar.left and (bar.left.repeat == "forward" or bar.left.ending_type == "start"))


def _last_place(event: Event) -> tuple[int, mpq]:
    if event.pieces:
        return event.pieces[-1].bar, event.pieces[-1].offset
    return event.bar, mpq(0)


def _moments_after(part: Part, event: Event) -> tuple[mpq, ...]:
    """When the partner may start: at the event's end, or in the next bar if this one is short."""
    index, _ = _last_place(event)
    more = index + 1 < len(part.bars) and event.pieces
    if more and event.pieces[-1].end in _own_ends(part.bars[index]):
        return event.end, part.bars[index + 1].start
    return (event.end,)


def _ending_before(part: Part, loose: Loose, sounds: _Sounds) -> list[Loose]:
    """The notes of the same key that end where this one starts.

    At the start of a bar, those too that end where their own music stops in the bar before.
    """
    event = loose.event
    found = sounds.ending(event.onset, loose)
    bar = part.bars[event.bar]
    if event.bar and event.onset == bar.start:
        before = part.bars[event.bar - 1]
        for end in _own_ends(before):
            found += sounds.ending(before.start + end, loose)
    return found


def _own_ends(bar: Bar) -> set[mpq]:
    """Where a voice may end in a bar that something else holds longer.

    Where this part's music stops if another part goes on, and where the metre does if another
    voice goes on.
    """
    ends = {bar.filled}
    if bar.metre is not None and bar.metre.length:
        ends.add(bar.metre.length)
    return {end for end in ends if end < bar.length}


def _where_it_jumps(part: Part, loose: Loose, sounds: _Sounds) -> list[Loose]:
    """The notes of the same key where a repeat or an ending leads."""
    index, _ = _last_place(loose.event)
    return [
        other for target in _jumps(part.bars, index) for other in sounds.starting(target, loose)
    ]


def _stops_on_a_grace(part: Part, loose: Loose) -> bool:
    """Does the tie lead to a grace note before what its voice plays next?"""
    index, _ = _last_place(loose.event)
    ends = loose.event.end - part.bars[index].start
    for bar, at in ((index, ends), (index + 1, mpq(0))):
        remarks = part.bars[bar].remarks if bar < len(part.bars) else ()
        if any((r.kind, r.voice, r.offset) == ("grace-tie", loose.voice, at) for r in remarks):
            return bar == index or ends >= part.bars[index].length
    return False


def _rings(part: Part, loose: Loose) -> bool:
    """Is the note let ring? Such a tie owes no stop."""
    index, offset = _last_place(loose.event)
    remarks = part.bars[index].remarks
    return any((r.kind, r.voice, r.offset) == ("rings", loose.voice, offset) for r in remarks)


def _is_gathered(lines: _Lines, loose: Loose, stop: Loose) -> bool:
    """Does nothing stand before the stop but hidden and cue notes, or others tied to it as well?

    So the notes of an arpeggio are gathered into its chord.
    """
    heights = {note.pitch.midi for note in stop.event.notes if note.pitch is not None}
    return all(
        not event.visible
        or all(
            note.tie_out and note.pitch is not None and note.pitch.midi in heights
            for note in event.notes
        )
        for event in lines.between(loose.voice, loose.event.end, stop.event.onset)
    )


def _late_stop(
    part: Part, loose: Loose, stops: Mapping[tuple[mpq, int], Sequence[Loose]], sounds: _Sounds
) -> Loose | None:
    """The stop of this pitch that stands later, in this bar or the next, and meets nothing."""
    index, _ = _last_place(loose.event)
    for bar in (index, index + 1):
        for each in stops.get((loose.height, bar), ()):
            late = each.event.onset > loose.event.end
            if late and not _ending_before(part, each, sounds):
                return each
    return None


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


def _arrives(part: Part, event: Event) -> bool:
    """Does the event begin where the music may arrive from elsewhere than the bar before?"""
    if event.onset != part.bars[event.bar].start:
        return False
    if not event.bar:
        return True
    bar, before = part.bars[event.bar], part.bars[event.bar - 1]
    left, right = bar.left, before.right
    if left and (left.ending_type == "start" or left.repeat == "forward"):
        return True
    return bool(right and (right.repeat == "backward" or right.ending_type))
