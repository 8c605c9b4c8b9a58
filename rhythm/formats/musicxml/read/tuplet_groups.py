"""Which notes of a bar make one tuplet.

The time-modification of a note says its ratio, not where its group begins and ends. Where the
source marks groups with ``tuplet`` elements that make sense they are followed; otherwise a run of
notes of one ratio is cut where it adds up to a whole number of units, at a beat if there is one.
The groups are hints: they decide how music is written, never when it sounds.
"""

from __future__ import annotations

from collections.abc import Sequence

from gmpy2 import mpq
from lxml import etree

from rhythm.exact.metre import Metre
from rhythm.exact.values import NOTE_TYPES, is_power_of_two
from rhythm.formats.musicxml.read.note_reader import Written, decimal
from rhythm.score.model import Tuplet

__all__ = ["group", "unmatched"]

_QUARTER = mpq(1, 4)


def group(notes: Sequence[Written], metre: Metre | None) -> None:
    """Set ``tuplets`` of the notes of one voice in one bar (chord heads and rests, in order)."""
    start: int | None = None
    for index, note in enumerate(notes):
        inside = _ratio(note) != (1, 1)
        if (
            inside
            and start is not None
            and notes[index - 1].offset + notes[index - 1].duration != note.offset
        ):
            _run(notes[start:index], metre)
            start = index
        elif inside and start is None:
            start = index
        elif not inside and start is not None:
            _run(notes[start:index], metre)
            start = None
    if start is not None:
        _run(notes[start:], metre)


def unmatched(
    notes: Sequence[Written], before: Sequence[Written]
) -> tuple[list[Written], list[Written]]:
    """Notes whose ``tuplet`` start has no stop, or whose stop no start, in one voice of a bar.

    ``before`` are the notes with open starts in the bar before; the first list is those of them
    that stay open and the stops that meet nothing, the second the starts still open.
    """
    opened = {(mark.get("number") or "1"): note for note in before for mark in _of(note, "start")}
    lost: list[Written] = []
    fresh: dict[str, Written] = {}
    for note in notes:
        for mark in _of(note, "start"):
            fresh[mark.get("number") or "1"] = note
        for mark in _of(note, "stop"):
            number = mark.get("number") or "1"
            if fresh.pop(number, None) is None and opened.pop(number, None) is None:
                lost.append(note)
    return [*opened.values(), *lost], list(fresh.values())


def _of(note: Written, type: str) -> list[etree._Element]:
    return [mark for mark in note.tuplet_marks or () if mark.get("type") == type]


