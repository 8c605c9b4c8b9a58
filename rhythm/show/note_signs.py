"""Note values as signs of music in text, and in words.

Conventions
-----------
Signs are characters of the Standard Music Font Layout for metronome marks and text (from U+ECA0),
shown by :mod:`rhythm.show.music_font`. Tied pieces are joined by a tie, ``‿``; a tuplet's note is
followed by its number, as in a triplet's ``3``.
"""

from __future__ import annotations

from gmpy2 import mpq

from rhythm.exact.values import TUPLET_NAMES, name_value, symbol
from rhythm.score.model import Event, Piece

__all__ = ["TIE", "event_signs", "pattern_signs", "rest_signs", "value_signs"]

TIE = "‿"
_DOT = "\uecb7"
_NOTES = {
    "breve": "\ueca0", "whole": "\ueca2", "half": "\ueca3", "quarter": "\ueca5",
    "eighth": "\ueca7", "16th": "\ueca9", "32nd": "\uecab", "64th": "\uecad", "128th": "\uecaf",
    "256th": "\uecb1", "512th": "\uecb3", "1024th": "\uecb5",
}  # fmt: skip
_RESTS = {
    "breve": "\ue4e2", "whole": "\ue4e3", "half": "\ue4e4", "quarter": "\ue4e5",
    "eighth": "\ue4e6", "16th": "\ue4e7", "32nd": "\ue4e8", "64th": "\ue4e9", "128th": "\ue4ea",
}  # fmt: skip
_NUMBERS = {"triplet": 3, "quintuplet": 5, "septuplet": 7, "nonuplet": 9}


def event_signs(event: Event) -> str:
    """How an event is written: its pieces as signs, tied; its value's signs where not written."""
    signs = [_piece(piece, event.is_rest) for piece in event.pieces]
    if not signs or not all(signs):
        return value_signs(event.duration)
    return (" " if event.is_rest else TIE).join(signs)


def value_signs(length: mpq) -> str:
    """A value as signs: one where it has a symbol, several tied, or its fraction."""
    written = symbol(length, 2)
    if written is not None and written[0] in _NOTES:
        return _NOTES[written[0]] + _DOT * written[1]
    for name, number in _NUMBERS.items():
        plain = symbol(length / TUPLET_NAMES[name])
        if plain is not None and plain[0] in _NOTES:
            return _NOTES[plain[0]] + _DOT * plain[1] + _small(number)
    parts = name_value(length).split(" + ")
    if len(parts) == 1:
        return parts[0]
    return TIE.join(value_signs(_named(part)) for part in parts)


def rest_signs(length: mpq) -> str:
    """A silence as signs: one rest where it has a symbol, else the value's own signs."""
    written = symbol(length, 2)
    if written is not None and written[0] in _RESTS:
        return _RESTS[written[0]] + _DOT * written[1]
    return value_signs(length)


def pattern_signs(pattern: str) -> str:
    """A beat pattern of a report (``1/8 1/16‿``) as signs."""
    opened, closed = pattern.startswith(TIE), pattern.endswith(TIE)
    signs = [value_signs(mpq(text)) for text in pattern.strip(TIE).split()]
    return (TIE if opened else "") + " ".join(signs) + (TIE if closed else "")


def _named(words: str) -> mpq:
    from rhythm.exact.values import value

    return value(words)


def _piece(piece: Piece, rest: bool) -> str:
    table = _RESTS if rest else _NOTES
    if piece.type not in table:
        return ""
    signs = table[piece.type] + _DOT * piece.dots
    if piece.tuplets and piece.ratio != (1, 1):
        signs += _small(piece.tuplets[-1].actual)
    return signs


def _small(number: int) -> str:
    """The number of a tuplet as small raised digits."""
    return "".join("⁰¹²³⁴⁵⁶⁷⁸⁹"[int(digit)] for digit in str(number))
