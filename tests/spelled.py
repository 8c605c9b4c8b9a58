"""One voice in one bar as text, before and after spelling.

Before: durations in whole notes, ``r`` before a rest, ``-`` before a gap, ``*3`` after what comes
three times: ``1/4 r1/8 1/12*3 -1/4``. After: note values by their number (``8.`` a dotted eighth,
``B`` a breve, ``bar`` a whole-bar rest), ``r`` before a rest, ``~`` after a value tied on, ``(``
and ``)`` around a beam, tuplets as ``3:2[8 8 8]``.
"""

from __future__ import annotations

from gmpy2 import mpq

from rhythm.exact.metre import Metre
from rhythm.notate.bar_notation import Item, spell_bar
from rhythm.score.model import Piece

LETTERS = {
    "maxima": "X", "long": "L", "breve": "B", "whole": "1", "half": "2", "quarter": "4",
    "eighth": "8", "16th": "16", "32nd": "32", "64th": "64", "128th": "128", "256th": "256",
    "512th": "512", "1024th": "1024",
}  # fmt: skip


def items_of(text: str, dots: int = 1) -> list[Item]:
    """The items a rhythm's text stands for."""
    items: list[Item] = []
    at = mpq(0)
    for token in text.split():
        word, _, times = token.partition("*")
        duration = mpq(word.lstrip("r-"))
        for _ in range(int(times or 1)):
            if not word.startswith("-"):
                items.append(Item(at, duration, word.startswith("r"), dots))
            at += duration
    return items


def spelled(
    metre: str, text: str, *, length: str = "", shift: str = "0", dots: int = 1, hooks: bool = False
) -> str:
    """How a rhythm is written in a bar of ``metre``; ``hooks`` shows every beam level."""
    m = Metre.parse(metre)
    items = items_of(text, dots)
    rows = spell_bar(m, mpq(length) if length else m.length, mpq(shift), items)
    return shown(items, rows, hooks=hooks)


def shown(items: list[Item], rows: list[list[Piece]], *, hooks: bool = False) -> str:
    """The pieces of each item as text."""
    pieces = [
        (piece, item.rest, piece is not row[-1])
        for item, row in zip(items, rows, strict=True)
        for piece in row
    ]
    words: list[str] = []
    for i, (piece, rest, tied) in enumerate(pieces):
        before = pieces[i - 1][0].tuplets if i else ()
        after = pieces[i + 1][0].tuplets if i + 1 < len(pieces) else ()
        name = "bar" if piece.whole_bar else LETTERS[piece.type] + "." * piece.dots
        word = ("r" if rest else "") + name + ("~" if tied and not rest else "")
        if hooks:
            word += "".join(_SIGNS[beam] for beam in piece.beams)
        elif piece.beams:
            word = {"begin": "("}.get(piece.beams[0], "") + word
            word += {"end": ")"}.get(piece.beams[0], "")
        opening = "".join(f"{t.actual}:{t.normal}[" for t in piece.tuplets if t not in before)
        closing = "]" * sum(t not in after for t in piece.tuplets)
        words.append(opening + word + closing)
    return " ".join(words)


_SIGNS = {"begin": "<", "continue": "=", "end": ">", "forward hook": "/", "backward hook": "\\"}
