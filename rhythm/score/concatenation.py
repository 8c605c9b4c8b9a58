"""Cutting a passage out as a score of its own, and setting scores one after another.

Conventions
-----------
An excerpt opens with the clef, key and tempo in force where it was cut, and with the remainder of
any note sounding into it; a note that sounds on past its end is closed there, and so are slurs,
hairpins and the like (:mod:`rhythm.score.span_edges`). Positions in the new
score are counted from its own start.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from gmpy2 import mpq

from rhythm.exact.errors import MusicError
from rhythm.score.model import Bar, Event, Mark, Note, Part, Piece, Score, Voice
from rhythm.score.span_edges import whole_marks, whole_notes

__all__ = ["concat", "extract", "says_signs", "signs_of", "silence"]


def extract(score: Score, first: int, last: int) -> Score:
    """The bars with indices ``first`` to ``last`` (both included) as a complete score."""
    parts = tuple(_extract_part(part, first, last) for part in evened(score).parts)
    return score.replace(parts=parts, excerpt=True)


def _extract_part(part: Part, first: int, last: int) -> Part:
    start = part.bars[first].start
    # Halves of a bar at the head of a score would be taken for an upbeat and a short bar.
    second_half = first + 1 if not part.bars[first].shift else -1
    bars = tuple(
        bar.replace(
            index=bar.index - first,
            start=bar.start - start,
            shows_metre=bar.shows_metre or bar.index == first,
            implicit=bar.implicit or (bar.index == second_half and bar.shift > 0),
            source=None,
        )
        for bar in part.bars[first : last + 1]
    )
    cut = [
        [event for old in voice.events if (event := _cut(old, part.bars, first, last)) is not None]
        for voice in part.voices
    ]
    voices = [
        Voice(voice.name, tuple(events))
        for voice, events in zip(part.voices, whole_notes(part, first, last, cut), strict=True)
        if events
    ]
    head, tail = whole_marks(part, first, last)
    inside = [
        mark.replace(onset=mark.onset - start, bar=mark.bar - first)
        for mark in part.marks
        if first <= mark.bar <= last
    ]
    bars, inside = _without_open_repeat(bars, inside)
    return part.replace(
        bars=bars,
        voices=tuple(voices),
        marks=(*_in_force(part.marks, first), *head, *inside, *tail),
    )


def _without_open_repeat(
    bars: tuple[Bar, ...], marks: list[Mark]
) -> tuple[tuple[Bar, ...], list[Mark]]:
    """Take away a repeat that opens in the excerpt and closes behind it."""
    opened = None
    for bar in bars:
        if bar.left is not None and bar.left.repeat == "forward":
            opened = bar
        if bar.right is not None and bar.right.repeat == "backward":
            opened = None
    if opened is None:
        return bars, marks
    at = opened.index
    kept = [m for m in marks if m.kind != "barline" or m.bar != at or m.onset != opened.start]
    return tuple(b.replace(left=None) if b.index == at else b for b in bars), kept


def says_signs(mark: Mark) -> bool:
    """True for ``attributes`` that say more than the bar's own metre: key, clef or the like."""
    if mark.kind != "attributes" or mark.source is None:
        return False
    return not mark.text or bool(set(mark.text.split()) - {"divisions", "time"})


def signs_of(marks: Sequence[Mark]) -> Mark | None:
    """One mark for the head of a score that says what all these ``attributes`` say in the end.

    None where there are none. Its text names everything said, as that of each mark does.
    """
    if not marks:
        return None
    said: list[object] = []
    for mark in marks:
        said.extend(mark.source if isinstance(mark.source, tuple) else (mark.source,))
    names = sorted({name for mark in marks for name in mark.text.split()})
    transpose = [mark.transpose for mark in marks if mark.transpose is not None]
    return Mark(
        mpq(0),
        0,
        "attributes",
        order=-2,
        transpose=transpose[-1] if transpose else None,
        text=" ".join(names),
        source=tuple(said),
    )


def _in_force(marks: Sequence[Mark], first: int) -> list[Mark]:
    """Marks for the head of an excerpt: everything ``attributes`` said so far, and the tempo.

    Signs without a source (a clef, a key of ours) hold on as well, the last of each kind and staff.
    """
    said = signs_of([mark for mark in marks if mark.bar < first and says_signs(mark)])
    found = [] if said is None else [said]
    ours = {(m.kind, m.staff): m for m in marks if m.bar < first and _is_sign_of_ours(m)}
    found += [mark.replace(onset=mpq(0), bar=0) for mark in ours.values()]
    tempi = [m for m in marks if m.bar < first and (m.tempo is not None or m.metronome)]
    opens_with_tempo = any(m.bar == first and (m.tempo is not None or m.metronome) for m in marks)
    if tempi and not opens_with_tempo:
        found.append(tempi[-1].replace(onset=mpq(0), bar=0, order=-1, stream="", reach=mpq(0)))
    return found


