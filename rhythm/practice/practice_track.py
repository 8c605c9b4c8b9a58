"""What one practises with: a bar of count-in, the beat under the rhythm, a ladder of tempi.

On the page a section opens with a bar of rest in which the beats are counted on a line of their
own, and that line goes on under the music. For the ear every exercise comes at each tempo of the
ladder, slow to fast, each time after a bar that is only clicked.

Conventions
-----------
An upbeat is counted in by a whole bar and by what comes before it in its own: ``1 2 3 4 1 2 3``,
then the upbeat on four. A ladder is written ``60% 80% 100%`` (of the music's own tempo) or
``60 72 84`` (beats a minute).
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from gmpy2 import mpq

from rhythm.exact.errors import RequestError
from rhythm.exact.metre import Metre
from rhythm.notate.score_notation import spell_score
from rhythm.practice.sheet_layout import DEFAULT_TEMPO, says_tempo
from rhythm.practice.stroke_scores import STROKE
from rhythm.score.concatenation import concat, says_signs, silence
from rhythm.score.model import Bar, Event, Mark, Note, Part, Score, Voice

__all__ = ["LADDER", "at_tempo", "read_ladder", "with_beats", "with_count_in"]

LADDER = "60% 80% 100%"
"""The usual ladder."""

_MOST_RUNGS = 8
_RUNG = re.compile(r"(\d{1,3}(?:\.\d)?)(%?)", re.ASCII)
_SIGNS = ("clef", "key", "transpose", "staff-details")

Rung = tuple[mpq, bool]
"""A number, and whether it is a share of the music's own tempo (1 is all of it)."""


def read_ladder(text: str) -> tuple[Rung, ...]:
    """The tempi that ``60% 80% 100%`` or ``60 72 84`` name, in that order.

    Raises RequestError where one is no tempo: 10% to 400%, or 20 to 300 beats a minute.
    """
    found: list[Rung] = []
    for word in text.replace(",", " ").split():
        rung = _RUNG.fullmatch(word)
        number = mpq(rung.group(1)) if rung else mpq(0)
        share = bool(rung and rung.group(2))
        low, high = (10, 400) if share else (20, 300)
        if not low <= number <= high:
            raise RequestError(
                f"{word!r} is no tempo of a ladder",
                legal="10% to 400% of the tempo, or 20 to 300 beats a minute",
            )
        found.append((number / 100 if share else number, share))
    if not 1 <= len(found) <= _MOST_RUNGS:
        raise RequestError(f"a ladder of {len(found)} tempi", legal=f"1 to {_MOST_RUNGS}: {LADDER}")
    return tuple(found)


def with_count_in(section: Score) -> Score:
    """The section after a bar of rest to count in; an upbeat stands in a bar filled with rests."""
    section = _filled_upbeat(section)
    first = section.bars[0]
    metre = _metre(first)
    bar = Bar(0, "X", mpq(0), metre.length, metre, True, True, filled=metre.length)
    parts = []
    rest = []
    for part in section.parts:
        start = part.bars[0].start
        opening = [mark for mark in part.marks if mark.bar == 0]
        moved = [mark for mark in opening if _opens(mark, start)]
        taken = {id(mark) for mark in moved}
        name = part.voices[0].name if part.voices else "1"
        marks = tuple(mark.replace(onset=mpq(0)) for mark in moved)
        parts.append(part.replace(bars=(bar,), voices=(Voice(name, (silence(bar),)),), marks=marks))
        left = tuple(mark for mark in part.marks if id(mark) not in taken or not says_tempo(mark))
        opened = (part.bars[0].replace(shows_metre=False, source=None), *part.bars[1:])
        rest.append(part.replace(bars=opened, marks=left))
    silent = section.replace(parts=tuple(parts))
    return concat([silent, section.replace(parts=tuple(rest))])


def _opens(mark: Mark, start: mpq) -> bool:
    """Whether a mark of the first bar holds for the bar of count-in too: clef, key, tempo."""
    signs = says_signs(mark) or mark.kind in _SIGNS
    return says_tempo(mark) or (signs and mark.onset == start)


def _metre(bar: Bar) -> Metre:
    return bar.metre if bar.metre is not None and bar.metre.length else Metre.parse("4/4")


