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

__all__ = ["Task", "line_of", "lot", "part_of", "with_voice"]


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


def line_of(score: Score) -> Voice:
    """The one voice of the score. Raises MusicError where there are several."""
    sounding = [
        voice
        for voice in part_of(score).voices
        if any(event.visible and not event.is_rest for event in voice.events)
    ]
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
