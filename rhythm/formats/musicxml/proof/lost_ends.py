"""Proof that a span lost an end only where its partner is gone.

Music that was cut out or put in another order may hold the end of a slur or a hairpin without its
beginning; what has no partner is not written. An end that the file lacks is excused where it could
have none: where no beginning that is lost too, or stands there alone, comes before it, and behind a
beginning no such end.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import NamedTuple

from gmpy2 import mpq

from rhythm.formats.musicxml.proof.keys import Key
from rhythm.formats.musicxml.write.spans import IN_DIRECTIONS, ON_NOTES, End, ends_of, loose
from rhythm.score.model import Part

__all__ = ["LostEnd", "is_end", "with_partner"]

_ENDS = frozenset({
    "start", "stop", "crescendo", "diminuendo", "up", "down", "sostenuto",
})  # fmt: skip

_Place = tuple[int, mpq]


class LostEnd(NamedTuple):
    """An end that the file lacks: ``said`` as it was meant, and between which places it stood."""

    said: Key
    bar: int
    earliest: mpq
    latest: mpq
    home: str = ""

    @property
    def kind(self) -> tuple[str, str]:
        """Its name and number."""
        return _name(self.said), dict(self.said[1]).get("number") or "1"

    @property
    def starts(self) -> bool:
        """Whether it begins a span."""
        return dict(self.said[1]).get("type") != "stop"


def _name(thing: Key) -> str:
    return thing[0].rpartition("/")[2]


def is_end(thing: Key) -> bool:
    """Is this the beginning or the end of a span, and no point on its way?"""
    return _name(thing) in ON_NOTES | IN_DIRECTIONS and dict(thing[1]).get("type", "") in _ENDS


def with_partner(lost: Iterable[LostEnd], written: Part) -> LostEnd | None:
    """The first of the ``lost`` ends that has a partner still, lost too or alone in the file."""
    missing = list(lost)
    if not missing:
        return None
    others: list[tuple[tuple[str, ...], bool, _Place, _Place]] = [
        (each.kind, each.starts, (each.bar, each.earliest), (each.bar, each.latest))
        for each in missing
    ]
    others += (
        (end.key[:2], end.starts, (end.bar, end.tick), (end.bar, end.tick))
        for end in loose(_ends(written))
    )
    for each in missing:
        earliest, latest = (each.bar, each.earliest), (each.bar, each.latest)
        for kind, begins, first, last in others:
            parted = latest < first if each.starts else last < earliest
            if kind == each.kind and begins != each.starts and parted:
                return each
    return None


def _ends(part: Part) -> Iterator[End]:
    """All ends that stand in a part of the file, in its order as far as matters."""
    order = 0
    for voice in part.voices:
        for event in voice.events:
            sources = [*event.graces, *(s for n in event.notes for s in n.sources), *event.after]
            for end in (each for source in sources for each in ends_of(source)):
                order += 1
                key = (end.kind, end.number, voice.name)
                yield End(event.bar, event.onset, order, key, end.starts)
    for mark in sorted(part.marks, key=lambda mark: (mark.bar, mark.onset, mark.order)):
        for end in ends_of(mark.source) if mark.kind == "direction" else ():
            order += 1
            yield End(mark.bar, mark.onset, order, (end.kind, end.number, mark.staff), end.starts)
