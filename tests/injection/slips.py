"""The slips: each takes a page and a source of chance, spoils one thing, and says what it spoiled.

A slip returns None where the page has no place for it. Lengths here are in quarters.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from functools import partial
from random import Random

from gmpy2 import mpq
from lxml import etree

from tests.injection.pages import QUARTERS, TYPES, Chord, Measure, Page

__all__ = ["KINDS", "Slip"]


@dataclass
class Slip:
    """What was spoiled.

    ``bars`` are the printed numbers that a finding may name, ``part`` the part's index (None: all
    of them), ``voices`` those that a finding may name (empty: any). ``fault`` tells a fault from a
    remark, ``unique`` that the file still says how it was, ``seen`` that anything at all tells of
    it: a note lost from a second voice that came in for a beat leaves music.
    """

    bars: set[str]
    part: int | None = None
    voices: set[str] = field(default_factory=set)
    fault: bool = True
    unique: bool = False
    seen: bool = True
    empty_bar: bool = False
    kind: str = ""


Maker = Callable[[Page, Random], Slip | None]
KINDS: dict[str, Maker] = {}


def _kind(name: str) -> Callable[[Maker], Maker]:
    def enter(maker: Maker) -> Maker:
        def named(page: Page, chance: Random) -> Slip | None:
            slip = maker(page, chance)
            return replace(slip, kind=name) if slip is not None else None

        KINDS[name] = named
        return maker

    return enter


def _with_backup_or_not(name: str, maker: Callable[[bool], Maker]) -> None:
    """Enter it twice: alone, and with the backup behind the voice made to match."""
    _kind(name)(maker(False))
    _kind(f"{name}, backup too")(maker(True))


def _inner(page: Page, index: int) -> bool:
    """A bar in the middle of the music: whole in all parts, as are its neighbours, no breaks."""
    if not 0 < index < len(page.parts[0]) - 1:
        return False
    for at in (index - 1, index, index + 1):
        for measure in page.column(at):
            if max((each.end for each in measure.chords), default=measure.length) != measure.length:
                return False
    for at in (index - 1, index):
        for measure in page.column(at):
            if any(each.get("location") != "left" for each in measure.element.findall("barline")):
                return False
    return not any(
        m.element.find("barline") is not None or m.element.find("attributes/time") is not None
        for at in (index, index + 1)
        for m in page.column(at)
    )


def _full(page: Page, chance: Random, note: Callable[[Measure, Chord], bool]) -> tuple | None:
    """A chord in a voice that fills its bar, somewhere in the middle of the music."""
    places = [
        (which, measure)
        for which, measure in page
        if measure.element.find("note") is not None and _inner(page, measure.index)
    ]
    chance.shuffle(places)
    for which, measure in places[:60]:
        chords = [
            each
            for voice in measure.voices
            if measure.is_full(voice)
            for each in measure.voice(voice)
            if not _in_tremolo(each) and note(measure, each)
        ]
        if chords:
            return which, measure, chance.choice(chords)
    return None


def _in_tremolo(chord: Chord) -> bool:
    return chord.head.find("notations/ornaments/tremolo") is not None


def _plain(measure: Measure, chord: Chord) -> bool:
    return bool(chord.type in TYPES) and chord.ratio is None and not chord.is_rest


def _seen_as_lost(measure: Measure, chord: Chord, amount: mpq, matched: bool) -> bool:
    """Does the loss of ``amount`` from this full voice show?

    It shows where the backup behind it then leads before the bar, where the voice has its staff
    to itself, and where the hole is shorter than a quarter. A longer hole under another voice of
    the staff is a voice that comes in for a while.
    """
    if not matched and measure.backup_after(chord) is not None:
        return True
    return measure.is_alone(chord.voice) or amount < 1


def _shift_backup(measure: Measure, chord: Chord, ticks: int) -> None:
    """Let the backup behind a stream go back by so many ticks less."""
    backup = measure.backup_after(chord)
    if backup is not None:
        left = int(backup.findtext("duration")) - ticks
        if left > 0:
            backup.find("duration").text = str(left)
        else:
            measure.element.remove(backup)


def _slip(which: int, measure: Measure, chord: Chord, **more) -> Slip:
    return Slip({measure.number}, which, {chord.voice}, **more)


def _retype(chord: Chord, type: str) -> None:
    for each in chord.elements:
        each.find("type").text = type


def _other_value(by: int, matched: bool) -> Maker:
    def make(page: Page, chance: Random) -> Slip | None:
        def fits(measure: Measure, chord: Chord) -> bool:
            at = TYPES.index(chord.type) - by if _plain(measure, chord) else -1
            return 0 <= at < len(TYPES) and (by > 0 or chord.ticks % 2 == 0)

        found = _full(page, chance, fits)
        if found is None:
            return None
        which, measure, chord = found
        old = chord.ticks
        new = old * 2 if by > 0 else old // 2
        amount = abs(mpq(new - old, measure.divisions))
        seen = by > 0 or _seen_as_lost(measure, chord, amount, matched)
        if matched:
            _shift_backup(measure, chord, old - new)
        chord.set_ticks(mpq(new))
        _retype(chord, TYPES[TYPES.index(chord.type) - by])
        return _slip(which, measure, chord, seen=seen)

    return make


_with_backup_or_not("value shorter", partial(_other_value, -1))
_with_backup_or_not("value longer", partial(_other_value, 1))


@_kind("type only")
def _type_only(page: Page, chance: Random) -> Slip | None:
    found = _full(page, chance, _plain)
    if found is None:
        return None
    which, measure, chord = found
    others = [each for each in ("half", "quarter", "eighth", "16th") if each != chord.type]
    _retype(chord, chance.choice(others))
    return _slip(which, measure, chord, unique=True)


@_kind("ticks only")
def _ticks_only(page: Page, chance: Random) -> Slip | None:
    found = _full(page, chance, lambda m, c: _plain(m, c) and c.ticks % 2 == 0)
    if found is None:
        return None
    which, measure, chord = found
    chord.set_ticks(mpq(chance.choice([chord.ticks // 2, chord.ticks * 2])))
    return _slip(which, measure, chord, unique=True)


def _lost(fits: Callable[[Measure, Chord], bool], matched: bool) -> Maker:
    def make(page: Page, chance: Random) -> Slip | None:
        found = _full(page, chance, fits)
        if found is None:
            return None
        which, measure, chord = found
        seen = _seen_as_lost(measure, chord, chord.duration, matched)
        if matched:
            _shift_backup(measure, chord, chord.ticks)
        for each in chord.elements:
            measure.element.remove(each)
        return _slip(which, measure, chord, seen=seen)

    return make


def _plain_among_others(rest: bool, measure: Measure, chord: Chord) -> bool:
    some = len(measure.voice(chord.voice)) > 1
    return some and chord.is_rest == rest and chord.ratio is None


_with_backup_or_not("note deleted", partial(_lost, partial(_plain_among_others, False)))
_with_backup_or_not("rest deleted", partial(_lost, partial(_plain_among_others, True)))


def _undotted(ticks_too: bool) -> Maker:
    def make(page: Page, chance: Random) -> Slip | None:
        def fits(measure: Measure, chord: Chord) -> bool:
            dots = len(chord.head.findall("dot"))
            return _plain(measure, chord) and dots == 1 and chord.ticks % 3 == 0

        found = _full(page, chance, fits)
        if found is None:
            return None
        which, measure, chord = found
        for each in chord.elements:
            for dot in each.findall("dot"):
                each.remove(dot)
        seen = True
        if ticks_too:
            seen = _seen_as_lost(measure, chord, chord.duration / 3, True)
            _shift_backup(measure, chord, chord.ticks // 3)
            chord.set_ticks(mpq(2 * chord.ticks, 3))
        return _slip(which, measure, chord, seen=seen, unique=not ticks_too)

    return make


_kind("dot lost on the page")(_undotted(False))
_kind("dot lost")(_undotted(True))


def _in_tuplet(measure: Measure, chord: Chord) -> bool:
    return chord.ratio is not None and bool(chord.type in TYPES)


def _in_even_tuplet(measure: Measure, chord: Chord) -> bool:
    run = [each for each in measure.voice(chord.voice) if each.ratio is not None]
    return _in_tuplet(measure, chord) and len({each.duration for each in run}) == 1


_with_backup_or_not("tuplet member lost", partial(_lost, _in_even_tuplet))


@_kind("ratio lost on the page")
def _ratio_lost(page: Page, chance: Random) -> Slip | None:
    found = _full(page, chance, _in_tuplet)
    if found is None:
        return None
    which, measure, chord = found
    for each in chord.elements:
        each.remove(each.find("time-modification"))
    return _slip(which, measure, chord, unique=True)


@_kind("ratio wrong on the page")
def _ratio_wrong(page: Page, chance: Random) -> Slip | None:
    found = _full(page, chance, _in_tuplet)
    if found is None:
        return None
    which, measure, chord = found
    actual, normal = chance.choice([(5, 4), (7, 4), (4, 3), (5, 2)])
    for each in chord.elements:
        each.find("time-modification/actual-notes").text = str(actual)
        each.find("time-modification/normal-notes").text = str(normal)
    return _slip(which, measure, chord, unique=True)


@_kind("ratio lost")
def _ratio_lost_in_time(page: Page, chance: Random) -> Slip | None:
    """A tuplet note written plain, its duration too: its bar is too long by what that adds."""

    def fits(measure: Measure, chord: Chord) -> bool:
        plain = _plain_ticks(measure, chord)
        return _in_tuplet(measure, chord) and plain.denominator == 1 and plain > chord.ticks

    found = _full(page, chance, fits)
    if found is None:
        return None
    which, measure, chord = found
    chord.set_ticks(_plain_ticks(measure, chord))
    for each in chord.elements:
        each.remove(each.find("time-modification"))
    return _slip(which, measure, chord)


def _plain_ticks(measure: Measure, chord: Chord) -> mpq:
    """What a note's type and dots last, in divisions."""
    value, dots = mpq(QUARTERS.get(chord.type, 0)), len(chord.head.findall("dot"))
    return measure.divisions * value * (2 - mpq(1, 2**dots))


