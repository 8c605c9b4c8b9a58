"""How alike two exercises are to a player: which share of their values differs.

Conventions
-----------
A value is what stands at a place of a bar: its place in the metre, how long it lasts, whether it
sounds, on which pitches, and the accents and groups of beams it is written with.
"""

from __future__ import annotations

from difflib import SequenceMatcher

from rhythm.score.model import Event, Score

__all__ = ["alike", "values_of"]

Value = tuple[object, ...]

_LEAST_DIFFERENCE = (1, 5)  # one value in five


def values_of(score: Score) -> tuple[Value, ...]:
    """What a player reads, voice by voice, in order."""
    found: list[Value] = []
    for part in score.parts:
        for voice in part.voices:
            sounding = [e for e in voice.events if e.visible and e.duration > 0]
            found += [_value(event, part.bars[event.bar].metre) for event in sounding]
    return tuple(found)


def _value(event: Event, metre: object) -> Value:
    first = event.pieces[0] if event.pieces else None
    place = first.offset if first else None
    written = tuple((p.type, p.dots, p.ratio, p.beams) for p in event.pieces)
    added = tuple(each.kind for each in event.additions if each.kind != "lyric")
    return (str(metre), place, event.duration, event.is_rest, event.pitches, written, added)


def alike(one: tuple[Value, ...], other: tuple[Value, ...]) -> bool:
    """Whether fewer than one value in five differs between the two."""
    most = max(len(one), len(other))
    if not most:
        return True
    same = sum(b.size for b in SequenceMatcher(None, one, other, False).get_matching_blocks())
    differing = most - same
    share, of = _LEAST_DIFFERENCE
    return differing * of < share * most
