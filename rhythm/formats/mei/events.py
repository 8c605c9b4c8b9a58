"""From a layer of MEI to its events in order, each with its exact value and all that is on it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field

from gmpy2 import mpq

from rhythm.exact.errors import FileError
from rhythm.formats.elements import Element

__all__ = ["ID", "Event", "chosen", "events_of", "plain_tag"]

ID = "{http://www.w3.org/XML/1998/namespace}id"
_TYPES = {
    "maxima": ("maxima", 8), "long": ("long", 4), "breve": ("breve", 2), "1": ("whole", 1),
    "2": ("half", 2), "4": ("quarter", 4), "8": ("eighth", 8), "16": ("16th", 16),
    "32": ("32nd", 32), "64": ("64th", 64), "128": ("128th", 128), "256": ("256th", 256),
    "512": ("512th", 512), "1024": ("1024th", 1024),
}  # fmt: skip
_LONG = frozenset({"maxima", "long", "breve"})
_NOTES = frozenset({"note", "rest", "chord", "space", "mRest", "mSpace", "mRpt"})
_GROUPS = frozenset({"beam", "tuplet", "graceGrp", "bTrem", "fTrem"})
_EDITORIAL = frozenset({
    "add", "corr", "expan", "lem", "orig", "rdg", "reg", "sic", "supplied", "unclear", "subst",
    "damage", "restore", "hi",
})  # fmt: skip
_SHORTHAND = frozenset({"beatRpt", "halfmRpt", "mRpt2", "multiRpt"})
_CHANGES = frozenset({"clef", "keySig", "meterSig"})


@dataclass(slots=True)
class Event:
    """A note, chord, rest or silence of a layer, or a change of clef or key between them.

    ``kind`` is the element's name; ``notes`` are the ``note`` elements. ``length`` is what lasts,
    ``ratio`` the product of all tuplets around it; a ``space`` shows nothing.
    """

    kind: str
    element: Element
    notes: list[Element] = field(default_factory=list)
    type: str = ""
    dots: int = 0
    ratio: tuple[int, int] = (1, 1)
    length: mpq = field(default_factory=mpq)
    grace: bool = False
    beams: tuple[str, ...] = ()
    opens: int = 0
    closes: int = 0
    tremolo: str = ""
    onset: mpq = field(default_factory=mpq)


def plain_tag(element: Element) -> str:
    """The name without its namespace, "" for comments."""
    tag = element.tag
    return tag.rsplit("}", 1)[-1] if isinstance(tag, str) else ""


def chosen(element: Element) -> Iterator[Element]:
    """The children of an element, editorial wrappers looked through, one reading of each choice."""
    for child in element:
        tag = plain_tag(child)
        if tag in ("app", "choice"):
            options = [each for each in child if plain_tag(each)]
            first = next(
                (each for each in options if plain_tag(each) in ("lem", "corr", "reg", "expan")),
                options[0] if options else None,
            )
            if first is not None:
                yield from chosen(first)
        elif tag in _EDITORIAL:
            yield from chosen(child)
        elif tag and tag != "del":
            yield child


def events_of(layer: Element, lost: Counter[str]) -> list[Event]:
    """What a layer holds, in order. Raises FileError for signs that stand for music written before.

    What is left out is counted in ``lost``.
    """
    found: list[Event] = []
    _gather(layer, (1, 1), False, found, lost)
    onset = mpq(0)
    for event in found:
        event.onset = onset
        onset += event.length
    return found


def _gather(
    parent: Element,
    ratio: tuple[int, int],
    grace: bool,
    found: list[Event],
    lost: Counter[str],
) -> None:
    for child in chosen(parent):
        tag = plain_tag(child)
        if tag in _NOTES:
            found.append(_event(child, tag, ratio, grace))
        elif tag in _GROUPS:
            start = len(found)
            own = ratio
            if tag == "tuplet":
                own = _times(ratio, child)
            _gather(child, own, grace or tag == "graceGrp", found, lost)
            _group(child, tag, found[start:])
        elif tag in _CHANGES:
            found.append(Event(tag, child))
        elif tag in _SHORTHAND:
            raise FileError(
                f"a sign for music written before (<{tag}>)", legal="write the notes out"
            )
        elif tag == "barLine":
            continue
        else:
            lost[tag] += 1


def _times(ratio: tuple[int, int], tuplet: Element) -> tuple[int, int]:
    num, base = tuplet.get("num") or "", tuplet.get("numbase") or ""
    if not (num.isdecimal() and len(num) < 5 and int(num)):
        return ratio
    actual = int(num)
    if base.isdecimal() and len(base) < 5 and int(base):
        normal = int(base)
    else:
        normal = 1 << (actual.bit_length() - 1)
        normal = normal // 2 if normal == actual and normal > 1 else normal
    return ratio[0] * actual, ratio[1] * normal


def _group(element: Element, tag: str, events: list[Event]) -> None:
    """What a group says of its members."""
    sounding = [event for event in events if event.kind not in _CHANGES]
    if tag == "tuplet" and sounding:
        sounding[0].opens += 1
        sounding[-1].closes += 1
    elif tag == "fTrem":
        for event, word in zip(sounding, ("start", "stop"), strict=False):
            event.tremolo = word
            event.length /= 2
    elif tag == "beam":
        from rhythm.formats.elements import beam_words

        beamed = [event for event in sounding if event.kind in ("note", "chord")]
        for kind in (False, True):
            own = [event for event in beamed if event.grace is kind]
            if len(own) > 1:
                for event, words in zip(own, beam_words([e.type for e in own]), strict=True):
                    event.beams = words
    elif tag == "bTrem":
        for event in sounding:
            event.tremolo = "single"


def _event(element: Element, tag: str, ratio: tuple[int, int], grace: bool) -> Event:
    event = Event(tag, element, ratio=ratio)
    if tag == "note":
        event.notes = [element]
    elif tag == "chord":
        event.notes = [each for each in chosen(element) if plain_tag(each) == "note"]
    event.grace = grace or element.get("grace") is not None
    if tag in ("mRest", "mSpace", "mRpt"):
        return event
    said = element
    if tag == "chord" and element.get("dur") is None and event.notes:
        said = event.notes[0]
    dur = said.get("dur") or ""
    if dur not in _TYPES:
        raise FileError(
            f"a {tag} with the duration {dur[:12]!r}", legal=f"one of {', '.join(_TYPES)}"
        )
    dots = said.get("dots") or "0"
    dots = dots if dots != "0" else str(sum(plain_tag(each) == "dot" for each in said))
    if not dots.isdecimal() or len(dots) > 1:
        raise FileError(f"{dots[:12]!r} dots", legal="a number from 0 to 9")
    event.type, count = _TYPES[dur]
    event.dots = int(dots)
    plain = mpq(count) if dur in _LONG else mpq(1, count)
    if not event.grace:
        event.length = plain * (2 - mpq(1, 2**event.dots)) * ratio[1] / ratio[0]
    return event