def _is_sign_of_ours(mark: Mark) -> bool:
    return mark.source is None and mark.kind in ("clef", "key", "staff-details", "transpose")


def _cut(event: Event, bars: Sequence[Bar], first: int, last: int) -> Event | None:
    """The part of an event inside the passage, from the passage's start; None where none is."""
    pieces = event.pieces
    kept = [i for i, piece in enumerate(pieces) if first <= piece.bar <= last]
    if not kept:
        return None
    opening, closing = pieces[kept[0]], pieces[kept[-1]]
    onset = bars[opening.bar].start + opening.offset
    end = bars[closing.bar].start + closing.end
    cut_in, cut_out = kept[0] > 0, kept[-1] < len(pieces) - 1
    edges = onset <= bars[first].start, end >= bars[last].end
    return event.replace(
        onset=onset - bars[first].start,
        duration=end - onset,
        bar=opening.bar - first,
        pieces=tuple(replace(pieces[i], bar=pieces[i].bar - first) for i in kept),
        notes=tuple(_cut_note(note, kept, len(pieces), *edges) for note in event.notes),
        graces=() if cut_in else event.graces,
        after=() if cut_out else event.after,
        additions=event.additions_between(onset, end),
    )


def _cut_note(note: Note, kept: Sequence[int], count: int, opens: bool, closes: bool) -> Note:
    """The note with the sources of the pieces kept; no tie leads over the passage's edges."""
    sources = note.sources
    if len(sources) == count:
        sources = tuple(sources[i] for i in kept)
    return replace(
        note,
        sources=sources,
        tie_in=note.tie_in and not opens,
        tie_out=note.tie_out and not closes,
    )


def concat(scores: Sequence[Score]) -> Score:
    """The scores one after another, in the parts of the first.

    All must have the same number of parts. Voices are joined by name; a part with fewer bars than
    the others rests to their end. Raises MusicError otherwise.
    """
    scores = [evened(score) for score in scores]
    head = scores[0]
    for score in scores[1:]:
        if len(score.parts) != len(head.parts):
            raise MusicError(
                f"{len(score.parts)} parts cannot follow {len(head.parts)}",
                legal="scores that are joined need the same parts",
            )
    parts = tuple(
        _concat_part([score.parts[i] for score in scores]) for i in range(len(head.parts))
    )
    return head.replace(parts=parts, excerpt=True)


def evened(score: Score) -> Score:
    """The score with whole-bar rests where a part has fewer bars than the others."""
    bars = score.bars
    if all(len(part.bars) == len(bars) for part in score.parts):
        return score
    parts = []
    for part in score.parts:
        missing = [
            bar.replace(left=None, right=None, remarks=(), filled=bar.length, divisions=None)
            for bar in bars[len(part.bars) :]
        ]
        silent = tuple(silence(bar) for bar in missing)
        name = part.voices[0].name if part.voices else "1"
        head = part.voices[0].events if part.voices else ()
        voices = (Voice(name, (*head, *silent)), *part.voices[1:])
        parts.append(part.replace(bars=(*part.bars, *missing), voices=voices))
    return score.replace(parts=tuple(parts))


def silence(bar: Bar) -> Event:
    """A bar's rest, written as one."""
    piece = Piece(bar.index, mpq(0), bar.length, "", whole_bar=True)
    return Event(bar.start, bar.length, bar.index, (Note("rest"),), (piece,))


def _concat_part(parts: Sequence[Part]) -> Part:
    bars: list[Bar] = []
    marks: list[Mark] = []
    events: dict[str, list[Event]] = {}
    for part in parts:
        shift, start = len(bars), bars[-1].end if bars else mpq(0)
        for bar in part.bars:
            metre_before = bars[-1].metre if bars else None
            bars.append(
                bar.replace(
                    index=bar.index + shift,
                    start=bar.start + start,
                    shows_metre=bar.shows_metre or bar.metre != metre_before,
                )
            )
        marks.extend(m.replace(onset=m.onset + start, bar=m.bar + shift) for m in part.marks)
        for voice in part.voices:
            events.setdefault(voice.name, []).extend(
                event.replace(
                    onset=event.onset + start,
                    bar=event.bar + shift,
                    pieces=_moved(event.pieces, shift),
                )
                for event in voice.events
            )
    voices = tuple(Voice(name, tuple(found)) for name, found in events.items())
    return parts[0].replace(bars=tuple(bars), voices=voices, marks=tuple(marks))


def _moved(pieces: tuple[Piece, ...], shift: int) -> tuple[Piece, ...]:
    return tuple(replace(piece, bar=piece.bar + shift) for piece in pieces) if shift else pieces
