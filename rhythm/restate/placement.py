"""Where a restated passage goes: in its place, alone as its own score, or after the last bar."""

from __future__ import annotations

from collections.abc import Sequence

from gmpy2 import mpq

from rhythm.notate.score_notation import spell_score
from rhythm.restate.passage_repeats import with_whole_repeats
from rhythm.score.concatenation import concat, extract
from rhythm.score.model import Bar, Event, Mark, Note, Score, Voice
from rhythm.score.select import Bars
from rhythm.score.span_edges import cut_spans
from rhythm.score.whole_numbers import whole_number

__all__ = ["PLACES", "placed", "set_apart", "with_upbeat"]

PLACES = ("here", "alone", "append")


def set_apart(score: Score, chosen: Bars | None) -> tuple[Score, int, tuple[str, ...]]:
    """The passage as a score of its own, the place of its first bar, and what is to be said of it.

    None is the whole score. Raises RequestError for a passage with gaps.
    """
    run = Bars.run(0, len(score.bars) - 1) if chosen is None else chosen.required_run()
    passage = extract(score, run.first, run.last)
    cut = cut_spans(score, run.first, run.last)
    counts = [
        f"{count} {_SPANS[kind]}{'s' if count > 1 else ''}" for kind, count in sorted(cut.items())
    ]
    several = " and ".join(filter(None, (", ".join(counts[:-1]), *counts[-1:])))
    said = (f"{several} cut at the passage's edge",) if counts else ()
    return with_whole_repeats(score, passage, run.first), run.first, said


_SPANS = {
    "bracket": "bracket",
    "dashes": "dashed line",
    "glissando": "glissando",
    "octave-shift": "octave line",
    "pedal": "pedal mark",
    "slide": "slide",
    "slur": "slur",
    "wavy-line": "trill line",
    "wedge": "hairpin",
}


def with_upbeat(score: Score, chosen: Bars | None, place: str) -> tuple[Bars | None, str]:
    """The passage with the upbeat that leads into it where it returns, and what is to be said."""
    if chosen is None or place == "here" or not chosen.is_run or not chosen.first:
        return chosen, ""
    before, opening = score.bars[chosen.first - 1], score.bars[chosen.first]
    leads = before.metre is not None and before.shift + before.length == before.metre.length
    if not (before.shift and leads) or opening.shift:
        return chosen, ""
    if place == "append":
        return Bars.run(chosen.first - 1, chosen.last), f"bar {opening.number} with its upbeat"
    return chosen, f"the upbeat before bar {opening.number} left out"


def placed(source: Score, passage: Score, place: str) -> Score:
    """``passage``, set apart and restated, alone or appended to the ``source`` it came from."""
    return _closed(passage) if place == "alone" else _returned(source, passage)


def _returned(score: Score, passage: Score) -> Score:
    """The score, a double bar, and the passage after it under a rehearsal mark."""
    count = len(score.bars)
    joined = concat([_completed(_opened(score), passage.bars[0]), passage])
    letter = _next_letter(score)
    parts = []
    for i, part in enumerate(joined.parts):
        marks = list(part.marks)
        if i == 0:
            at = joined.bars[count].start
            marks.append(Mark(at, count, "rehearsal", order=-1, text=letter))
        parts.append(part.replace(marks=tuple(marks), bars=_renumbered(part.bars, count)))
    return _closed(joined.replace(parts=tuple(parts)))


def _completed(score: Score, opening: Bar) -> Score:
    """The score with rests in a short last bar, unless ``opening`` is the upbeat it waits for."""
    last = score.bars[-1]
    if last.metre is None or not last.metre.length or (last.right and last.right.repeat):
        return score
    missing = last.metre.length - last.shift - last.length
    if missing <= 0 or (opening.shift and opening.metre and _make_a_bar(last, opening)):
        return score
    parts = []
    for part in score.parts:
        bars = part.bars
        if len(bars) == len(score.bars):
            longer = bars[-1].replace(length=last.length + missing)
            if bars[-1].filled == last.length:
                longer = longer.replace(filled=longer.length)
            voices = tuple(_rested(voice, last, missing) for voice in part.voices)
            part = part.replace(bars=(*bars[:-1], longer), voices=voices)
        parts.append(part)
    return spell_score(score.replace(parts=tuple(parts)), bars={last.index}, keep=True)


def _make_a_bar(last: Bar, opening: Bar) -> bool:
    """Do a last bar and an upbeat make one, each in its own metre?"""
    assert last.metre is not None and opening.metre is not None
    return last.length / last.metre.length + opening.length / opening.metre.length == 1


def _rested(voice: Voice, last: Bar, missing: mpq) -> Voice:
    """The voice with a rest of ``missing`` after it, where it lasts to the end of the bar."""
    ending = [e for e in voice.events if e.end == last.end and e.duration and e.visible]
    if not ending:
        return voice
    staff = ending[-1].notes[0].staff
    rest = Event(last.end, missing, last.index, (Note("rest", staff=staff),))
    return Voice(voice.name, (*voice.events, rest))


def _closed(score: Score) -> Score:
    """The score with a final bar line, where it ends with none of its own."""
    parts = []
    for part in score.parts:
        last = part.bars[-1]
        if not any(mark.kind == "barline" and mark.onset == last.end for mark in part.marks):
            final = Mark(last.end, last.index, "barline", order=10**6, text="light-heavy")
            part = part.replace(marks=(*part.marks, final))
        parts.append(part)
    return score.replace(parts=tuple(parts))


def _renumbered(bars: Sequence[Bar], count: int) -> tuple[Bar, ...]:
    printed = (whole_number(bar.number) for bar in bars[:count])
    numbers = [number for number in printed if number is not None]
    following = max(numbers, default=count)
    made = list(bars[:count])
    for bar in bars[count:]:
        upbeat = bar.index == count and bar.shift > 0
        following += 0 if upbeat else 1
        number = f"X{following}" if upbeat else str(following)
        made.append(bar.replace(number=number, implicit=upbeat or bar.implicit))
    return tuple(made)


def _opened(score: Score) -> Score:
    """The score with its final bar line made a double bar, unless a repeat closes there."""
    parts = []
    for part in score.parts:
        last = part.bars[-1]
        if last.index + 1 < len(score.bars) or (last.right is not None and last.right.repeat):
            parts.append(part)
            continue
        marks = tuple(
            mark
            for mark in part.marks
            if not (mark.kind == "barline" and mark.bar == last.index and mark.onset > last.start)
        )
        double = Mark(last.end, last.index, "barline", order=10**6, text="light-light")
        bars = (*part.bars[:-1], last.replace(right=None))
        parts.append(part.replace(bars=bars, marks=(*marks, double)))
    return score.replace(parts=tuple(parts))


def _next_letter(score: Score) -> str:
    """The rehearsal letter after the latest one in the score; A where there is none."""
    used = {mark.text for part in score.parts for mark in part.marks if mark.text}
    letters = [chr(c) for c in range(ord("A"), ord("Z") + 1)]
    latest = max((letters.index(text) for text in used if text in letters), default=-1)
    return letters[latest + 1] if latest + 1 < len(letters) else "AA"
