"""Tasks: music that asks something, and the key that answers it.

A task takes music that is whole and gives the pupil's version of it, in which something is to be
supplied or found, beside the key, which is the music itself. Every task of a kind has one right
answer; where the page alone allows another, the key says which.

========== =============================== ===========================================
kind       the pupil sees                  and writes
========== =============================== ===========================================
barlines   no bar lines                    the bar lines
signature  no time signature               the signature
fill       a gap in every bar              the one value that fills it
mistakes   one bar in four that is wrong   which, and what was meant
syllables  a line under every note         the counting
beams      a flag on every short note      the beams
rewrite    the music, and empty bars       the same rhythm in another metre
dictation  bar lines and the first note    what is played
heard      the music and its near misses   which of them is played
========== =============================== ===========================================

The two in which something is played are :mod:`rhythm.practice.listening`'s.

Conventions
-----------
What is drawn by lot (which value is missing, which bar is wrong) depends on the seed and the place
alone, by a hash: the same seed gives the same task on any machine. Scores have one part.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import cast

from gmpy2 import mpq

from rhythm.exact.errors import MusicError, RequestError
from rhythm.exact.metre import Metre
from rhythm.exact.values import name_value, symbol
from rhythm.practice.listening import dictation, heard
from rhythm.practice.sheet_layout import DEFAULT_TEMPO, numbered, says_tempo
from rhythm.practice.syllables import Counting
from rhythm.practice.task import Task, hand_of, lot, part_of, with_voice
from rhythm.score.concatenation import concat, silence
from rhythm.score.model import Addition, Bar, Barline, Event, Mark, Note, Part, Score, Voice

__all__ = ["EARS", "KINDS", "LINE", "TASKS", "Task", "set_task"]

LINE = "\u2014\u2014"
"""A line to write a syllable on."""


def set_task(
    kind: str, score: Score, *, seed: int = 0, system: str = "numbers", near: str = ""
) -> Task:
    """The task of this kind (:data:`TASKS`) that ``score``, of one part, makes.

    ``system`` is the way of counting that ``syllables`` asks for, ``near`` how near the near misses
    of what is heard are (:data:`~rhythm.practice.near_misses.NEARNESS`; "" for one of each). Raises
    RequestError for a kind there is not, MusicError where the music makes no such task.
    """
    if kind in EARS:
        return EARS[kind](score, seed, near)
    if kind not in TASKS:
        raise RequestError(f"there is no task {kind!r}", legal="one of " + ", ".join(KINDS))
    return TASKS[kind](score, seed, system)


def _with_bars(score: Score, bars: Sequence[Bar], kept: Callable[[Mark], bool]) -> Score:
    part = part_of(score)
    marks = tuple(mark for mark in part.marks if kept(mark))
    return score.replace(parts=(part.replace(bars=tuple(bars), marks=marks),))


# The kinds ----------------------------------------------------------------------------------


def _barlines(score: Score, seed: int, system: str) -> Task:
    bars = part_of(score).bars
    if len(bars) < 2:
        raise MusicError("one bar has no bar lines to draw", legal="music of two bars or more")
    blank = [bar.replace(left=None, right=Barline("none")) for bar in bars[:-1]]
    pupil = _with_bars(
        score,
        [*blank, bars[-1]],
        lambda mark: mark.kind != "barline" or mark.bar == len(bars) - 1,
    )
    lengths = " or ".join(_amount(bar.length) for bar in _runs(bars))
    return Task("Draw the bar lines.", pupil, score, f"Every bar lasts {lengths}.")


def _runs(bars: Sequence[Bar]) -> list[Bar]:
    """One bar for every length there is, in order."""
    return list({bar.length: bar for bar in bars if not bar.implicit and not bar.shift}.values())


def _signature(score: Score, seed: int, system: str) -> Task:
    bars = part_of(score).bars
    metres = list(dict.fromkeys(bar.metre for bar in bars))
    metre = metres[0]
    if len(metres) != 1 or metre is None or not metre.length:
        raise MusicError(
            "the metre changes, or there is none", legal="a passage in one metre: --bars"
        )
    open_ = Metre.parse("senza misura")
    blank = [
        bar.replace(metre=open_, shows_metre=bar.index == 0, shift=mpq(0), implicit=False)
        for bar in bars
    ]
    # A tempo mark would tell the beat; without one the sheet would set its own.
    quiet = Mark(bars[0].start, 0, "sound", order=-9, tempo=4 * metre.beats[0] * DEFAULT_TEMPO)
    pupil = _with_bars(score, blank, lambda mark: not says_tempo(mark))
    (part,) = pupil.parts
    pupil = pupil.replace(parts=(part.replace(marks=(quiet, *part.marks)),))
    others = [each for each in _SAME_LENGTH if Metre.parse(each).length == metre.length]
    numbered_as = "+".join(f"{beats}/{unit}" for beats, unit in metre.signature)
    others = [each for each in others if each not in (str(metre), numbered_as)]
    answer = str(metre) if numbered_as == str(metre) else f"{metre}, which is {numbered_as}"
    if others:
        last = "lasts" if len(others) == 1 else "last"
        alike = len(set(metre.beats)) == 1
        beats = ", ".join(map(name_value, metre.beats[:1] if alike else metre.beats))
        many = f"{len(metre.beats)} {beats} beats" if len(metre.beats) > 1 and alike else beats
        answer += f". {' and '.join(others)} {last} as long, but the beams and values show {many}"
    return Task("Write the time signature.", pupil, score, f"{answer}.")


_SAME_LENGTH = ("2/4", "3/4", "4/4", "2/2", "3/2", "6/8", "12/8", "6/4", "9/8", "4/8", "3/8")


def _fill(score: Score, seed: int, system: str) -> Task:
    voice, where = hand_of(score)
    events = list(voice.events)
    answers = []
    for bar in numbered(part_of(score).bars):
        if bar.shift or bar.metre is None or bar.length != bar.metre.length:
            continue  # nothing says how long an upbeat is
        places = [
            i for i, event in enumerate(events) if _may_go(event, bar) and event.end < bar.end
        ]
        inside = [e for e in voice.events if e.visible and e.bar == bar.index and e.duration > 0]
        if not places or len(inside) < 2 or sum(e.duration for e in inside) != bar.length:
            continue
        at = places[lot(seed, "fill", bar.index) % len(places)]
        _unbeam(events, at)
        gone = events[at]
        gap = Addition("words", "?")
        events[at] = Event(
            gone.onset, gone.duration, gone.bar, (Note("rest", staff=gone.notes[0].staff),),
            gone.pieces, hidden=True, additions=(gap,),
        )  # fmt: skip
        what = name_value(gone.duration) + (" rest" if gone.is_rest else "")
        answers.append(f"bar {bar.number}: {what}")
    if not answers:
        raise MusicError("no bar has a value that could be left out", legal="longer bars")
    part = part_of(score)
    marks = list(part.marks)
    plain = []
    for event in events:
        if any(each.kind == "words" for each in event.additions):
            marks.append(Mark(event.onset, event.bar, "words", order=_AMONG, text="?"))
            event = event.replace(additions=())
        plain.append(event)
    pupil = with_voice(score, Voice(voice.name, tuple(plain)))
    pupil = pupil.replace(
        parts=(part_of(pupil).replace(marks=tuple(sorted(marks, key=_written_order))),)
    )
    asks = f"One value is missing{where and ' ' + where} in every bar that has a question mark."
    asks += " Write it."
    return Task(asks, pupil, score, _sentence(answers))


def _sentence(answers: Sequence[str]) -> str:
    said = "; ".join(answers)
    return f"{said[0].upper()}{said[1:]}."


def _unbeam(events: list[Event], at: int) -> None:
    """Give flags to all that is beamed with this event: a beam to nothing would tell its value."""
    first = last = at
    while first and _beam(events[first]) not in ("", "begin"):
        first -= 1
    while last + 1 < len(events) and _beam(events[last]) not in ("", "end"):
        last += 1
    for i in range(first, last + 1):
        pieces = tuple(replace(piece, beams=()) for piece in events[i].pieces)
        events[i] = events[i].replace(pieces=pieces)


def _beam(event: Event) -> str:
    """What an event does to the beam of eighths, "" for an event without."""
    beams = event.pieces[-1].beams if event.pieces else ()
    return beams[0] if beams else ""


_AMONG = 500_000  # behind what stands at the head of a bar, before what closes it


def _written_order(mark: Mark) -> tuple[int, mpq, int]:
    return mark.bar, mark.onset, mark.order


def _may_go(event: Event, bar: Bar) -> bool:
    """Whether an event is one plain symbol of this bar that stands alone."""
    return (
        event.bar == bar.index
        and event.visible
        and event.duration > 0
        and len(event.pieces) == 1
        and not event.pieces[0].tuplets
        and not event.pieces[0].whole_bar
        and not event.graces
        and not any(note.tie_in or note.tie_out for note in event.notes)
        and symbol(event.duration) is not None
    )


def _mistakes(score: Score, seed: int, system: str) -> Task:
    # The first and the last bar stay right: short, they would be read as an upbeat and its
    # complement.
    voice, where = hand_of(score)
    bars = part_of(score).bars
    wrong: dict[int, tuple[int, mpq]] = {}
    for first in range(0, len(bars), 4):
        group = bars[first : first + 4]
        ways = [
            (bar.index, i, length)
            for bar in group
            for i, event in enumerate(voice.events)
            if 0 < bar.index < len(bars) - 1 and not bar.implicit and _may_go(event, bar)
            for length in _slips(event.duration)
        ]
        if ways and (len(group) == 4 or not wrong):
            index, at, length = ways[lot(seed, "mistakes", first) % len(ways)]
            wrong[index] = (at, length)
    if not wrong:
        raise MusicError(
            "no bar inside has a value that could be wrong", legal="three bars or more"
        )
    pupil = _with_slips(score, voice, wrong)
    answers = []
    for index, (at, length) in sorted(wrong.items()):
        meant, rest = voice.events[at].duration, " rest" * voice.events[at].is_rest
        gap = abs(meant - length)
        word = "short" if length < meant else "too long"
        answers.append(
            f"bar {numbered(bars)[index].number} is {_amount(gap)} {word}:"
            f" {_amount(meant)}{rest} was meant where {_amount(length)}{rest} stands"
        )
    count = "One bar is" if len(wrong) == 1 else f"{len(wrong)} bars are"
    return Task(
        f"{count} wrong by one value{where and ', ' + where}. Find and correct.",
        pupil,
        score,
        _sentence(answers),
    )


def _amount(length: mpq) -> str:
    name = name_value(length)
    return name if name[0].isdigit() else f"an {name}" if name[0] in "aeio" else f"a {name}"


def _slips(length: mpq) -> list[mpq]:
    """What is easily written instead: half as long, twice as long, a dot too many or too few."""
    found = [length / 2, length * 2, length * 3 / 2, length * 2 / 3]
    return [each for each in found if symbol(each) is not None and each >= mpq(1, 32)]


def _with_slips(score: Score, voice: Voice, wrong: dict[int, tuple[int, mpq]]) -> Score:
    """The score with those events written at another length; what follows them moves."""
    part = part_of(score)
    moved = mpq(0)
    late: list[mpq] = []
    bars = []
    busy = {
        event.bar for each in part.voices if each.name != voice.name for event in each.events
        if event.visible
    }  # fmt: skip
    for bar in part.bars:
        late.append(moved)
        change = mpq(0)
        if bar.index in wrong:
            at, length = wrong[bar.index]
            change = length - voice.events[at].duration
            if bar.index in busy:
                change = max(change, mpq(0))  # another voice fills the bar as it was
        made = bar.replace(start=bar.start + moved, length=bar.length + change)
        bars.append(made.replace(filled=made.length))
        moved += change
    changed = dict(wrong.values())
    voices = []
    for each in part.voices:
        events = []
        for i, event in enumerate(each.events):
            shift = late[event.bar]
            slip = wrong.get(event.bar)
            if slip is not None and each.name == voice.name and i > slip[0]:
                shift += slip[1] - voice.events[slip[0]].duration
            inside = shift - late[event.bar]
            pieces = tuple(
                replace(piece, offset=piece.offset + inside) if piece.bar == event.bar else piece
                for piece in event.pieces
            )
            made_event = event.replace(onset=event.onset + shift, pieces=pieces)
            if each.name == voice.name and i in changed:
                made_event = _rewritten(made_event, changed[i])
            events.append(made_event)
        voices.append(Voice(each.name, tuple(events)))
    marks = tuple(mark.replace(onset=_shifted(mark, part, bars, late)) for mark in part.marks)
    changed_part = part.replace(bars=tuple(bars), voices=tuple(voices), marks=marks)
    return score.replace(parts=(changed_part,))


def _shifted(mark: Mark, part: Part, bars: Sequence[Bar], late: Sequence[mpq]) -> mpq:
    """A mark moves with its bar; one at the bar's end with the end."""
    old = part.bars[mark.bar]
    if mark.onset >= old.end:
        return bars[mark.bar].end
    return min(mark.onset + late[mark.bar], bars[mark.bar].end)


