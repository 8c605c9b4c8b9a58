"""Where along a held note its pieces begin and end: as it was read, and as it is written now.

What a later piece of a tied note carried, a slur that begins on it say, belongs to a moment in the
music. The moment is known by the bar and by how far through the bar's share of the note it is, for
the values themselves may have changed.

Conventions
-----------
A piece is its bar (anything that tells bars apart) and its length in any one unit. Places count one
for every bar that the note sounds in; where a note lasts over another number of bars than it did,
they count one for the whole note.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby

from gmpy2 import mpq
from lxml import etree

from rhythm.exact.values import NOTE_TYPES
from rhythm.formats.musicxml.read.note_reader import MOST_DOTS, decimal, exact_value

__all__ = ["HeldPiece", "alike", "first_and_last", "piece_read"]

HeldPiece = tuple[object, mpq]
"""The bar of a piece, and its length."""

Stretch = tuple[mpq, mpq]


def piece_read(note: etree._Element) -> HeldPiece:
    """The bar and the length of a ``note`` element: as its symbol says, else as its ticks do."""
    type, dots = (note.findtext("type") or "").strip(), len(note.findall("dot"))
    ratio = note.find("time-modification")
    numbers = (
        [decimal(ratio.findtext(tag) or "") for tag in ("actual-notes", "normal-notes")]
        if ratio is not None
        else [mpq(1), mpq(1)]
    )
    actual, normal = (int(number) if number and number > 0 else 1 for number in numbers)
    if type in NOTE_TYPES and dots <= MOST_DOTS:
        return note.getparent(), exact_value(type, dots, actual, normal)
    return note.getparent(), decimal(note.findtext("duration") or "") or mpq(0)


def alike(count: int) -> list[HeldPiece]:
    """So many pieces of which nothing is known: of one length, in one bar."""
    return [(None, mpq(1))] * count


def first_and_last(
    read: Sequence[HeldPiece], written: Sequence[HeldPiece]
) -> list[tuple[int, int]]:
    """For every piece that was read, the pieces written now where it begins and where it ends.

    Those are the ones that begin and end nearest to it, the earlier of two that are as near.
    """
    by_bar = len(_runs(read)) == len(_runs(written))
    old, new = _stretches(read, by_bar), _stretches(written, by_bar)
    pieces = range(len(new))
    return [
        (
            min(pieces, key=lambda i: abs(new[i][0] - start)),
            min(pieces, key=lambda i: abs(new[i][1] - end)),
        )
        for start, end in old
    ]


def _runs(pieces: Sequence[HeldPiece]) -> list[list[mpq]]:
    return [[length for _, length in group] for _, group in groupby(pieces, key=lambda p: id(p[0]))]


def _stretches(pieces: Sequence[HeldPiece], by_bar: bool) -> list[Stretch]:
    runs = _runs(pieces) if by_bar else [[length for _, length in pieces]]
    found: list[Stretch] = []
    for bar, lengths in enumerate(runs):
        total = sum(lengths, mpq(0))
        if total <= 0:
            lengths, total = [mpq(1)] * len(lengths), mpq(len(lengths))
        at = mpq(bar)
        for length in lengths:
            found.append((at, at + length / total))
            at += length / total
    return found
