"""Note values: how a duration is read, named and written as one symbol.

Conventions
-----------
A value is a ``gmpy2.mpq`` in whole notes: a quarter is 1/4. Floats never enter: they raise a
``TypeError``. One table, :data:`NOTE_VALUES`, drives parsing, naming and the MusicXML type names.
"""

from __future__ import annotations

import re
from functools import lru_cache
from numbers import Rational
from typing import NamedTuple

from gmpy2 import mpq, mpz

from rhythm.exact.errors import KindError, RequestError
from rhythm.exact.nearest import nearest

__all__ = [
    "MAX_DOTS",
    "NOTE_TYPES",
    "NOTE_VALUES",
    "TUPLET_NAMES",
    "NoteValue",
    "format_value",
    "is_power_of_two",
    "name_value",
    "plural",
    "symbol",
    "symbol_value",
    "value",
]

MAX_DOTS = 4
"""More dots than this are not written, nor read in text."""


class NoteValue(NamedTuple):
    """One row of the table: MusicXML type name, length, English name, other names."""

    type: str
    length: mpq
    name: str
    others: tuple[str, ...] = ()


NOTE_VALUES = (
    NoteValue("maxima", mpq(8), "maxima", ("octuple whole",)),
    NoteValue("long", mpq(4), "long", ("longa", "quadruple whole")),
    NoteValue("breve", mpq(2), "breve", ("double whole",)),
    NoteValue("whole", mpq(1), "whole", ("semibreve",)),
    NoteValue("half", mpq(1, 2), "half", ("minim", "halve")),
    NoteValue("quarter", mpq(1, 4), "quarter", ("crotchet",)),
    NoteValue("eighth", mpq(1, 8), "eighth", ("quaver", "8th")),
    NoteValue("16th", mpq(1, 16), "sixteenth", ("semiquaver",)),
    NoteValue("32nd", mpq(1, 32), "thirty-second", ("demisemiquaver",)),
    NoteValue("64th", mpq(1, 64), "sixty-fourth", ("hemidemisemiquaver",)),
    NoteValue("128th", mpq(1, 128), "128th", ("semihemidemisemiquaver",)),
    NoteValue("256th", mpq(1, 256), "256th"),
    NoteValue("512th", mpq(1, 512), "512th"),
    NoteValue("1024th", mpq(1, 1024), "1024th"),
)
"""Every plain value, longest first."""

NOTE_TYPES: dict[str, mpq] = {row.type: row.length for row in NOTE_VALUES}
"""MusicXML type names and their lengths, longest first."""

TUPLET_NAMES: dict[str, mpq] = {
    "triplet": mpq(2, 3),
    "quintuplet": mpq(4, 5),
    "septuplet": mpq(4, 7),
    "nonuplet": mpq(8, 9),
    "sextuplet": mpq(4, 6),
    "duplet": mpq(3, 2),
    "quadruplet": mpq(3, 4),
}
"""What a tuplet's name does to the value of one of its notes; the first four are also printed."""

_PRINTED_TUPLETS = ("triplet", "quintuplet", "septuplet", "nonuplet")
_DOTTING = ("", "dotted ", "double dotted ", "triple dotted ")
_NAMES = {name: row.length for row in NOTE_VALUES for name in (row.type, row.name, *row.others)}
_TYPE_OF = {row.length: row.type for row in NOTE_VALUES}
_ENGLISH = {row.type: row.name for row in NOTE_VALUES}
_FRACTION = re.compile(r"-?\d{1,30}(?:\s*/\s*\d{1,30})?", re.ASCII)
_NOTE = re.compile(r"(?<=\w) notes?\b")
_DOTS = {word.strip(): dots for dots, word in enumerate(_DOTTING) if dots}
_LEGAL = "write a fraction of a whole note such as 3/8, or a name such as dotted quarter"


def is_power_of_two(n: int) -> bool:
    """True for 1, 2, 4, 8, ..."""
    return n > 0 and n & (n - 1) == 0


def value(x: mpq | int | Rational | str, *, positive: bool = False) -> mpq:
    """A duration or position in whole notes, from a number or from its text.

    Text is a fraction (``3/8``, ``-1/4``), a name (``dotted quarter``, ``triplet eighth`` or
    ``eighth triplet``, ``crotchet``), or names added up (``half + eighth``). Zero and negative
    values are differences and positions; with ``positive`` they are refused. Whole numbers and
    fractions of any make are taken, the standard library's too. Raises :class:`RequestError` for
    text that names no value and :class:`KindError`, which is a ``TypeError`` too, for anything that
    is not exact, as a float.
    """
    if isinstance(x, str):
        result = _parse(x)
    elif isinstance(x, bool) or not isinstance(x, (int, type(mpz()), mpq, Rational)):
        raise KindError(f"{x!r} is not an exact value but a {type(x).__name__}", legal=_LEGAL)
    elif isinstance(x, Rational) and not isinstance(x, (int, type(mpz()), mpq)):
        result = mpq(int(x.numerator), int(x.denominator))
    else:
        result = mpq(x)
    if positive and result <= 0:
        raise RequestError(f"{format_value(result)} is not a duration", legal="it must be above 0")
    return result


