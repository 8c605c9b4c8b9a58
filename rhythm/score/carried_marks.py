"""How far a mark reaches and how long it lasts, once the music under it has moved.

Where a mark goes is for the verb to say that moved the music, bar by bar or onto new bars. What it
reaches from there follows one rule for all of them.

Conventions
-----------
``place`` gives the new position of an old one, whole notes on both sides. Of figured basses that
follow one another at one place each begins where the one before it ends; how far behind that place
is its *lead*.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator

from gmpy2 import mpq

from rhythm.score.model import Mark

__all__ = ["carried", "with_leads"]


def with_leads(marks: Iterable[Mark]) -> Iterator[tuple[Mark, mpq]]:
    """Every mark with its lead: 0 but for a figured bass behind another at its place."""
    before: Mark | None = None
    lead = mpq(0)
    for mark in marks:
        if mark.kind != "figured-bass":
            yield mark, mpq(0)
            continue
        follows = before is not None and _place(before) == _place(mark)
        lead = lead + before.length if before is not None and follows else mpq(0)
        before = mark
        yield mark, lead


def _place(mark: Mark) -> tuple[mpq, int, str]:
    return mark.onset, mark.bar, mark.stream


def carried(mark: Mark, at: mpq, lead: mpq, place: Callable[[mpq], mpq]) -> Mark:
    """The mark, that stood at the old position ``at``, with its reach and length in the new time.

    Music that runs backwards turns a length about, which stays a length.
    """
    if not mark.reach and not mark.length:
        return mark
    start = at + lead
    return mark.replace(
        reach=place(at + mark.reach) - place(at) if mark.reach else mark.reach,
        length=abs(place(start + mark.length) - place(start)) if mark.length else mark.length,
    )
