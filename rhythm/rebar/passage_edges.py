"""The seams of a passage laid back into its voice: notes joined again, or honestly parted."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from rhythm.score.model import Event
from rhythm.score.ties import are_one, joined

__all__ = ["mended"]


def mended(
    source: Sequence[Event], before: list[Event], inside: list[Event], behind: list[Event]
) -> tuple[tuple[Event, ...], set[int]]:
    """The voice in one, with the notes that were cut at the passage's edges joined again.

    Where other notes met there, the ties made by cutting are taken away: in those bars.
    """
    untied: set[int] = set()
    if before and (
        before[-1].duration != source[len(before) - 1].duration or _hangs(before, inside)
    ):
        untied |= _meet(before, inside)
    left = inside or before
    if behind and (
        behind[0].duration != source[len(source) - len(behind)].duration or _hangs(left, behind)
    ):
        untied |= _meet(left, behind)
    return (*before, *inside, *behind), untied


def _hangs(left: Sequence[Event], right: Sequence[Event]) -> bool:
    """Whether a tie out of the last note leads over a silence that was not there."""
    last = next((event for event in reversed(left) if not event.is_rest), None)
    following = next((event for event in right if not event.is_rest), None)
    return (
        last is not None
        and following is not None
        and last.end != following.onset
        and any(note.tie_out for note in last.notes)
    )


def _meet(left: list[Event], right: list[Event]) -> set[int]:
    """Join the last note and the first into one, or untie them; the bars of what was untied."""
    i = next((i for i in reversed(range(len(left))) if not left[i].is_rest), None)
    k = next((k for k in range(len(right)) if not right[k].is_rest), None)
    if i is None or k is None:
        return set()
    one, other = left[i], right[k]
    if are_one(one, other):
        left[i] = joined(one, other)
        del right[k]
        return set()
    left[i] = one.replace(notes=tuple(replace(note, tie_out=False) for note in one.notes))
    right[k] = other.replace(notes=tuple(replace(note, tie_in=False) for note in other.notes))
    return {one.bar, *(piece.bar for piece in one.pieces), other.bar}
