"""Which channel of a MIDI file each part plays on, with which instruments, and how keys that meet
on one are told apart.

Conventions
-----------
A MIDI port has sixteen channels, of which the tenth is percussion (General MIDI Level 1), so that
fifteen parts have one each. Where there are more, parts with the same instrument share one; where
there are more instruments than channels, further ports are taken. Channels and ports count from 0,
moments are ticks.
"""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import replace
from typing import NamedTuple

from gmpy2 import mpq

from rhythm.exact.frozen import dataclass
from rhythm.show.performed import Tone

__all__ = ["DRUMS", "Held", "Place", "apart", "places_of", "programs_of"]

DRUMS = 9
_BOWED = frozenset({None, 41, 42, 43, 44, 45, 49, 50, 51, 52})
_STRINGS, _PLUCKED = 49, 46
_OTHERS = tuple(channel for channel in range(16) if channel != DRUMS)


class Place(NamedTuple):
    """A port, and a channel of it."""

    port: int
    channel: int


@dataclass(frozen=True, slots=True)
class Held:
    """A key held down from ``start`` to ``end`` by a track, on a channel."""

    place: Place
    key: int
    start: int
    end: int
    track: int
    loudness: int


def places_of(programs: Sequence[Hashable]) -> list[Place]:
    """Where each part plays, by what its instrument is; only those of one kind share."""
    kinds = list(dict.fromkeys(programs))
    spare = max(0, len(_OTHERS) - len(kinds))
    taken: dict[Hashable, int] = {}
    found: list[int] = []
    further = len(kinds)
    for program in programs:
        if program not in taken:
            taken[program] = kinds.index(program)
            found.append(taken[program])
        elif spare:
            found.append(further)
            further, spare = further + 1, spare - 1
        else:
            found.append(taken[program])
    return [Place(at // len(_OTHERS), _OTHERS[at % len(_OTHERS)]) for at in found]


def programs_of(program: int | None, tones: Sequence[Tone]) -> list[tuple[mpq, int]]:
    """(moment, program) of a part: its instrument, and plucked strings where they are asked for.

    Programs are those of General MIDI, 1 to 128. A part that names no instrument and is plucked is
    of strings; what is not bowed stays what it is.
    """
    if not any(tone.plucked for tone in tones) or program not in _BOWED:
        return [(mpq(0), program)] if program is not None else []
    bowed = program or _STRINGS
    found = [(mpq(0), bowed)]
    for tone in tones:
        wanted = _PLUCKED if tone.plucked else bowed
        if wanted != found[-1][1]:
            found.append((tone.start, wanted))
    return found


def apart(held: Sequence[Held]) -> list[Held]:
    """The same with no key of a channel let go while somebody still holds it.

    A key that is struck again while it is held is let go just then, and held on to the latest end
    of both. Struck at once by one track it is struck once, the louder way.
    """
    found: list[Held] = []
    by_key: dict[tuple[Place, int], list[Held]] = {}
    for each in held:
        by_key.setdefault((each.place, each.key), []).append(each)
    for notes in by_key.values():
        notes.sort(key=lambda each: (each.start, each.track))
        going: list[Held] = []
        for each in notes:
            if going and going[0].end > each.start:
                end = max(going[0].end, each.end)
                if going[0].start < each.start:
                    found += [replace(other, end=each.start) for other in going]
                    going = [replace(each, end=end)]
                    continue
                going = [replace(other, end=end) for other in going]
                if going[-1].track == each.track:
                    louder = max(going[-1].loudness, each.loudness)
                    going[-1] = replace(going[-1], loudness=louder)
                else:
                    going.append(replace(each, end=end))
                continue
            found += going
            going = [each]
        found += going
    return found
