"""Whether a sung line is beamed by the syllable, as older vocal music is.

In such a line a note that takes a new syllable has a flag of its own, and only the notes of one
syllable share a beam. It is a style that a copyist keeps, and it shows in how the source beamed
notes that would else stand under one beam.

Conventions
-----------
What is looked at is how the events were written (their pieces), before they are spelled anew.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from rhythm.notate.beams import FLAGS
from rhythm.score.model import Event

__all__ = ["is_syllabic"]

_LEAST = 4
"""Fewer parted pairs than this say nothing about a style."""


def is_syllabic(events: Sequence[Event]) -> bool:
    """True where notes with syllables of their own, close together in a beat, are not joined."""
    joined = parted = 0
    for before, after in pairwise(events):
        if not after.verses or before.is_rest or after.is_rest:
            continue
        if not before.pieces or not after.pieces:
            continue
        left, right = before.pieces[-1], after.pieces[0]
        if not (left.type in FLAGS and right.type in FLAGS):
            continue
        if (
            left.bar != right.bar
            or left.end != right.offset
            or 4 * left.offset // 1 != (4 * right.offset // 1)
        ):
            continue
        if right.beams[:1] in (("continue",), ("end",)):
            joined += 1
        else:
            parted += 1
    return parted >= max(_LEAST, 4 * joined)