def _signature(everywhere: bool) -> Maker:
    def make(page: Page, chance: Random) -> Slip | None:
        starts = [
            at
            for at, measure in enumerate(page.parts[0])
            if all(
                m.element.find("attributes/time/beats") is not None
                and len(m.element.findall("attributes/time/beats")) == 1
                for m in page.column(at)
            )
        ]
        chance.shuffle(starts)
        for at in starts:
            later = [other for other in starts if other > at]
            until = min(later, default=len(page.parts[0]))
            if until - at < 6:
                continue
            chosen = range(len(page.parts)) if everywhere else [chance.randrange(len(page.parts))]
            if not everywhere and len(page.parts) == 1:
                return None
            beats = page.parts[0][at].element.find("attributes/time/beats").text
            if not beats.isdigit():
                continue
            new = chance.choice(
                [n for n in (int(beats) - 1, int(beats) + 1, int(beats) + 2) if n > 1]
            )
            for which in chosen:
                page.parts[which][at].element.find("attributes/time/beats").text = str(new)
            bars = {page.parts[0][at].number}
            if at == 0:
                bars.add(page.parts[0][1].number)
            return Slip(bars, None if everywhere else chosen[0], unique=True)
        return None

    return make


_kind("signature wrong")(_signature(True))
_kind("signature wrong in one part")(_signature(False))


