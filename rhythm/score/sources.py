"""What a note carries that was made from another: a share of it, its look, or all of it backwards.

A note's ``sources`` are what a format read, opaque to everyone else. Where a transformation makes
several notes of one, or turns a line round, it says so around the sources; the format that read
them knows what of a note stays at its front and what goes to its end.
"""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from functools import singledispatch

from rhythm.exact.frozen import dataclass

__all__ = [
    "Absorbing",
    "Bare",
    "Crossing",
    "Portion",
    "Turned",
    "absorbing",
    "backwards",
    "bare",
    "crossing",
    "portion",
    "said",
    "say_the_same",
]


@singledispatch
def said(source: object) -> Hashable:
    """What a source says besides the rhythm, as a value to compare; a format registers its own.

    Of what no format knows, two sources say the same where they are equal.
    """
    assert isinstance(source, Hashable)
    return source


def say_the_same(some: Sequence[object], others: Sequence[object]) -> bool:
    """Do two rows of sources say the same, one by one?"""
    return some is others or (
        len(some) == len(others)
        and all(
            one is other or said(one) == said(other)
            for one, other in zip(some, others, strict=True)
        )
    )


@dataclass(frozen=True, slots=True)
class Portion:
    """What one of ``count`` notes made from one carries of its ``sources``; ``index`` is from 0."""

    sources: tuple[object, ...]
    index: int
    count: int


@dataclass(frozen=True, slots=True)
class Absorbing:
    """The ``sources`` of a note that goes on where others were: what ended there ends on it."""

    sources: tuple[object, ...]
    others: tuple[object, ...]


@dataclass(frozen=True, slots=True)
class Bare:
    """The ``sources`` of a note that sounds a second time: it looks alike and carries nothing."""

    sources: tuple[object, ...]


@dataclass(frozen=True, slots=True)
class Turned:
    """The ``sources`` of a note that stands in reversed order: its slurs and slides run back."""

    sources: tuple[object, ...]


@dataclass(frozen=True, slots=True)
class Crossing:
    """The ``sources`` of a note at the edge of a passage, where a span begins or ends besides.

    ``ends`` are those of the spans: the kind, then its attributes (``slur type=stop number=1``).
    """

    sources: tuple[object, ...]
    ends: tuple[str, ...]


def portion(sources: tuple[object, ...], index: int, count: int) -> tuple[object, ...]:
    """The sources of one of ``count`` notes made from a note with these."""
    return (Portion(sources, index, count),) if sources else ()


def absorbing(sources: tuple[object, ...], others: tuple[object, ...]) -> tuple[object, ...]:
    """The sources of a note that takes the time of notes with those ``others`` after it."""
    return (Absorbing(sources, others),) if sources and others else sources


def bare(sources: tuple[object, ...]) -> tuple[object, ...]:
    """The sources of a note that sounds a second time."""
    return (Bare(sources),) if sources else ()


def crossing(sources: tuple[object, ...], end: str) -> tuple[object, ...]:
    """The sources of a note on which a span that is cut at a passage's edge begins or ends."""
    first = sources[0] if sources else None
    if isinstance(first, Crossing):
        return (Crossing(first.sources, (*first.ends, end)),)
    return (Crossing(sources, (end,)),) if sources else ()


def backwards(sources: tuple[object, ...]) -> tuple[object, ...]:
    """The sources in reversed order; twice is not at all."""
    if not sources:
        return ()
    first = sources[0]
    if len(sources) == 1 and isinstance(first, Turned):
        return first.sources
    return (Turned(sources),)
