"""An independent count of the notes of an ABC tune: tokens and their lengths, by the ABC standard.

Written from the ABC standard 2.1 (abcnotation.com/wiki/abc:standard:v2.1): lengths in section 4.3,
broken rhythm in 4.4, tuplets in 4.13, chords in 4.17, grace notes in 4.12. It knows nothing of
music21. Voices are told apart by ``V:``; what stands behind ``y``, in quotes, between ``!`` or
``+``, in braces and in comments is no note.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from gmpy2 import mpq

__all__ = ["count_tune", "split_tunes"]

_NOTE = r"(?:[_^=]*)([A-Ga-g][,']*|[zxZX])"
_LENGTH = r"(\d*)(/*)(\d*)"
_TOKEN = re.compile(
    r'(?P<quoted>"[^"]*")|(?P<sign>![^!\n]*!|\+[a-zA-Z(),.\d]+\+)|(?P<grace>\{[^}]*\})'
    r"|(?P<field>\[[A-Za-z]:[^\]]*\])|(?P<ending>\[\d[\d,-]*)"
    rf"|(?P<chord>\[(?:[^\]|:]*?)\]){_LENGTH}"
    r"|(?P<tuplet>\((?P<p>\d)(?::(?P<q>\d?))?(?::(?P<r>\d?))?)"
    rf"|(?P<note>{_NOTE}){_LENGTH}"
    r"|(?P<broken>[<>]+)|(?P<bar>:*\|[|\]:]*\d?|::+|\[\|)|(?P<space>y\d*)"
)


@dataclass
class _Voice:
    unit: mpq
    metre: mpq
    lengths: list[tuple[bool, mpq]] = field(default_factory=list)  # (is a rest, length)
    waiting: mpq | None = None  # the factor of the note after a broken rhythm sign
    left: int = 0  # notes left in a tuplet
    factor: mpq = field(default_factory=lambda: mpq(1))


def split_tunes(text: str) -> list[str]:
    """The tunes of a book, each from its ``X:`` on."""
    return ["X:" + part for part in re.split(r"^X:", text, flags=re.M)[1:]]


def count_tune(text: str) -> list[tuple[bool, mpq]]:
    """Every chord, note and rest of a tune with its length, voice by voice in order of writing."""
    metre, unit = mpq(1), None
    voices: dict[str, _Voice] = {}
    voice = ""
    in_body = False
    for line in text.splitlines():
        line = line.split("%")[0].rstrip()
        found = re.match(r"([A-Za-z]):\s*(.*)", line)
        if found:
            name, value = found.groups()
            if name == "M":
                metre = _metre(value)
                if in_body and voice in voices:
                    voices[voice].metre = metre
            elif name == "L":
                unit = mpq(value.strip())
                if in_body:
                    for each in voices.values():
                        each.unit = unit
            elif name == "V" and in_body:
                voice = value.split()[0] if value.split() else ""
            elif name == "K":
                in_body = True
            continue
        if not in_body:
            continue
        line = line.rstrip("\\")
        base = unit if unit is not None else (mpq(1, 16) if metre < mpq(3, 4) else mpq(1, 8))
        for token in _TOKEN.finditer(line):
            if token["field"]:
                inner = re.match(r"\[([A-Za-z]):\s*([^\]]*)\]", token["field"])
                assert inner is not None
                if inner[1] == "L":
                    unit = mpq(inner[2].strip())
                    for each in voices.values():
                        each.unit = unit
                elif inner[1] == "V":
                    voice = inner[2].split()[0]
                elif inner[1] == "M":
                    metre = _metre(inner[2])
                continue
            own = voices.get(voice)
            if own is None:
                own = voices[voice] = _Voice(base, metre)
            _take(own, token)
    return [each for own in voices.values() for each in own.lengths]


def _metre(text: str) -> mpq:
    text = text.strip()
    if text in ("C", "C|", "", "none"):
        return mpq(1)
    found = re.search(r"\(?([\d+]+)\)?/(\d+)", text)
    if found is None:
        return mpq(1)
    return mpq(sum(map(int, found[1].split("+"))), int(found[2]))


def _take(own: _Voice, token: re.Match[str]) -> None:
    if token["tuplet"]:
        p = int(token["p"])
        compound = own.metre.denominator == 8 and own.metre.numerator % 3 == 0
        usual = {2: 3, 3: 2, 4: 3, 6: 2, 8: 3}.get(p, 3 if compound else 2)
        q = int(token["q"]) if token["q"] else usual
        own.left = int(token["r"]) if token["r"] else p
        own.factor = mpq(q, p)
        return
    if token["broken"] and own.lengths:
        count = len(token["broken"])
        short, long = mpq(1, 2**count), 2 - mpq(1, 2**count)
        first, second = (long, short) if token["broken"][0] == ">" else (short, long)
        rest, length = own.lengths[-1]
        own.lengths[-1] = (rest, length * first)
        own.waiting = second
        return
    groups = token.groups()
    if token["note"]:
        name = token["note"][-1] if token["note"][-1] in "zxZX" else ""
        at = token.re.groupindex["note"] + 1
    elif token["chord"]:
        name, at = "", token.re.groupindex["chord"]
    else:
        return
    number, slashes, below = groups[at : at + 3]
    length = _length(number, slashes, below)
    if token["chord"]:
        inner = re.search(_NOTE + _LENGTH, token["chord"])
        if inner is None:
            return
        length *= _length(inner[2], inner[3], inner[4])
    length *= own.metre if name in ("Z", "X") and name else own.unit
    if own.left:
        length *= own.factor
        own.left -= 1
    if own.waiting is not None:
        length *= own.waiting
        own.waiting = None
    own.lengths.append((bool(name), length))


def _length(number: str, slashes: str, below: str) -> mpq:
    top = mpq(int(number)) if number else mpq(1)
    if not slashes:
        return top
    return top / (int(below) if below else 2 ** len(slashes))