@lru_cache(maxsize=4096)
def _parse(text: str) -> mpq:
    words = _NOTE.sub("", " ".join(text.lower().split())).replace("thirty second", "thirty-second")
    if _FRACTION.fullmatch(words):
        try:
            return mpq(words.replace(" ", ""))
        except ZeroDivisionError:
            raise RequestError(f"{text!r} divides by zero", legal=_LEGAL) from None
    total = mpq(0)
    for term in words.split("+"):
        total += _parse_name(term.strip(), text)
    return total


def _parse_name(term: str, text: str) -> mpq:
    if _FRACTION.fullmatch(term):
        return _parse(term)
    factor, term = _without_tuplet(term)
    dots = 0
    spaced = term.replace("-dotted", " dotted", 1).replace("dotted-", "dotted ", 1)
    for word, count in sorted(_DOTS.items(), key=lambda item: -len(item[0])):
        rest = spaced.removeprefix(word + " ")
        if rest != spaced and rest in _names_and_plurals():
            dots, term = count, rest
            break
    length = _names_and_plurals().get(term)
    if length is None:
        near = nearest(term, _names_and_plurals())
        meant = f"did you mean {text.strip().removesuffix(term)}{near}? " if near else ""
        raise RequestError(f"{text!r} does not name a note value", legal=meant + _LEGAL)
    return length * (2 - mpq(1, 2**dots)) * factor


def _without_tuplet(term: str) -> tuple[mpq, str]:
    """What a tuplet's name, before the value's or behind it, does to the value; and the value."""
    first, _, tail = term.partition(" ")
    head, _, last = term.rpartition(" ")
    for word, rest in ((last, head), (last.removesuffix("s"), head), (first, tail)):
        if rest and word in TUPLET_NAMES:
            return TUPLET_NAMES[word], rest
    return mpq(1), term


@lru_cache(maxsize=1)
def _names_and_plurals() -> dict[str, mpq]:
    return _NAMES | {name + "s": length for name, length in _NAMES.items()}


def format_value(v: mpq) -> str:
    """The value as a reduced fraction, the inverse of :func:`value`: ``3/8``, ``2``, ``-1/4``."""
    return str(v)


@lru_cache(maxsize=4096)
def name_value(v: mpq) -> str:
    """The value in words: ``dotted quarter``, ``triplet eighth``, ``half + eighth``.

    What no sum of ordinary values makes is given as a fraction. :func:`value` reads all of it.
    """
    written = symbol(v, 2)
    if written is not None:
        return _DOTTING[written[1]] + _ENGLISH[written[0]]
    for tuplet in _PRINTED_TUPLETS:
        written = symbol(v / TUPLET_NAMES[tuplet])
        if written is not None:
            return f"{tuplet} {_DOTTING[written[1]]}{_ENGLISH[written[0]]}"
    if v > 0 and v < 64 and is_power_of_two(int(v.denominator)):
        names: list[str] = []
        rest = v
        for row in NOTE_VALUES:
            for dots in (1, 0):
                length = symbol_value(row.type, dots)
                while length <= rest and len(names) < 8:
                    names.append(_DOTTING[dots] + row.name)
                    rest -= length
        if not rest:
            return " + ".join(names)
    return format_value(v)


def plural(name: str, count: mpq | int = 2) -> str:
    """``sixteenths``, ``halves``, ``triplet eighths``."""
    if count == 1:
        return name
    return name[:-1] + "ves" if name.endswith("half") else name + "s"


@lru_cache(maxsize=4096)
def symbol(v: mpq, max_dots: int = 1) -> tuple[str, int] | None:
    """The plain or dotted symbol of exactly this length: ``(type, dots)``, else None."""
    for dots in range(max_dots + 1):
        found = _TYPE_OF.get(v / (2 - mpq(1, 2**dots)))
        if found is not None:
            return found, dots
    return None


@lru_cache(maxsize=512)
def symbol_value(type: str, dots: int) -> mpq:
    """The length of a symbol: MusicXML type name and number of dots.

    Raises :class:`RequestError` for an unknown type or more dots than :data:`MAX_DOTS`.
    """
    length = NOTE_TYPES.get(type)
    if length is None:
        raise RequestError(f"{type!r} is not a note type", legal="use " + ", ".join(NOTE_TYPES))
    if not 0 <= dots <= MAX_DOTS:
        raise RequestError(f"a note cannot have {dots} dots", legal=f"0 to {MAX_DOTS} are read")
    return length * (2 - mpq(1, 2**dots))
