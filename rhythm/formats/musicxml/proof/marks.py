"""Proof of the marks: every direction, chord symbol, clef, key, sound, bar line at its place.

What several elements say together in ``attributes`` is compared kind by kind, since where they
stand together is the writer's affair. Tempo, reach and length are compared by value, all else as it
is written.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Hashable, Iterator
from typing import NamedTuple, NoReturn

from gmpy2 import mpq
from lxml import etree

from rhythm.exact.errors import ProofError
from rhythm.formats.musicxml.proof.bars import place_of
from rhythm.formats.musicxml.proof.keys import Key, key, key_without
from rhythm.formats.musicxml.proof.lost_ends import LostEnd, is_end, with_partner
from rhythm.formats.musicxml.read.mark_reader import read_metronome, read_sign
from rhythm.formats.musicxml.read.note_reader import decimal_text
from rhythm.formats.musicxml.write.attributes_writer import merged
from rhythm.formats.musicxml.write.mark_writer import bar_line, bar_line_side, write_sign
from rhythm.formats.musicxml.write.rest_counts import is_rest_count, miscounted
from rhythm.formats.musicxml.write.spans import IN_DIRECTIONS
from rhythm.score.model import Mark, Metronome, Part

__all__ = ["require_same_marks", "said_by_mark"]

_ZERO = mpq(0)
_PLANNED = frozenset({"divisions", "time"})
_HELD = frozenset(
    {"clef", "instruments", "key", "part-symbol", "staff-details", "staves", "transpose"}
)
_BY_STAFF = frozenset({"clef", "staff-details"})
_MEASURE_OWNED = frozenset({"number", "implicit", "width"})


class _Sign(NamedTuple):
    """What a mark says and where."""

    bar: int
    onset: mpq
    said: Key
    staff: str = ""
    reach: mpq = _ZERO
    length: mpq = _ZERO
    metronome: Metronome | None = None
    tempo: str = ""


def require_same_marks(
    file: str, meant: Part, written: Part, kept: frozenset[int], *, cut: bool
) -> None:
    """Raise ProofError where a mark is missing, was not meant, or stands elsewhere.

    In a score that was ``cut`` what is in force already need not be said again, and spans without
    a partner may have lost their end.
    """
    wanted = Counter(_signs(meant, kept, cut))
    found = Counter(_signs(written, kept, cut))
    if cut:
        wanted.update(_changes(meant))
        found.update(_changes(written))
    lost, more = wanted - found, found - wanted
    if cut:
        ends = [each for each in lost.elements() if is_end(each.said)]
        for end in ends:
            del lost[end]
        missing = (LostEnd(e.said, e.bar, e.onset, e.onset, e.staff) for e in ends)
        alone = with_partner(missing, written)
        if alone is not None:
            _refuse(file, meant, alone.bar, alone.said, "is missing or changed")
    for signs, how in ((lost, "is missing or changed"), (more, "was not meant")):
        for sign in sorted(signs, key=lambda sign: (sign.bar, sign.onset)):
            if cut and sign.said[0] == "direction" and not sign.said[3]:
                continue
            _refuse(file, meant, sign.bar, sign.said, how)
    held = [bar.source for bar in written.bars if isinstance(bar.source, etree._Element)]
    wrong = miscounted(held, kept)
    if wrong is not None:
        raise ProofError(
            "a rest over several bars stands for other bars", place=place_of(file, meant, wrong)
        )


def _refuse(file: str, part: Part, bar: int, said: Key, how: str) -> NoReturn:
    raise ProofError(f"a mark of the file ({said[0]}) {how}", place=place_of(file, part, bar))


def _changes(part: Part) -> Iterator[_Sign]:
    """Where a key, a clef or the like comes into force that was not in force before."""
    placed: dict[tuple[int, mpq], list[Key]] = {}
    for mark in part.marks:
        says = mark.kind == "attributes" or mark.kind in _HELD  # read, or made from its kind
        for sign in _of_mark(mark, cut=True) if says else ():
            if sign.said[0] in _HELD:
                placed.setdefault((sign.bar, sign.onset), []).append(sign.said)
    force: dict[tuple[str, str], Hashable] = {}
    for (bar, onset), said in sorted(placed.items(), key=lambda each: each[0]):
        before = dict(force)
        latest: dict[tuple[str, str], Key] = {}
        for thing in said:
            name, attributes, _, _ = thing
            staff = dict(attributes).get("number", "1" if name in _BY_STAFF else "")
            if name == "key" and not staff:
                for known in [each for each in force if each[0] == "key"]:
                    del force[known]
            force[name, staff] = _in_force(thing)
            latest[name, staff] = thing
        for which, thing in latest.items():
            if force.get(which) != before.get(which):
                yield _Sign(bar, onset, thing)


def _in_force(thing: Key) -> Hashable:
    """What a sign brings into force, however it looks."""
    name, attributes, text, children = thing
    seen = dict(attributes).get("print-object", "yes")
    return name, text, seen, tuple((child[0], child[2], child[3]) for child in children)


def _signs(part: Part, kept: frozenset[int], cut: bool) -> Iterator[_Sign]:
    opened: set[int] = set()
    drawn: set[tuple[int, str]] = set()
    for mark in part.marks:
        drawn.add((mark.bar, bar_line_side(mark)))
        if mark.bar in kept:
            continue
        if mark.kind == "measure":
            if mark.bar in opened:
                continue
            opened.add(mark.bar)
        for sign in _of_mark(mark, cut):
            if not (cut and sign.said[0] in _HELD):  # those are compared by what is in force
                yield sign
    for bar in part.bars:
        if bar.index in kept or bar.source is not None:
            continue
        for side, line in (("left", bar.left), ("right", bar.right)):
            if line is not None and (bar.index, side) not in drawn:
                yield _Sign(bar.index, _ZERO, key(bar_line(line, side)))


def _of_mark(mark: Mark, cut: bool) -> Iterator[_Sign]:
    source = mark.source
    if isinstance(source, tuple):
        source = merged([each for each in source if isinstance(each, etree._Element)])
    elif not isinstance(source, etree._Element):
        source = write_sign(mark, 1)
        if source is None:
            return
    tag = source.tag
    if tag == "attributes":
        for child in source.iterchildren(etree.Element):
            if child.tag not in _PLANNED and not is_rest_count(child):
                yield _Sign(mark.bar, mark.onset, key(child))
    elif mark.kind == "measure":
        said = key_without(source, _Everything(), _MEASURE_OWNED | {"id"})[1]
        yield _Sign(mark.bar, mark.onset, ("measure", said, "", ()))
    elif not isinstance(tag, str):
        yield _Sign(mark.bar, mark.onset, ("comment", (), source.text or "", ()))
    else:
        made = mark.source is None
        sign = read_sign(source)
        metronome = sign.metronome if made else mark.metronome
        tempo = sign.tempo if made else mark.tempo
        at_an_end = bar_line_side(mark) != ""  # wherever in the file's order it stands
        if cut and tag == "direction":
            for thing in source.iterfind("direction-type/*"):
                if thing.tag in IN_DIRECTIONS:
                    yield _Sign(mark.bar, mark.onset, key(thing), mark.staff)
        yield _Sign(
            mark.bar,
            _ZERO if at_an_end else mark.onset,
            _said(source, cut),
            mark.staff,
            mark.reach,
            mark.length,
            metronome,
            "" if tempo is None else decimal_text(tempo),
        )


def said_by_mark(source: etree._Element) -> Hashable:
    """What the element of a mark says besides divisions, signature, tempo, reach and length."""
    if source.tag == "attributes":
        return tuple(key(each) for each in source.iterchildren("*") if each.tag not in _PLANNED)
    if source.tag in ("measure", "part"):
        return key_without(source, _Everything(), _MEASURE_OWNED | {"id"})[1]
    return _said(source, cut=False) if isinstance(source.tag, str) else source.text


class _Everything:
    def __contains__(self, _: object) -> bool:
        return True


def _said(element: etree._Element, cut: bool) -> Key:
    """What a mark says besides the tempo, its reach and its length."""
    tag = element.tag
    if tag == "barline" or tag == "print":
        return key_without(element, ("measure-layout",), ())
    if tag == "figured-bass":
        return key_without(element, ("duration", "offset", "staff"), ())
    if tag == "sound":
        return key_without(element, ("offset",), ("tempo",))
    if tag != "direction":
        return key_without(element, ("offset", "staff"), ())
    inner: list[Key] = []
    for child in element.iterchildren(etree.Element):
        if child.tag in ("offset", "staff"):
            continue
        if child.tag == "sound":
            said = key_without(child, ("offset",), ("tempo",))
            inner += [said] if said[1] or said[3] else []
        elif child.tag == "direction-type":
            things = tuple(_of_direction(each) for each in child.iterchildren(etree.Element))
            if cut:
                things = tuple(thing for thing in things if thing[0] not in IN_DIRECTIONS)
                if not things:
                    continue
            inner.append(("direction-type", key_without(child, _Everything(), ())[1], "", things))
        else:
            inner.append(key(child))
    return "direction", key_without(element, _Everything(), ())[1], "", tuple(inner)


def _of_direction(element: etree._Element) -> Key:
    if element.tag == "metronome" and read_metronome(element) is not None:
        return key_without(element, ("beat-unit", "beat-unit-dot", "per-minute"), ())
    return key(element)