def _renumber(measures: list[Measure], start: int, by: int) -> None:
    for measure in measures[start:]:
        if measure.number.isdigit():
            measure.element.set("number", str(int(measure.number) + by))


def _line_lost(everywhere: bool) -> Maker:
    def make(page: Page, chance: Random) -> Slip | None:
        if not everywhere and len(page.parts) == 1:
            return None
        places = [
            at
            for at in range(1, len(page.parts[0]) - 2)
            if _inner(page, at) and _inner(page, at + 1)
            and all(
                m.chords and m.element.find("attributes") is None and m.end <= m.length
                for m in page.column(at + 1)
            )
            and not all(c.is_rest for m in page.column(at + 1) for c in m.chords)
        ]  # fmt: skip
        if not places:
            return None
        at = chance.choice(places)
        chosen = range(len(page.parts)) if everywhere else [chance.randrange(len(page.parts))]
        numbers = {page.parts[0][at].number}
        again = chance.random() < 0.5
        for which in chosen:
            measure, after = page.parts[which][at], page.parts[which][at + 1]
            if any(
                c.is_rest and len(m.voice(c.voice)) == 1 for m in (measure, after) for c in m.chords
            ):
                return None  # fmt: skip
            if measure.end < measure.length:
                forward = etree.SubElement(measure.element, "forward")
                left = (measure.length - measure.end) * measure.divisions
                etree.SubElement(forward, "duration").text = str(left)
            for child in list(after.element):
                if child.tag not in ("print", "barline"):
                    measure.element.append(child)
            after.element.getparent().remove(after.element)
            if again:
                _renumber(page.parts[which], at + 2, -1)
        return Slip(numbers, None if everywhere else chosen[0], unique=True)

    return make


_kind("bar line lost")(_line_lost(True))
_kind("bar line lost in one part")(_line_lost(False))


