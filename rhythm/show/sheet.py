"""A score as one drawing: all its rows under each other, as SVG that needs nothing else."""

from __future__ import annotations

from rhythm.score.model import Score
from rhythm.show.drawing import standalone
from rhythm.show.music_font import font_face
from rhythm.show.rows import rows

__all__ = ["svg"]


def svg(score: Score, *, width: int = 2100, own_systems: bool = False) -> str:
    """The score engraved as one SVG document, ``width`` tenths of a millimetre wide (500 to 20000).

    With ``own_systems`` rows break where the score says so and nowhere else. Raises RequestError
    for a width out of range, MusicError where the score cannot be engraved.
    """
    found = rows(score, breaks="own" if own_systems else "even", width=width)
    return standalone(found.drawings, font_face(found.signs) if found.signs else "")