def _filled_upbeat(section: Score) -> Score:
    """The section with rests before its upbeat, so that its first bar is a whole one."""
    shift = section.bars[0].shift
    if not shift:
        return section
    parts = []
    for part in section.parts:
        first = part.bars[0]
        later = tuple(bar.replace(start=bar.start + shift, source=None) for bar in part.bars[1:])
        whole = first.replace(
            length=first.length + shift, shift=mpq(0), filled=first.filled + shift, source=None,
            implicit=True, number="X",
        )  # fmt: skip
        voices = []
        for number, voice in enumerate(part.voices):
            events = [_later(event, shift) for event in voice.events]
            if number == 0:
                events.insert(0, Event(first.start, shift, 0, (Note("rest"),)))
            voices.append(Voice(voice.name, tuple(events)))
        start = first.start
        marks = tuple(
            mark
            if mark.bar == 0 and _opens(mark, start)
            else mark.replace(onset=mark.onset + shift)
            for mark in part.marks
        )
        parts.append(part.replace(bars=(whole, *later), voices=tuple(voices), marks=marks))
    return spell_score(section.replace(parts=tuple(parts)), keep=True, bars={0})


def _later(event: Event, shift: mpq) -> Event:
    pieces = tuple(
        piece.replace(offset=piece.offset + shift) if piece.bar == 0 else piece
        for piece in event.pieces
    )
    return event.replace(onset=event.onset + shift, pieces=pieces)


def with_beats(section: Score, counted: int) -> Score:
    """The section with the beat on a line under it; in the first ``counted`` bars it is numbered.

    A bar without a metre is beaten in quarters.
    """
    bars = tuple(
        bar.replace(source=None, remarks=(), left=None, right=bar.right) for bar in section.bars
    )
    events: list[Event] = []
    numbers: list[Mark] = []  # words, not a verse: engravers push a verse's last syllable aside
    for bar in bars:
        for number, (start, end) in enumerate(_beats(bar), start=1):
            events.append(Event(start, end - start, bar.index, (STROKE,)))
            if bar.index < counted:
                numbers.append(Mark(start, bar.index, "counted", text=str(number)))
    used = {part.id for part in section.parts}
    free = next(name for i in range(1, len(used) + 2) if (name := f"P{i}") not in used)
    start = bars[0].start
    lines = section.parts[0].marks
    marks = (
        Mark(start, 0, "key", order=-5, text="0"),
        Mark(start, 0, "clef", order=-4, text="percussion"),
        Mark(start, 0, "staff-details", order=-3, text="1"),
        *(mark for mark in lines if mark.kind == "barline"),
        *numbers,
    )
    beat = Part(free, "Beat", bars, (Voice("1", tuple(events)),), marks)
    under = spell_score(Score((beat,)))
    return section.replace(parts=(*section.parts, *under.parts))


def _beats(bar: Bar) -> list[tuple[mpq, mpq]]:
    metre = _metre(bar)
    found = []
    at = bar.start - bar.shift
    while at < bar.end:
        for node in metre.beat_nodes:
            low, high = max(at, bar.start), min(at + node.length, bar.end)
            if low < high:
                found.append((low, high))
            at += node.length
    return found


def at_tempo(section: Score, rung: Rung) -> Score:
    """The section at a tempo of the ladder; what changes later in it changes in proportion."""
    number, share = rung
    first = section.bars[0]
    beat = max(_metre(first).beats, key=_metre(first).beats.count)
    own = _opening_tempo(section)
    usual = own if own is not None else 4 * beat * DEFAULT_TEMPO
    factor = number if share else 4 * beat * number / usual
    parts = []
    for index, part in enumerate(section.parts):
        marks = []
        for mark in part.marks:
            said = _quarters(mark)
            if said is None:
                marks.append(mark)
            elif index == 0:
                onset = part.bars[0].start if mark.bar == 0 else mark.onset
                marks.append(Mark(onset, mark.bar, "sound", mark.order, tempo=said * factor))
        if index == 0 and own is None:
            start = part.bars[0].start
            marks.insert(0, Mark(start, 0, "sound", order=-9, tempo=usual * factor))
        parts.append(part.replace(marks=tuple(marks)))
    return section.replace(parts=tuple(parts))


def _quarters(mark: Mark) -> mpq | None:
    """The quarters a minute that a mark asks for."""
    if mark.tempo is not None:
        return mark.tempo
    if mark.metronome is None:
        return None
    found = re.search(r"\d{1,3}", mark.metronome.per_minute)
    return 4 * mark.metronome.unit * int(found.group()) if found else None


def _opening_tempo(section: Score) -> mpq | None:
    said: Sequence[mpq] = [
        quarters
        for part in section.parts[:1]
        for mark in part.marks
        if mark.bar == 0 and (quarters := _quarters(mark)) is not None
    ]
    return said[0] if said else None