def _rewritten(event: Event, length: mpq) -> Event:
    written = symbol(length)
    assert written is not None
    (piece,) = event.pieces
    beams = piece.beams if written[0] == piece.type else ()
    changed = replace(
        piece, duration=length, type=written[0], dots=written[1], beams=beams, ticks=None
    )
    return event.replace(duration=length, pieces=(changed,))


def _syllables(score: Score, seed: int, system: str) -> Task:
    from rhythm.practice.counting import count

    counted = count(score, cast(Counting, system))
    numbers = {
        (part.id, voice.name, i): event.additions
        for part in counted.parts
        for voice in part.voices
        for i, event in enumerate(voice.events)
    }
    parts = []
    for part in score.parts:
        voices = []
        for voice in part.voices:
            events = []
            for i, event in enumerate(voice.events):
                said = numbers[(part.id, voice.name, i)]
                lines = tuple(replace(each, text=LINE) for each in said if each.kind == "lyric")
                kept = tuple(each for each in event.additions if each.kind != "lyric")
                events.append(event.replace(additions=(*kept, *lines)) if lines else event)
            voices.append(Voice(voice.name, tuple(events)))
        parts.append(part.replace(voices=tuple(voices)))
    pupil = score.replace(parts=tuple(parts))
    return Task(f"Write the counting ({system}) under the notes.", pupil, score,
                "The key has the syllables.")  # fmt: skip