def _ratio(note: Written) -> tuple[int, int]:
    """The ratio without the 2:1 of a double tremolo."""
    actual, normal = note.ratio
    if note.tremolo and actual % 2 == 0:
        return (actual // 2, normal) if (actual // 2, normal) != (normal, normal) else (1, 1)
    return note.ratio


def _run(notes: Sequence[Written], metre: Metre | None) -> None:
    if not _marked(notes):
        _unmarked(notes, metre)


def _marked(notes: Sequence[Written]) -> bool:
    """Follow the ``tuplet`` elements; False, with nothing done, where they make no sense."""
    spans: list[tuple[int, int, etree._Element]] = []
    open_: list[tuple[str, int, etree._Element]] = []
    for index, note in enumerate(notes):
        marks = note.tuplet_marks or ()
        for mark in marks:
            if mark.get("type") == "start":
                open_.append((mark.get("number") or "1", index, mark))
        for mark in marks:
            if mark.get("type") != "stop":
                continue
            number = mark.get("number") or "1"
            found = [i for i, item in enumerate(open_) if item[0] == number]
            if not found:
                return False
            _, begin, element = open_.pop(found[-1])
            spans.append((begin, index, element))
    if open_ or not spans:
        return False
    spans.sort(key=lambda span: (span[0], -span[1]))
    return _nest(notes, spans)


def _nest(notes: Sequence[Written], spans: list[tuple[int, int, etree._Element]]) -> bool:
    around: list[list[int]] = [[] for _ in notes]
    for which, (begin, end, _) in enumerate(spans):
        for index in range(begin, end + 1):
            if around[index] and spans[around[index][-1]][1] < end:
                return False
            around[index].append(which)
    if not all(around):
        return False
    made: list[Tuplet] = []
    factors: list[mpq] = []
    for which, (begin, end, element) in enumerate(spans):
        depth = around[begin].index(which)
        outer = factors[around[begin][depth - 1]] if depth else mpq(1)
        own = [notes[i] for i in range(begin, end + 1) if around[i][-1] == which]
        ratio = _own_ratio(element, own, outer)
        if ratio is None:
            return False
        factor = outer * ratio[1] / ratio[0]
        if any(mpq(_ratio(n)[1], _ratio(n)[0]) != factor for n in own):
            return False
        factors.append(factor)
        made.append(_tuplet(notes[begin : end + 1], ratio, outer, depth + 1, element))
    for index, note in enumerate(notes):
        note.tuplets = tuple(made[which] for which in around[index])
    return True


def _own_ratio(
    element: etree._Element, own: Sequence[Written], outer: mpq
) -> tuple[int, int] | None:
    """The ratio of a group without those around it."""
    actual = decimal(element.findtext("tuplet-actual/tuplet-number") or "")
    normal = decimal(element.findtext("tuplet-normal/tuplet-number") or "")
    shown = (int(actual), int(normal)) if actual and normal else None
    if not own:
        return shown
    ratio = _ratio(own[0])
    if outer == 1:
        return ratio
    factor = mpq(ratio[1], ratio[0]) / outer
    if shown and mpq(shown[1], shown[0]) == factor:
        return shown
    return (int(factor.denominator), int(factor.numerator))


def _tuplet(
    notes: Sequence[Written],
    ratio: tuple[int, int],
    outer: mpq,
    number: int,
    element: etree._Element | None,
) -> Tuplet:
    offset = notes[0].offset
    length = notes[-1].offset + notes[-1].duration - offset
    bracket = element is not None and element.get("bracket") != "no"
    unit = length / outer / ratio[1]
    if unit.numerator != 1 or not is_power_of_two(int(unit.denominator)):
        unit = _shown(element) or _stated(notes, ratio) or _least(notes)
    return Tuplet(ratio[0], ratio[1], unit, offset, length, number, bracket)


def _shown(element: etree._Element | None) -> mpq | None:
    """The unit that a bracket says it is counted in."""
    name = element.findtext("tuplet-normal/tuplet-type") if element is not None else None
    return NOTE_TYPES.get((name or "").strip())


def _stated(notes: Sequence[Written], ratio: tuple[int, int]) -> mpq | None:
    """The unit that the first note says it is counted in, where the notes are in no other ratio."""
    if any(_ratio(note) != ratio for note in notes):
        return None
    name = notes[0].element.findtext("time-modification/normal-type") or ""
    return NOTE_TYPES.get(name.strip())


def _least(notes: Sequence[Written]) -> mpq:
    """The shortest plain value among the notes."""
    return min((NOTE_TYPES[note.type] for note in notes if note.type), default=_QUARTER)


def _unmarked(notes: Sequence[Written], metre: Metre | None) -> None:
    begin = 0
    while begin < len(notes):
        end = begin + 1
        while end < len(notes) and _ratio(notes[end]) == _ratio(notes[begin]):
            end += 1
        while begin < end:
            cut = _cut(notes[begin:end], metre)
            _give(notes[begin : begin + cut])
            begin += cut


def _give(notes: Sequence[Written]) -> None:
    made = (_tuplet(notes, _ratio(notes[0]), mpq(1), 1, None),)
    for note in notes:
        note.tuplets = made


def _cut(notes: Sequence[Written], metre: Metre | None) -> int:
    """How many of these notes, all of one ratio, make the first group."""
    normal = _ratio(notes[0])[1]
    beats = _beat_ends(metre)
    least = mpq(8)
    first = 0
    start = notes[0].offset
    for count, note in enumerate(notes, 1):
        if note.type:
            least = min(least, NOTE_TYPES[note.type])
        end = note.offset + note.duration
        unit = (end - start) / normal
        if unit.numerator == 1 and is_power_of_two(int(unit.denominator)) and unit >= least:
            if end in beats:
                return count
            first = first or count
    return first or len(notes)


def _beat_ends(metre: Metre | None) -> frozenset[mpq]:
    if metre is None or metre.senza:
        return frozenset(mpq(n, 4) for n in range(1, 65))
    ends = []
    at = mpq(0)
    for beat in metre.beats:
        at += beat
        ends.append(at)
    return frozenset(ends)
