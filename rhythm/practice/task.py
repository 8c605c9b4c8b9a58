"""What a task is, and what its kinds share: the lot, the one voice, the one part.

Conventions
-----------
What is drawn by lot depends on the seed and the place alone, by a hash: the same on any machine.
Scores have one part.
"""

from __future__ import annotations

from hashlib import sha256

from rhythm.exact.errors import MusicError
from rhythm.exact.frozen import dataclass
from rhythm.score.model import Part, Score, Voice

__all__ = ["Task", "hand_of", "line_of", "lot", "part_of", "with_voice"]


@dataclass(frozen=True, slots=True)
class Task:
    """What is asked, in one sentence; the pupil's score; the key's score and its words.

    ``sounds`` is what is to be played, by name: ``play`` to the class, the others to compare.
    """

    asks: str
    pupil: Score
    key: Score
    answer: str
    sounds: tuple[tuple[str, Score], ...] = ()


def lot(seed: int, *place: object) -> int:
    """A number drawn for a place."""
    text = ":".join(map(str, (seed, *place)))
    return int.from_bytes(sha256(text.encode()).digest()[:6], "big")


def part_of(score: Score) -> Part:
    """The one part of the score."""
    (part,) = score.parts
    return part


def _strokes(voice: Voice) -> int:
    return sum(event.visible and not event.is_rest and event.duration > 0 for event in voice.events)


def _kinds(voice: Voice) -> int:
    return len({event.duration for event in voice.events if event.visible and not event.is_rest})


def hand_of(score: Score) -> tuple[Voice, str]:
    """The voice that carries the rhythm, and where it is: "" where it is the only one.

    It is the one with the most kinds of values, of several that with the most strokes: a tune
    rather than the even notes under it. ``in the upper staff`` it is where the part has two, ``in
    the lower voice`` where they share one. Raises MusicError where none sounds.
    """
    sounding = [voice for voice in part_of(score).voices if _strokes(voice)]
    if not sounding:
        raise MusicError("nothing sounds in this music")
    busiest = max(sounding, key=lambda voice: (_kinds(voice), _strokes(voice)))
    if len(sounding) == 1:
        return busiest, ""
    staves = [{n.staff or "1" for e in voice.events for n in e.notes} for voice in sounding]
    at = sounding.index(busiest)
    shared = [other for other in sounding if staves[sounding.index(other)] & staves[at]]
    places = []
    if len(set().union(*staves)) > 1:
        places.append(f"{'upper' if '1' in staves[at] else 'lower'} staff")
    if len(shared) > 1:
        places.append("upper voice" if shared[0] is busiest else "lower voice")
    return busiest, "in the " + " of the ".join(reversed(places))


def line_of(score: Score) -> Voice:
    """The one voice of the score. Raises MusicError where there are several."""
    sounding = [voice for voice in part_of(score).voices if _strokes(voice)]
    if len(sounding) != 1:
        raise MusicError(
            "this task is made of one voice, and there are several", legal="name one with --voice"
        )
    return sounding[0]


def with_voice(score: Score, voice: Voice) -> Score:
    """The score with this voice for the one of its name."""
    part = part_of(score)
    voices = tuple(voice if each.name == voice.name else each for each in part.voices)
    return score.replace(parts=(part.replace(voices=voices),))
