"""One ``note`` element: what it says about time and sound, read in a single pass.

Written time is the type, its dots and the time-modification (cumulative, as it stands). The ticks
of ``duration`` are kept as text beside it;
:mod:`rhythm.formats.musicxml.read.tick_cursor` weighs the two.
"""

from __future__ import annotations

from functools import lru_cache

from gmpy2 import mpq
from lxml import etree

from rhythm.exact.errors import FileError, LimitError
from rhythm.exact.values import NOTE_TYPES
from rhythm.score.model import Pitch, Tuplet

__all__ = ["Written", "decimal", "decimal_text", "exact_value", "parse_note", "shown"]

_MOST_DIGITS = 15  # before the point: more than any ticks, pitch or tempo needs
_MOST_PLACES = 9  # behind it
_LARGEST_RATIO = 9999  # products of nested tuplets included
_RATIO = f"actual-notes and normal-notes are whole numbers above 0 and at most {_LARGEST_RATIO}"

_SILENT = frozenset({"attack", "default-x", "id", "print-object", "release"})

MOST_DOTS = 12


@lru_cache(maxsize=4096)
def decimal(text: str) -> mpq | None:
    """The exact value of a decimal number as XML writes it, None where it is none.

    Numbers of more digits than music needs are none: to reckon with them exactly takes for ever.
    """
    text = text.strip()
    body = text[1:] if text[:1] in ("+", "-") else text
    whole, _, part = body.partition(".")
    if len(whole) > _MOST_DIGITS or len(part) > _MOST_PLACES:
        return None
    if not (whole + part).isdecimal() or not body.isascii():
        return None
    number = mpq(int(whole + part), 10 ** len(part))
    return -number if text[0] == "-" else number


def decimal_text(number: mpq) -> str:
    """A number as XML writes decimals, to six places."""
    if number.denominator == 1:
        return str(number.numerator)
    scaled = round(number * 10**6)
    sign = "-" if scaled < 0 else ""
    whole, part = divmod(abs(int(scaled)), 10**6)
    return f"{sign}{whole}.{part:06d}".rstrip("0").rstrip(".")


def shown(text: str) -> str:
    """A text of the file as messages quote it."""
    text = " ".join(text.split())
    return repr(text if len(text) <= 20 else text[:17] + "...")


@lru_cache(maxsize=4096)
def exact_value(type: str, dots: int, actual: int, normal: int) -> mpq:
    """What a symbol lasts; ``type`` is one of MusicXML's."""
    return NOTE_TYPES[type] * (2 - mpq(1, 2**dots)) * mpq(normal, actual)


@lru_cache(maxsize=1024)
def _pitch(step: str, alter: str, octave: str) -> Pitch:
    height = decimal(octave)
    step = step.strip().upper()
    if height is None or step not in ("A", "B", "C", "D", "E", "F", "G"):
        raise FileError(
            f"{shown(step + octave)} is not a pitch", legal="steps are A to G, octaves 0 to 9"
        )
    return Pitch(step, decimal(alter or "0") or mpq(0), int(height))


class Written:
    """A ``note`` element taken apart. The reader fills in ``offset``, ``duration`` and the rest.

    ``rich`` says that it carries more than its rhythm and pitch, or may.
    """

    after: list[etree._Element] | None = None
    bar: int
    beams: tuple[str, ...] = ()
    chord = False
    cue = False
    dots = 0
    duration: mpq
    end: mpq
    grace = False
    graces: list[etree._Element] | None = None
    hidden = False
    kind = "rest"
    laden = False
    measure_rest = False
    slurred = False
    members: list[Written] | None = None
    rich = False
    rings = False
    offset: mpq
    pitch: Pitch | None = None
    ratio = (1, 1)
    staff = ""
    ticks = ""
    tie_start = False
    tie_stop = False
    tremolo = ""
    tuplet_marks: list[etree._Element] | None = None
    tuplets: tuple[Tuplet, ...] = ()
    type = ""
    value: mpq | None = None
    verses: tuple[str, ...] = ()
    voice = ""

    def __init__(self, element: etree._Element) -> None:
        self.element = element