def _line_added(everywhere: bool) -> Maker:
    def make(page: Page, chance: Random) -> Slip | None:
        if not everywhere and len(page.parts) == 1:
            return None
        places = [
            (at, cut)
            for at in range(1, len(page.parts[0]) - 1)
            if _inner(page, at)
            for cut in (mpq(1), mpq(2))
            if cut < page.parts[0][at].length
            and all(
                len(m.voices) == 1 and m.is_full(m.voices[0])
                and any(c.onset == cut for c in m.chords)
                for m in page.column(at)
            )
        ]  # fmt: skip
        if not places:
            return None
        at, cut = chance.choice(places)
        chosen = range(len(page.parts)) if everywhere else [chance.randrange(len(page.parts))]
        again = everywhere or chance.random() < 0.5
        number = page.parts[0][at].number
        for which in chosen:
            measure = page.parts[which][at]
            new = etree.Element("measure", number=f"{number}a")
            head = next(c.head for c in measure.chords if c.onset == cut)
            first = head
            while first.getprevious() is not None and first.getprevious().find("grace") is not None:
                first = first.getprevious()
            moved = [first, *first.itersiblings()]
            new.extend(moved)
            measure.element.addnext(new)
            if again and number.isdigit():
                new.set("number", str(int(number) + 1))
                _renumber(page.parts[which], at + 1, 1)
        bars = {number, f"{number}a"} | ({str(int(number) + 1)} if number.isdigit() else set())
        return Slip(bars, None if everywhere else chosen[0], fault=not everywhere, unique=True)

    return make


_kind("bar line added")(_line_added(True))
_kind("bar line added in one part")(_line_added(False))


@_kind("backup off")
def _backup_off(page: Page, chance: Random) -> Slip | None:
    places = [
        (which, measure, backup, at, to)
        for which, measure in page
        if _inner(page, measure.index)
        for backup, at, to in measure.backups
        if at > 0
    ]
    chance.shuffle(places)
    for which, measure, backup, _, to in places[:60]:
        after = backup.getnext()
        while after is not None and after.tag not in ("note", "backup", "forward"):
            after = after.getnext()
        chord = next((each for each in measure.chords if each.head is after), None)
        if chord is None or to or not measure.is_full(chord.voice):
            continue
        by = chance.choice([mpq(1, 4), mpq(1, 2), mpq(1), mpq(-1, 2), mpq(-1, 4), mpq(-1)])
        ticks = by * measure.divisions
        left = int(backup.findtext("duration")) + ticks
        if ticks.denominator != 1 or left <= 0:
            continue
        backup.find("duration").text = str(left)
        voices = {chord.voice, ""}
        return Slip({measure.number}, which, voices, unique=True)
    return None


@_kind("forward off")
def _forward_off(page: Page, chance: Random) -> Slip | None:
    places = []
    for which, measure in page:
        if not _inner(page, measure.index):
            continue
        for forward, at, to in measure.forwards:
            after = next((c for c in measure.chords if c.onset == to and c.seen), None)
            if after is None:
                continue
            stream = measure.voice(after.voice)
            if stream[-1].end == measure.length:
                places.append((which, measure, forward, at, to, after))
    if not places:
        return None
    which, measure, forward, at, to, after = chance.choice(places)
    by = mpq(1, 2) * measure.divisions
    if by.denominator != 1:
        return None
    forward.find("duration").text = str(int(forward.findtext("duration")) + by)
    return Slip({measure.number}, which, {after.voice}, unique=True)


def _tied(page: Page, chance: Random) -> tuple | None:
    places = []
    for which, measures in enumerate(page.parts):
        for at, measure in enumerate(measures):
            for chord in measure.chords:
                if not chord.seen or chord.ratio is not None or len(chord.elements) > 1:
                    continue
                if not any(t.get("type") == "stop" for t in chord.head.findall("tie")):
                    continue
                if any(t.get("type") == "start" for t in chord.head.findall("tie")):
                    continue
                before = measure
                if not chord.onset and at:
                    before = measures[at - 1]
                if _inner(page, at) and len(measure.voices) == 1 and len(before.voices) == 1:
                    places.append((which, measure, chord, before))
    return chance.choice(places) if places else None


@_kind("tie without a stop")
def _stopless(page: Page, chance: Random) -> Slip | None:
    found = _tied(page, chance)
    if found is None:
        return None
    which, measure, chord, before = found
    for each in [*chord.head.findall("tie"), *chord.head.findall("notations/tied")]:
        each.getparent().remove(each)
    bars = {measure.number, before.number}
    return Slip(bars, which, {chord.voice}, fault=False, unique=True)


@_kind("tie to another pitch")
def _mistied(page: Page, chance: Random) -> Slip | None:
    found = _tied(page, chance)
    if found is None:
        return None
    which, measure, chord, before = found
    step = chord.head.find("pitch/step")
    if step is None:
        return None
    alter = chord.head.find("pitch/alter")
    if alter is not None and chance.random() < 0.5:
        alter.text = "0"
    else:
        step.text = chance.choice([each for each in "CDEFGAB" if each != step.text])
        if alter is not None:
            alter.text = "0"
    bars = {measure.number, before.number}
    return Slip(bars, which, {chord.voice})


