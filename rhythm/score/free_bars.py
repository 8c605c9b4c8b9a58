"""Bars without a metre behind bars that were given one: they stay free, and the page says so.

A file that shows no signature leaves its bars free; one that is shown in them holds until the next.
"""

from __future__ import annotations

from collections.abc import Iterable

from rhythm.exact.metre import Metre
from rhythm.score.model import Bar

__all__ = ["still_free"]


def still_free(bars: Iterable[Bar]) -> tuple[Bar, ...]:
    """The bars, those without a metre behind one with a metre in senza misura (MusicXML 4.0)."""
    made: list[Bar] = []
    for bar in bars:
        before = made[-1].metre if made else None
        if bar.metre is None and before is not None:
            free = Metre.from_signature((), senza=True)
            bar = bar.replace(metre=free, shows_metre=not before.senza)
        made.append(bar)
    return tuple(made)