def parse_note(element: etree._Element) -> Written:
    """Read a ``note`` element. Raises FileError for what no note can be."""
    note = Written(element)
    if attributes := element.keys():
        note.hidden = element.get("print-object") == "no"
        if not _SILENT.issuperset(attributes):
            note.rich = True
    beams: list[tuple[str, str]] | None = None
    for child in element:
        tag = child.tag
        if tag == "pitch":
            note.kind = "pitched"
            note.pitch = _read_pitch(child)
        elif tag == "duration":
            note.ticks = child.text or ""
        elif tag == "voice":
            note.voice = (child.text or "").strip()
        elif tag == "type":
            note.type = (child.text or "").strip()
            if note.type not in NOTE_TYPES:
                raise FileError(
                    f"{shown(note.type)} is not a note type", legal=", ".join(NOTE_TYPES)
                )
        elif tag == "stem":
            continue
        elif tag == "beam":
            if beams is None:
                beams = []
            beams.append((child.get("number") or "1", (child.text or "").strip()))
        elif tag == "staff":
            note.staff = (child.text or "").strip()
        elif tag == "dot":
            note.dots += 1
        elif tag == "chord":
            note.chord = True
        elif tag == "notations":
            _read_notations(child, note)
        elif tag == "tie":
            _read_tie(child.get("type"), note)
        elif tag == "rest":
            note.measure_rest = child.get("measure") == "yes"
            if len(child):
                note.rich = True
        elif tag == "time-modification":
            note.ratio = _read_ratio(child)
        elif tag == "lyric":
            note.rich = True
            verse = child.get("number") or "1"
            if verse not in note.verses:
                note.verses += (verse,)
        elif tag == "grace":
            note.grace = True
        elif tag == "cue":
            note.cue = True
        elif tag == "unpitched":
            note.kind = "unpitched"
            note.rich = True
        elif isinstance(tag, str):
            note.rich = True
    if beams is not None:
        note.beams = _levels(beams)
    if note.dots > MOST_DOTS:
        note.type = ""
    return note


def _read_pitch(element: etree._Element) -> Pitch:
    step = alter = octave = ""
    for child in element:
        tag = child.tag
        if tag == "step":
            step = child.text or ""
        elif tag == "octave":
            octave = child.text or ""
        elif tag == "alter":
            alter = child.text or ""
    return _pitch(step, alter, octave)


def _read_tie(type: str | None, note: Written) -> None:
    if type == "start":
        note.tie_start = True
    elif type == "stop":
        note.tie_stop = True
    elif type == "continue":
        note.tie_start = note.tie_stop = True
    elif type == "let-ring":
        note.rings = True


def _read_notations(element: etree._Element, note: Written) -> None:
    for child in element:
        tag = child.tag
        if tag == "tied":
            _read_tie(child.get("type"), note)
        elif tag == "tuplet":
            if note.tuplet_marks is None:
                note.tuplet_marks = []
            note.tuplet_marks.append(child)
        elif tag == "ornaments":
            note.rich = True
            for ornament in child.iterchildren("tremolo"):
                type = ornament.get("type")
                if type in ("start", "stop"):
                    note.tremolo = type
        elif isinstance(tag, str):
            note.laden = note.rich = True
            if tag == "slur" and child.get("type") == "start":
                note.slurred = True


def _read_ratio(element: etree._Element) -> tuple[int, int]:
    actual = decimal(element.findtext("actual-notes") or "")
    normal = decimal(element.findtext("normal-notes") or "")
    for count in (actual, normal):
        if count is None or not 0 < count <= _LARGEST_RATIO or count.denominator != 1:
            past = count is not None and count > _LARGEST_RATIO
            kind = LimitError if past else FileError
            raise kind("a time-modification does not say how many", legal=_RATIO)
    return (int(actual or 1), int(normal or 1))


_IN_ORDER = "12345678"
_LEVELS = frozenset(_IN_ORDER)


def _word(level: str) -> int:
    return int(level) if level in _LEVELS else 0


def _levels(beams: list[tuple[str, str]]) -> tuple[str, ...]:
    """The words by level, with "" for a level left out."""
    if len(beams) == 1 and beams[0][0] == "1":
        return (beams[0][1],)
    for level, (number, _) in enumerate(beams):
        if number != _IN_ORDER[level : level + 1]:
            break
    else:
        return tuple([text for _, text in beams])
    found = {_word(number): text for number, text in beams if _word(number)}
    return tuple(found.get(level, "") for level in range(1, max(found, default=0) + 1))