def _wrong_voice(known: bool) -> Maker:
    def make(page: Page, chance: Random) -> Slip | None:
        def fits(measure: Measure, chord: Chord) -> bool:
            others = [each for each in measure.voices if each != chord.voice]
            if chord.is_rest or chord.head.find("voice") is None:
                return False
            return len(measure.voice(chord.voice)) > 2 and bool(others) == known

        found = _full(page, chance, fits)
        if found is None:
            return None
        which, measure, chord = found
        others = [each for each in measure.voices if each != chord.voice]
        new = chance.choice(others) if others else str(int(chord.voice) + 1)
        for each in chord.elements:
            each.find("voice").text = new
        slip = _slip(which, measure, chord, unique=True)
        slip.voices.add(new)
        return slip

    return make


_kind("wrong voice")(_wrong_voice(True))
_kind("wrong voice, a new one")(_wrong_voice(False))


def _bar_missing(everywhere: bool) -> Maker:
    def make(page: Page, chance: Random) -> Slip | None:
        if not everywhere and len(page.parts) == 1:
            return None
        places = [
            at
            for at in range(2, len(page.parts[0]) - 2)
            if _inner(page, at)
            and all(m.element.find("attributes") is None for m in page.column(at))
            and page.parts[0][at].number.isdigit()
        ]
        if not places:
            return None
        at = chance.choice(places)
        chosen = range(len(page.parts)) if everywhere else [chance.randrange(len(page.parts))]
        for which in chosen:
            element = page.parts[which][at].element
            element.getparent().remove(element)
        number = int(page.parts[0][at].number)
        bars = {str(number), str(number - 1), str(number + 1)}
        return Slip(
            bars, None if everywhere else chosen[0], fault=not everywhere,
            unique=not everywhere, empty_bar=not everywhere,
        )  # fmt: skip

    return make


_kind("bar missing in one part")(_bar_missing(False))
_kind("bar missing in all")(_bar_missing(True))


def _edge(first: bool) -> Maker:
    def make(page: Page, chance: Random) -> Slip | None:
        at = 0 if first else len(page.parts[0]) - 1
        column = page.column(at)
        lengths = {max((c.end for c in m.chords), default=mpq(0)) for m in column}
        if len(lengths) != 1 or not 0 < next(iter(lengths)) < column[0].length:
            return None
        which = chance.randrange(len(column))
        measure = column[which]
        voice = [c for c in measure.chords if _plain(measure, c) and c.type != TYPES[-1]]
        if len(measure.voices) != 1 or not voice:
            return None
        chord = chance.choice(voice)
        if chord.ticks % 2:
            return None
        chord.set_ticks(mpq(chord.ticks // 2))
        _retype(chord, TYPES[TYPES.index(chord.type) + 1])
        return _slip(which, measure, chord, fault=len(page.parts) > 1)

    return make


_kind("upbeat wrong in one part")(_edge(True))
_kind("complement wrong in one part")(_edge(False))


def _edge_everywhere(first: bool) -> Maker:
    def make(page: Page, chance: Random) -> Slip | None:
        ends = []
        for at in (0, len(page.parts[0]) - 1):
            lengths = {max((c.end for c in m.chords), default=mpq(0)) for m in page.column(at)}
            if len(lengths) != 1:
                return None
            ends.append(next(iter(lengths)))
        length = page.parts[0][-1].length
        if sum(ends) != length or not 0 < ends[0] < length or length != page.parts[0][0].length:
            return None
        at = 0 if first else len(page.parts[0]) - 1
        column = page.column(at)
        for measure in column:
            chord = next(
                (
                    c
                    for c in measure.chords
                    if c.duration >= 1 and c.type == "quarter" and not c.head.findall("dot")
                ),
                None,
            )
            if len(measure.voices) != 1 or chord is None or chord.ticks % 2:
                return None  # fmt: skip
        for measure in column:
            chord = next(c for c in measure.chords if c.duration >= 1 and c.type == "quarter"
                         and not c.head.findall("dot"))  # fmt: skip
            chord.set_ticks(mpq(chord.ticks // 2))
            _retype(chord, "eighth")
        # That both make one bar is a recommendation and no rule: told as a remark, of the last bar.
        return Slip({page.parts[0][-1].number}, None, fault=False)

    return make


_kind("upbeat wrong in all")(_edge_everywhere(True))
_kind("complement wrong in all")(_edge_everywhere(False))
