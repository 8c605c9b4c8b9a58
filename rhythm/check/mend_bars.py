"""Mending bar lines: bars divided, joined, put in and taken out, so that all parts agree."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from gmpy2 import mpq

from rhythm.check.editor import Draft
from rhythm.check.phrasing import bar_name
from rhythm.check.remedies import Remedy
from rhythm.exact.errors import MusicError
from rhythm.score.model import Bar, Event, Mark, Note, Piece, Tuplet
from rhythm.score.whole_numbers import whole_number

__all__ = ["divide", "drop_bar", "insert_bars", "join", "renumber"]

ZERO = mpq(0)


def divide(draft: Draft, remedy: Remedy) -> str:
    """A bar line after every ``at`` of the bar."""
    first = draft.bars[remedy.part if remedy.part >= 0 else 0][remedy.bar]
    follows = _number_after(draft.bars[max(remedy.part, 0)], remedy.bar)
    parts = [each for each in draft.parts_of(remedy.part) if remedy.bar < len(draft.bars[each])]
    lines = max(_lines(draft, which, remedy.bar, remedy.at) for which in parts)
    for which in parts:
        for place in range(lines):
            _divide(draft, which, remedy.bar + place, remedy.at)
    _renumber_after(draft, remedy, remedy.bar + lines, follows, lines)
    word = "a bar line" if lines == 1 else f"{lines} bar lines"
    return f"{word} put into bar {bar_name(first.number)}"


def _number_after(bars: list[Bar], index: int) -> str:
    return bars[index + 1].number if index + 1 < len(bars) else ""


def _lines(draft: Draft, which: int, index: int, at: mpq) -> int:
    """How many bar lines a bar lacks that should hold ``at``."""
    held = max((p.end for s in draft.slots[which][index].voices.values() for p, _ in s.shown),
               default=ZERO)  # fmt: skip
    return max(int(-(-held // at)) - 1, 1)


def _divide(draft: Draft, which: int, index: int, at: mpq) -> None:
    draft.shift_bars(which, index + 1, 1)
    bars = draft.bars[which]
    bar = bars[index]
    border = bar.start + at
    counted = whole_number(bar.number)
    number = f"{bar.number}a" if counted is None else str(counted + 1)
    second = bar.replace(
        index=index + 1, start=border, number=number, left=None, shows_metre=False, remarks=(),
        source=None, shift=ZERO,
    )  # fmt: skip
    bars[index : index + 1] = [bar.replace(right=None), second]
    draft.touch(which, (index, index + 1))
    for events in draft.voices[which].values():
        events[:] = [
            _over(half, index, at)
            for event in events
            for half in _halves(draft, which, index, event, at)
        ]
    draft.marks[which] = [
        mark.replace(bar=index + 1) if mark.bar == index and _goes_over(mark, border) else mark
        for mark in draft.marks[which]
    ]


def _goes_over(mark: Mark, border: mpq) -> bool:
    return mark.onset >= border


def _halves(draft: Draft, which: int, index: int, event: Event, at: mpq) -> Iterator[Event]:
    """A rest that lasts over the new line as two; anything else as it is."""
    start = event.onset - draft.bars[which][index].start
    crosses = event.bar == index and start < at < start + event.duration
    if not (crosses and event.is_rest and len(event.pieces) == 1):
        yield event
        return
    for onset, lasts in ((start, at - start), (at, start + event.duration - at)):
        half = event.replace(onset=event.onset - start + onset, duration=lasts, pieces=())
        whole = event.pieces[0].whole_bar
        piece = replace(event.pieces[0], offset=onset, duration=lasts, ticks=None)
        if not whole:
            piece = replace(piece, type="", dots=0)
            draft.respell(which, index + (onset == at))
        yield half.replace(pieces=(piece,))


def _over(event: Event, index: int, at: mpq) -> Event:
    """The event with what stands behind the new line in the next bar."""
    if not any(piece.bar == index and piece.offset >= at for piece in event.pieces):
        return event
    pieces = tuple(
        replace(piece, bar=index + 1, offset=piece.offset - at, tuplets=_moved(piece, -at))
        if piece.bar == index and piece.offset >= at
        else piece
        for piece in event.pieces
    )
    return event.replace(bar=pieces[0].bar, pieces=pieces)


def _moved(piece: Piece, by: mpq) -> tuple[Tuplet, ...]:
    return tuple(replace(each, offset=each.offset + by) for each in piece.tuplets)


def join(draft: Draft, remedy: Remedy) -> str:
    """One bar of this and the next."""
    which, index = remedy.part, remedy.bar
    bars = draft.bars[which]
    first, second = bars[index], bars[index + 1]
    held = draft.slots[which][index].held or ZERO
    names = f"bars {bar_name(first.number)} and {bar_name(second.number)}"
    for events in draft.voices[which].values():
        events[:] = [_back(event, index, held, first.start - second.start) for event in events]
    draft.marks[which] = [
        mark.replace(bar=index, onset=first.start + held + mark.onset - second.start)
        if mark.bar == index + 1
        else mark
        for mark in draft.marks[which]
    ]
    draft.shift_bars(which, index + 2, -1)
    bars[index : index + 2] = [first.replace(right=second.right)]
    draft.touch(which, [index])
    _number_like_others(draft, which, index)
    return f"{names} made one"


def _back(event: Event, index: int, held: mpq, by: mpq) -> Event:
    if not any(piece.bar == index + 1 for piece in event.pieces) and event.bar != index + 1:
        return event
    own = event.bar == index + 1
    return event.replace(
        bar=index if own else event.bar,
        onset=event.onset + by + held if own else event.onset,
        pieces=tuple(
            replace(piece, bar=index, offset=piece.offset + held, tuplets=_moved(piece, held))
            if piece.bar == index + 1
            else piece
            for piece in event.pieces
        ),
    )


def insert_bars(draft: Draft, remedy: Remedy) -> str:
    """Empty bars where the other parts have bars that this one lacks."""
    which, index, count = remedy.part, remedy.bar, int(remedy.amount)
    others = [
        own
        for part, own in enumerate(draft.bars)
        if part != which and len(own) >= remedy.until + count
    ]
    if not others:
        raise MusicError("no other part says what bars are missing")
    like = others[0][remedy.until : remedy.until + count]
    draft.shift_bars(which, index, count)
    bars = draft.bars[which]
    start = bars[index].start if index < len(bars) else bars[-1].end
    made = [
        other.replace(index=index + place, start=start, left=None, right=None, remarks=(),
                      source=None, divisions=None, shows_metre=False)
        for place, other in enumerate(like)
    ]  # fmt: skip
    bars[index:index] = made
    for place, bar in enumerate(made):
        for voice, staff in _homes(draft, which, index):
            piece = Piece(index + place, ZERO, bar.length, "", whole_bar=True)
            rest = Event(start, bar.length, index + place, (Note("rest", staff=staff),), (piece,))
            draft.put(which, voice, index + place, [rest])
    draft.rebarred = True
    _number_like_others(draft, which, index)
    names = bar_name(like[0].number)
    if count > 1:
        return f"empty bars {names} to {bar_name(like[-1].number)} put in"
    return f"an empty bar {names} put in"


def _homes(draft: Draft, which: int, index: int) -> list[tuple[str, str]]:
    """A voice for every staff, as the bar before uses them."""
    found: dict[str, str] = {}
    for near in (index - 1, index):
        if 0 <= near < len(draft.slots[which]):
            for stretch in draft.slots[which][near].voices.values():
                for _, event in stretch.shown:
                    if event.notes:
                        found.setdefault(event.notes[0].staff, stretch.voice)
    return [(voice, staff) for staff, voice in found.items()] or [("1", "")]


def drop_bar(draft: Draft, remedy: Remedy) -> str:
    """Take out an empty bar that the other parts do not have."""
    which, index = remedy.part, remedy.bar
    number = draft.bars[which][index].number
    for events in draft.voices[which].values():
        events[:] = [event for event in events if event.bar != index]
    draft.marks[which] = [mark for mark in draft.marks[which] if mark.bar != index]
    draft.shift_bars(which, index + 1, -1)
    del draft.bars[which][index]
    _number_like_others(draft, which, index)
    return f"the empty bar {bar_name(number)} taken out"


def renumber(draft: Draft, remedy: Remedy) -> str:
    """Number the bars from here on as the other parts do."""
    number = draft.bars[remedy.part][remedy.bar].number
    _number_like_others(draft, remedy.part, remedy.bar)
    return f"bar {bar_name(number)} numbered {bar_name(remedy.to)} as in the other parts"


def _number_like_others(draft: Draft, which: int, start: int) -> None:
    """Give the bars from ``start`` on the numbers that another part with as many bars has."""
    draft.changed = True
    bars = draft.bars[which]
    for part, own in enumerate(draft.bars):
        if part != which and len(own) == len(bars):
            bars[start:] = [
                bar.replace(number=other.number)
                for bar, other in zip(bars[start:], own[start:], strict=True)
            ]
            return


def _renumber_after(draft: Draft, remedy: Remedy, last: int, follows: str, by: int) -> None:
    """Where the bars behind a divided one were numbered on without a gap, let them make room."""
    if remedy.part >= 0:
        _number_like_others(draft, remedy.part, remedy.bar)
        return
    for own in draft.bars:
        if last < len(own) and own[last].number == follows and whole_number(follows) is not None:
            own[last + 1 :] = [
                bar if number is None else bar.replace(number=str(number + by))
                for bar, number in ((bar, whole_number(bar.number)) for bar in own[last + 1 :])
            ]
