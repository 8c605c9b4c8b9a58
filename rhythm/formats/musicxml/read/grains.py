"""The grain of a part: the largest length of which a quarter and all its durations are multiples.

Divisions alone do not tell how finely a file counts: a writer may count in 480ths of a quarter and
use only multiples of 120. Rounding is judged by the grain, so that a file with twice the divisions
and twice the durations is read alike.
"""

from __future__ import annotations

from collections.abc import Sequence

from gmpy2 import gcd, lcm, mpq
from lxml import etree

from rhythm.formats.musicxml.read.note_reader import decimal

__all__ = ["Grains"]


class Grains:
    """The grains of one part by the divisions in force; worked out when first asked for."""

    def __init__(self, measures: Sequence[etree._Element]) -> None:
        self._measures = measures
        self._found: dict[mpq, mpq] | None = None

    def __call__(self, divisions: mpq) -> mpq:
        """The grain under these divisions (per quarter), in whole notes."""
        if self._found is None:
            self._found = _grains(self._measures)
        return self._found.get(divisions) or 1 / (4 * divisions)


def _grains(measures: Sequence[etree._Element]) -> dict[mpq, mpq]:
    texts: dict[mpq, set[str]] = {}
    under: set[str] = set()
    for measure in measures:
        for element in measure.iter("divisions", "duration"):
            if element.tag == "duration":
                under.add(element.text or "")
                continue
            divisions = decimal(element.text or "")
            if divisions:
                under = texts.setdefault(divisions, set())
    return {
        divisions: _common(divisions, found) / (4 * divisions) for divisions, found in texts.items()
    }


def _common(divisions: mpq, texts: set[str]) -> mpq:
    """The greatest number of ticks of which the divisions and all these are multiples."""
    numbers = [divisions, *(number for number in map(decimal, texts) if number)]
    below = lcm(*(number.denominator for number in numbers))
    return mpq(gcd(*(int(number * below) for number in numbers)), below)