def _beams(score: Score, seed: int, system: str) -> Task:
    part = part_of(score)
    beamed = 0
    voices = []
    for voice in part.voices:
        events = []
        for event in voice.events:
            pieces = tuple(replace(piece, beams=()) for piece in event.pieces)
            beamed += any(piece.beams for piece in event.pieces)
            events.append(event.replace(pieces=pieces))
        voices.append(Voice(voice.name, tuple(events)))
    if not beamed:
        raise MusicError("nothing is beamed", legal="music with eighths or shorter notes")
    pupil = score.replace(parts=(part.replace(voices=tuple(voices)),))
    metres = ", ".join(dict.fromkeys(str(bar.metre) for bar in part.bars if bar.metre))
    return Task("Write the beams that the metre asks for.", pupil, score,
                f"Beamed by the beats of {metres}.")  # fmt: skip


def _rewrite(score: Score, seed: int, system: str) -> Task:
    from rhythm.rebar.rebar import rebar
    from rhythm.restate.restate import restated

    bars = part_of(score).bars
    metre = bars[0].metre
    found = _ELSEWHERE.get(str(metre)) if metre is not None else None
    if found is None or any(bar.metre != metre for bar in bars):
        raise MusicError(
            "there is no other metre that the same rhythm is usually written in",
            legal="music in " + ", ".join(_ELSEWHERE),
        )
    other, word = found
    key = rebar(score, other) if word == "values" else restated(score, other, fit="exact").score
    empty = part_of(key)
    blank = tuple(silence(bar).replace(hidden=True) for bar in empty.bars)
    staves = Voice(empty.voices[0].name, blank)
    marks = tuple(mark for mark in empty.marks if mark.kind in ("clef", "key", "barline"))
    answer_lines = _on_a_new_line(
        key.replace(parts=(empty.replace(voices=(staves,), marks=marks),))
    )
    pupil, key = concat([score, answer_lines]), concat([score, _on_a_new_line(key)])
    tuplets = any(piece.tuplets for _, _, event in key.events() for piece in event.pieces)
    in_triplets = " in triplets" if tuplets else ""
    return Task(f"Write the same rhythm in {other}{in_triplets}, in the empty bars.", pupil,
                key, f"The key has it in {other}.")  # fmt: skip


def _on_a_new_line(score: Score) -> Score:
    part = part_of(score)
    broken = Mark(part.bars[0].start, 0, "print", order=-20, text="new-system")
    return score.replace(parts=(part.replace(marks=(broken, *part.marks)),))


_ELSEWHERE = {
    "6/8": ("3/4", "values"),
    "3/4": ("6/8", "values"),
    "12/8": ("4/4", "triplets"),
    "9/8": ("3/4", "triplets"),
}

EARS: dict[str, Callable[[Score, int, str], Task]] = {"dictation": dictation, "heard": heard}
"""The kinds in which something is played, by name."""

TASKS: dict[str, Callable[[Score, int, str], Task]] = {
    "barlines": _barlines,
    "signature": _signature,
    "fill": _fill,
    "mistakes": _mistakes,
    "syllables": _syllables,
    "beams": _beams,
    "rewrite": _rewrite,
}
"""The kinds that are only read, by name."""

KINDS = (*TASKS, *EARS)
"""Every kind of task there is."""
