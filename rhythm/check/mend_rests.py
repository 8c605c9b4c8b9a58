"""Mending with rests: those that run over are shortened, holes are filled, tuplets completed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from gmpy2 import mpq

from rhythm.check.coverage import holes_of
from rhythm.check.editor import Draft, whole_bar
from rhythm.check.phrasing import filling_rests
from rhythm.check.remedies import Remedy
from rhythm.check.tuplets import is_plain
from rhythm.exact.errors import MusicError
from rhythm.notate.manner import usage_of
from rhythm.notate.metric_grid import bar_grid
from rhythm.notate.rests import fill_rest
from rhythm.score.model import Event, Note, Piece

__all__ = ["complete", "fill", "give_ratio", "trim"]

ZERO = mpq(0)


def trim(draft: Draft, remedy: Remedy) -> str:
    """Shorten the rests that run past ``at``, or take them away."""
    index, target = remedy.bar, remedy.at
    for which in draft.parts_of(remedy.part):
        if index >= len(draft.slots[which]):
            continue
        for stretch in draft.slots[which][index].voices.values():
            if remedy.voice and stretch.voice != remedy.voice:
                continue
            beyond = [event for piece, event in stretch.shown if piece.end > target]
            if beyond and all(event.is_rest and event.bar == index for event in beyond):
                _shorten(draft, which, index, stretch.voice, beyond, target)
    return "rests past the end of the bar taken back"


def _shorten(
    draft: Draft, which: int, index: int, voice: str, beyond: Sequence[Event], target: mpq
) -> None:
    bar = draft.bars[which][index]
    end = bar.start + target
    gone = {id(event) for event in beyond}
    kept: list[Event] = []
    for event in draft.voices[which][voice]:
        if id(event) not in gone:
            kept.append(event)
        elif event.onset < end:
            whole = end - event.onset == target
            made = _rests(draft, which, index, event.onset - bar.start, target, event.notes)
            kept += [whole_bar(event, index, target)] if whole else made
    draft.voices[which][voice] = kept
    draft.touch(which, [index])


def fill(draft: Draft, remedy: Remedy) -> str:
    """Rests in a voice from ``at`` on; for all parts, in every one to the end of its metre."""
    index = remedy.bar
    if remedy.part >= 0:
        _fill_hole(draft, remedy.part, index, remedy.voice, (remedy.at, remedy.at + remedy.amount))
        return f"{filling_rests(remedy.amount)} put in"
    for which in range(len(draft.bars)):
        if index >= len(draft.slots[which]):
            continue
        slot = draft.slots[which][index]
        stretches = [each for each in slot.voices.values() if each.shown or each.unseen]
        if slot.elastic or not any(each.shown for each in stretches):
            continue
        for hole in holes_of(stretches, slot.metre):
            if hole[1] < slot.metre or hole[1] - hole[0] <= slot.slack:
                continue
            owner = next(
                (e for e in stretches if any(piece.end == hole[0] for piece, _ in e.shown)),
                next(e for e in stretches if e.shown),
            )
            _fill_hole(draft, which, index, owner.voice, hole)
    return f"{filling_rests(remedy.amount)} put in at its end"


def _fill_hole(draft: Draft, which: int, index: int, voice: str, hole: tuple[mpq, mpq]) -> None:
    shown = draft.slots[which][index].voices[voice].shown
    before = [entry for entry in shown if entry[0].end <= hole[0]] or shown
    last = before[-1][1]
    held = last.pieces[-1].bar > index if last.pieces else False
    if before is not shown or shown[-1][0].end <= hole[0]:
        tied = any(note.tie_out for note in last.notes) and before[-1][0].end == hole[0]
        if (tied or held) and not last.is_rest:
            raise MusicError(
                "the note ahead of the hole is tied on, so no rest can stand after it",
                legal="lengthen it by hand",
            )
    made = _rests(draft, which, index, *hole, last.notes)
    draft.put(which, voice, index, made)


def _rests(
    draft: Draft, which: int, index: int, start: mpq, end: mpq, like: Sequence[Note]
) -> list[Event]:
    """Rest events from ``start`` to ``end`` of a bar, on the staff of the notes given."""
    bar = draft.bars[which][index]
    note = Note("rest", staff=like[0].staff if like else "")
    halved = is_plain(start) and is_plain(end)  # what no halving reaches lies in a tuplet
    grid = bar_grid(bar.metre, max(bar.length, end), bar.shift, usage=usage_of(draft.score))
    symbols = fill_rest(grid, start, end) if halved else ()
    if sum((each.end - each.start for each in symbols), ZERO) != end - start:
        draft.respell(which, index)
        return [Event(bar.start + start, end - start, index, (note,))]
    return [
        Event(
            bar.start + each.start,
            each.end - each.start,
            index,
            (note,),
            (Piece(index, each.start, each.end - each.start, each.type, each.dots),),
        )
        for each in symbols
    ]


def complete(draft: Draft, remedy: Remedy) -> str:
    """A rest after a tuplet that stops midway; what follows in the voice moves on."""
    which, index, voice = remedy.part, remedy.bar, remedy.voice
    bar = draft.bars[which][index]
    start = bar.start + remedy.at
    events = draft.voices[which][voice]
    events[:] = [
        _later(event, remedy.amount) if event.bar == index and event.onset >= start else event
        for event in events
    ]
    staff = next((event.notes[0].staff for event in events if event.notes), "")
    rest = Event(start, remedy.amount, index, (Note("rest", staff=staff),))
    draft.put(which, voice, index, [rest])
    draft.move_marks(which, bar, voice, [(remedy.at, remedy.amount)])
    draft.respell(which, index)
    return f"the tuplet completed with {filling_rests(remedy.amount)}"


def give_ratio(draft: Draft, remedy: Remedy) -> str:
    """Give a note the ratio of the others of its tuplet; what follows in the voice moves along.

    Raises MusicError where the note is tied to others.
    """
    which, index, voice, by = remedy.part, remedy.bar, remedy.voice, remedy.amount
    bar = draft.bars[which][index]
    at = bar.start + remedy.at
    events = draft.voices[which][voice]
    found = next((e for e in events if e.bar == index and e.onset == at and e.duration), None)
    if found is None or len(found.pieces) != 1:
        raise MusicError("the note is tied to others", legal="change its ratio by hand")
    actual, normal = map(int, remedy.to.split(":"))
    piece = replace(
        found.pieces[0], duration=found.duration + by, ratio=(actual, normal), tuplets=()
    )
    mended = found.replace(duration=piece.duration, pieces=(piece,))
    events[:] = [
        mended if event is found
        else _later(event, by) if event.bar == index and event.onset > at
        else event
        for event in events
    ]  # fmt: skip
    draft.move_marks(which, bar, voice, [(remedy.at + found.duration, by)])
    draft.respell(which, index)
    return f"a note given the ratio {remedy.to} of the others of its tuplet"


def _later(event: Event, by: mpq) -> Event:
    pieces = tuple(
        replace(piece, offset=piece.offset + by) if piece.bar == event.bar else piece
        for piece in event.pieces
    )
    return event.replace(onset=event.onset + by, pieces=pieces)
