"""Laying exercises out as one score: numbered, named, each with its own metre, tempo and system.

Conventions
-----------
A section is a score of one part, or of two lines for two hands. Bars are numbered from 1 in every
section, an upbeat 0, other implicit bars as ``X`` and the number of the bar they follow. What a
theme's page layout said (``print``) is dropped: :mod:`rhythm.practice.system_breaks` makes the
sheet's own.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

from gmpy2 import mpq

from rhythm.exact.metre import Metre
from rhythm.practice.stroke_scores import STROKE
from rhythm.score.concatenation import concat, says_signs, silence
from rhythm.score.model import Bar, Barline, Event, Mark, Metronome, Note, Part, Score, Voice

__all__ = [
    "DEFAULT_TEMPO",
    "alone",
    "lay_out",
    "lone_part",
    "numbered",
    "open_ended",
    "rhythm_only",
    "says_tempo",
    "unrepeated",
    "with_hidden_line",
]

_AFTER_ALL = 10**6  # order of a mark behind everything else in its bar
DEFAULT_TEMPO = 72  # beats per minute where the theme says nothing: slow enough to read


def lone_part(score: Score, part: int, voice: str | None = None) -> Score:
    """One part of a score, or one voice of it, as a score of its own.

    Where another part makes a bar longer than its metre, this one's lasts as long as its own music.
    """
    chosen = _in_its_own_bars(score.parts[part])
    if voice is not None:
        voices = tuple(each for each in chosen.voices if each.name == voice)
        chosen = chosen.replace(voices=voices)
    return score.replace(parts=(chosen,), excerpt=True)


def _in_its_own_bars(part: Part) -> Part:
    """The part with bars no longer than it fills, where that is what the metre asks for."""
    late: list[mpq] = []
    bars: list[Bar] = []
    cut = mpq(0)
    for bar in part.bars:
        late.append(cut)
        asked = bar.metre.length if bar.metre is not None else mpq(0)
        length = asked if bar.length > asked == bar.filled > 0 else bar.length
        start = bar.start - cut
        bars.append(bar if (start, length) == (bar.start, bar.length) else bar.replace(
            start=start, length=length, source=None))  # fmt: skip
        cut += bar.length - length
    if not cut:
        return part
    voices = tuple(
        Voice(voice.name, tuple(
            event.replace(onset=event.onset - late[event.bar]) for event in voice.events
            if event.onset - late[event.bar] < bars[event.bar].end
        ))
        for voice in part.voices
    )  # fmt: skip
    marks = tuple(
        mark.replace(onset=min(mark.onset - late[mark.bar], bars[mark.bar].end))
        for mark in part.marks
    )
    return part.replace(bars=tuple(bars), voices=voices, marks=marks)


def open_ended(score: Score) -> Score:
    """The score of one part without its final bar line: the sheet draws where each section ends.

    A device that adds a bar would carry the line into the middle. A repeat at the end stays.
    """
    (part,) = score.parts
    last = part.bars[-1]
    if last.right is None or last.right.repeat or last.right.ending:
        return score
    marks = tuple(
        mark
        for mark in part.marks
        if mark.kind != "barline" or mark.bar != last.index or mark.onset < last.end
    )
    bars = (*part.bars[:-1], last.replace(right=None))
    return score.replace(parts=(part.replace(bars=bars, marks=marks),))


def unrepeated(score: Score) -> Score:
    """The score without repeats and endings: a phrase is played as it stands."""
    parts = []
    for part in score.parts:
        marks = tuple(mark for mark in part.marks if mark.kind != "barline")
        bars = tuple(bar.replace(left=None, right=None) for bar in part.bars)
        parts.append(part.replace(bars=bars, marks=marks))
    return score.replace(parts=tuple(parts))


def rhythm_only(score: Score) -> Score:
    """The rhythm alone: every note a stroke on a one-line staff, without grace notes and signs.

    Tempo, words of ours, repeats and endings stay.
    """
    parts = []
    for part in score.parts:
        voices = []
        for voice in part.voices:
            events = tuple(
                _stroke(event) for event in voice.events if event.visible and event.duration > 0
            )
            if any(not event.is_rest for event in events):
                voices.append(Voice(voice.name, events))
        head = (
            Mark(mpq(0), 0, "clef", order=-3, text="percussion"),
            Mark(mpq(0), 0, "staff-details", order=-2, text="1"),
        )
        marks = tuple(mark for mark in part.marks if _stays(mark))
        parts.append(part.replace(voices=tuple(voices), marks=(*head, *marks)))
    return score.replace(parts=tuple(parts))


def _stroke(event: Event) -> Event:
    note = Note("rest") if event.is_rest else STROKE
    return event.replace(notes=(note,), graces=(), after=(), verses=())


def _stays(mark: Mark) -> bool:
    ours = mark.source is None and mark.kind in ("words", "heading", "print", "rehearsal")
    return ours or mark.kind == "barline" or mark.metronome is not None


Under = Callable[[Score], Score]
"""Puts a line under a section."""


def _nothing(section: Score) -> Score:
    return section


def lay_out(sections: Sequence[tuple[str, Score]], title: str, under: Under = _nothing) -> Score:
    """The sheet: every section under its heading, in order, in the part of the first.

    A section ends in a double bar, the last in a final one, except where a repeat or an ending
    closes it; its bars are numbered from 1. Where a section has a second line and others have
    none, those rest on it, unseen. ``under`` puts a line under each. Nothing of the source's own
    page (titles, credits) stays.
    """
    lines = max(len(section.parts) for _, section in sections)
    changes = lines > 1 or _changes_later(sections[0][1].parts[0])
    metres = {bar.metre is None for _, section in sections for bar in section.bars}
    dressed = []
    for number, (heading, section) in enumerate(sections):
        last = number == len(sections) - 1
        if len(metres) > 1:
            section = _openly_unmeasured(section)
        section = _with_signs(section, tuple(kind for kind, _, _ in _ASSUMED) if changes else _CLEF)
        section = under(_with_lines(section, lines))
        dressed.append(_dressed(section, heading, last))
    joined = concat(dressed)
    return joined.replace(title=title, relaid=True, source=None, path="")


def alone(heading: str, section: Score, under: Under = _nothing) -> Score:
    """One section as a score of its own, for a page that sets its heading itself.

    A lone part goes without its name: the page says whose sheet it is.
    """
    if len(section.parts) == 1:
        section = section.replace(parts=(section.parts[0].replace(name=""),))
    made = _dressed(under(_with_signs(section, _CLEF)), "", True)
    return made.replace(title=heading, relaid=True, source=None, excerpt=True, path="")


def _changes_later(part: Part) -> bool:
    """Whether key, clef or the like change after the head."""
    start = part.bars[0].start
    return any(
        mark.kind in ("key", "clef") or says_signs(mark)
        for mark in part.marks
        if mark.bar > 0 or mark.onset > start
    )


def _openly_unmeasured(section: Score) -> Score:
    """The section with bars that have no metre said to have none.

    Otherwise the signature of the section before would hold on.
    """
    open_ = Metre.parse("senza misura")
    parts = []
    for part in section.parts:
        bars: list[Bar] = []
        for bar in part.bars:
            if bar.metre is None:
                first = not bars or bars[-1].metre != open_
                bar = bar.replace(metre=open_, shows_metre=first, source=None)
            bars.append(bar)
        parts.append(part.replace(bars=tuple(bars)))
    return section.replace(parts=tuple(parts))


_ASSUMED = (("key", -5, "0"), ("clef", -4, "G2"), ("staff-details", -3, "5"))

_CLEF = ("clef",)


def _with_signs(section: Score, kinds: Sequence[str]) -> Score:
    """The section with the key, clef and lines that a reader assumes where its head says none.

    Otherwise what the section before ended in would hold on, or no clef be drawn at all.
    """
    parts = []
    for part in section.parts:
        start = part.bars[0].start
        opening = [mark for mark in part.marks if mark.bar == 0 and mark.onset == start]
        said = {word for mark in opening for word in (mark.kind, *mark.text.split())}
        added = [
            Mark(start, 0, kind, order=order, text=text)
            for kind, order, text in _ASSUMED
            if kind in kinds and kind not in said
        ]
        parts.append(part.replace(marks=(*added, *part.marks)))
    return section.replace(parts=tuple(parts))


def with_hidden_line(section: Score) -> Score:
    """The section with one line more, which rests and is not shown."""
    return _with_lines(section, len(section.parts) + 1)


def _with_lines(section: Score, count: int) -> Score:
    """The section in so many parts; the lines it does not use rest and are not shown."""
    parts = list(section.parts)
    while len(parts) < count:
        first = parts[0]
        bars = tuple(bar.replace(source=None, remarks=()) for bar in first.bars)
        silent = tuple(silence(bar).replace(hidden=True) for bar in bars)
        start = bars[0].start
        marks = (
            Mark(start, 0, "key", order=-5, text="0"),
            Mark(start, 0, "clef", order=-4, text="percussion"),
            Mark(start, 0, "staff-details", order=-3, text="1 hidden"),
            *(mark for mark in first.marks if mark.kind == "barline"),
        )
        parts.append(Part(_free_id(parts), "Second line", bars, (Voice("1", silent),), marks))
    return section.replace(parts=tuple(parts))


def _free_id(parts: Sequence[Part]) -> str:
    used = {part.id for part in parts}
    return next(name for i in range(1, len(used) + 2) if (name := f"P{i}") not in used)


def _dressed(section: Score, heading: str, last: bool) -> Score:
    parts = [
        _dressed_part(part, heading if number == 0 else "", last, number == 0)
        for number, part in enumerate(section.parts)
    ]
    return section.replace(parts=tuple(parts))


def _dressed_part(part: Part, heading: str, last: bool, leads: bool) -> Part:
    first, end = part.bars[0], part.bars[-1]
    closes = end.right is not None and bool(end.right.repeat or end.right.ending)

    def kept(mark: Mark) -> bool:
        if _is_far_off(mark):
            return False
        if mark.kind == "print":
            return mark.source is None  # a line that a task begins
        if mark.kind == "barline" and not closes:
            return not (mark.bar == end.index and mark.onset >= end.end)
        return True

    marks = [mark for mark in part.marks if kept(mark)]
    start = first.start
    if heading:
        marks.append(Mark(start, 0, "heading", order=-10, text=heading))
    if leads and not any(says_tempo(mark) and mark.bar == 0 for mark in part.marks):
        marks.append(_tempo(first))
    bars = [bar.replace(source=None) for bar in part.bars]
    bars[0] = bars[0].replace(shows_metre=True)
    if end.metre is not None and end.shift + end.length < end.metre.length:
        bars[-1] = bars[-1].replace(implicit=True)  # the upbeat completes it, not the next
    if not closes:
        style = "light-heavy" if last else "light-light"
        marks.append(Mark(end.end, end.index, "barline", order=_AFTER_ALL, text=style))
        bars[-1] = bars[-1].replace(right=Barline(style))
    ordered = tuple(sorted(marks, key=_written_order))
    return part.replace(bars=numbered(bars), marks=ordered)


_FAR = 400  # tenths of a staff space; words so far from their staff belong to another


def _is_far_off(mark: Mark) -> bool:
    """Whether words stand where the source has another staff: they would pile up on this one."""
    words = getattr(mark.source, "iter", None)
    return words is not None and any(
        (height := each.get("default-y", "0").partition(".")[0].lstrip("-")).isdecimal()
        and int(height) > _FAR
        for each in words("words")
    )


def says_tempo(mark: Mark) -> bool:
    """Whether a mark sets a tempo, to be seen or to be played."""
    return mark.metronome is not None or mark.tempo is not None


def _written_order(mark: Mark) -> tuple[int, mpq, int]:
    return mark.bar, mark.onset, mark.order


def _tempo(bar: Bar) -> Mark:
    metre = bar.metre if bar.metre is not None and bar.metre.length else Metre.parse("4/4")
    unit = max(metre.beats, key=metre.beats.count)
    mark = Metronome(unit, str(DEFAULT_TEMPO))
    return Mark(bar.start, 0, "metronome", order=-9, metronome=mark, tempo=4 * unit * DEFAULT_TEMPO)


def numbered(bars: Sequence[Bar]) -> tuple[Bar, ...]:
    """The bars of a section with their numbers on the sheet, from 1.

    An upbeat is 0, other bars that do not count X1.
    """
    number, made = 0, []
    for bar in bars:
        uncounted = bar.shift > 0 or (bar.implicit and bar.number.startswith("X"))
        number += not uncounted
        made.append(
            bar.replace(
                number=f"X{number}" if uncounted and number else str(number),
                implicit=uncounted or bar.implicit,
            )
        )
    return tuple(made)
