"""Names for the events of a score, so that a drawing and a sound can say which one they mean.

An event is named by its place: ``2-0-17`` is the eighteenth event of the first voice of the third
part, all counted from 0. A prefix tells the events of two scores on one page apart (``a2-0-17``).
The names hold for one :class:`~rhythm.score.model.Score` value; a changed score has its own.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from rhythm.score.model import Event, Part, Score, Voice

__all__ = ["Named", "event_name", "named_events"]


class Named(NamedTuple):
    """An event with its name and what it stands in."""

    name: str
    part: Part
    voice: Voice
    event: Event


def event_name(part: int, voice: int, event: int, prefix: str = "") -> str:
    """The name of an event by the indices of its part, its voice in that, and its own in that."""
    return f"{prefix}{part}-{voice}-{event}"


def named_events(score: Score, prefix: str = "") -> Iterator[Named]:
    """Every event with its name, part by part and voice by voice."""
    for i, part in enumerate(score.parts):
        for j, voice in enumerate(part.voices):
            for k, event in enumerate(voice.events):
                yield Named(event_name(i, j, k, prefix), part, voice, event)
