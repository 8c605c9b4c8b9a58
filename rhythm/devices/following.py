"""Where positions go when notes are laid on other values: with the first note at or after them.

Between notes that were laid on new values there is no map of time a reader would recognise: a
position goes where the first note at or after it goes, in its own voice; behind the last note of a
section, to the end of the section.

Conventions
-----------
Positions are whole notes from the passage's start. A voice without notes in a section follows the
first voice of its part that has some, a silent part the first voice that sounds.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Callable, Sequence

from gmpy2 import mpq

from rhythm.rebar.passage import ByVoice, Passage

__all__ = ["Moves", "follow"]

Moves = Sequence[tuple[mpq, mpq]]
"""Where the notes of a voice began, in order, and where they begin."""


def follow(
    passage: Passage, edges: Sequence[mpq], images: Sequence[mpq], moves: Sequence[Sequence[Moves]]
) -> ByVoice:
    """The map of time, by voice: ``edges`` of sections go to ``images``, the rest with its notes.

    ``moves`` are the notes of every section, by strand. The edges rise and begin with 0.
    """

    def led_by(leaders: Sequence[int]) -> Callable[[mpq], mpq]:
        lines = [next((section[s] for s in leaders if section[s]), ()) for section in moves]

        def image(at: mpq) -> mpq:
            i = min(max(0, bisect_right(edges, at) - 1), len(edges) - 1)
            if edges[i] == at or i == len(lines):
                return images[i]
            k = bisect_left(lines[i], at, key=lambda move: move[0])
            return lines[i][k][1] if k < len(lines[i]) else images[i + 1]

        return image

    everyone = range(len(passage.strands))
    voices: dict[tuple[int, str], Callable[[mpq], mpq]] = {}
    for s, strand in enumerate(passage.strands):
        part = [k for k in everyone if passage.strands[k].part == strand.part]
        voices[strand.part, passage.voice(strand).name] = led_by([s, *part, *everyone])
        voices.setdefault((strand.part, ""), led_by([*part, *everyone]))
    return ByVoice(led_by(everyone), voices)
