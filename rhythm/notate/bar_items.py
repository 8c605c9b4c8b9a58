"""What spelling passes around inside one bar: stretches of items, and the symbols they become.

Conventions
-----------
A :class:`Slot` is one item (or a part of one) in the time of its grid; a :class:`Sign` one written
symbol of it. Inside a tuplet the grid counts written time from the tuplet's start.
"""

from __future__ import annotations

from typing import NamedTuple

from gmpy2 import mpq

from rhythm.score.model import Tuplet

__all__ = ["Hint", "Sign", "Slot"]


class Hint(NamedTuple):
    """A tuplet the source wrote around an item: its ratio, and a key that the group shares.

    ``share`` is how much of the tuplet the item was, where that is known: a group of which some
    has gone elsewhere is no tuplet any more.
    """

    actual: int
    normal: int
    key: int
    share: mpq | None = None


class Slot(NamedTuple):
    """A stretch of the item numbered ``item``: where it stands, and what may be done with it.

    ``bound`` says that its hints are binding: those brackets are written, whatever plain values
    would say, and no others but where nothing else can write it.
    """

    item: int
    start: mpq
    end: mpq
    rest: bool = False
    dots: int = 1
    hints: tuple[Hint, ...] = ()
    bound: bool = False


class Sign(NamedTuple):
    """One written symbol of an item, with the tuplets around it, outermost first."""

    item: int
    start: mpq
    end: mpq
    type: str
    dots: int
    ratio: tuple[int, int] = (1, 1)
    tuplets: tuple[Tuplet, ...] = ()
