"""The tables of counting syllables: what is said at which place of the beat.

One table for each system, by the *family* of the beat: how the beat is divided where the syllable
falls. Sources: takadimi, Hoffman, Pelto, White 1996; du-de after Gordon; numbers, Open Music
Theory. The sevens of takadimi, and ``ta`` for the next level of the numbers, are given from memory.

Conventions
-----------
Places are fractions of the beat. ``#`` stands for the number of the beat in its bar. What a
family's table does not name takes the system's filler.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from gmpy2 import lcm, mpq

__all__ = ["FAMILIES", "SYSTEMS", "TABLES", "Table", "family", "syllable"]

FAMILIES = ("simple", "compound", "fives", "sevens", "half-triplets", "fine")
"""How a beat can be divided; ``fine`` is finer than any table, and counted by divisions."""

SYSTEMS = ("numbers", "takadimi", "gordon", "kodaly")
"""The systems of counting; kodaly names values, the others places (see ``kodaly.py``)."""


def _spread(words: str) -> dict[mpq, str]:
    """Words evenly over the beat."""
    each = words.split()
    return {mpq(i, len(each)): word for i, word in enumerate(each)}


_FIVES, _SEVENS = "ta ka di mi ti", "ta va ki di da ma ti"


@dataclass(frozen=True, slots=True)
class Table:
    """One system: its words by family, and the filler for places without a word."""

    families: dict[str, dict[mpq, str]]
    filler: str


TABLES = {
    "numbers": Table(
        {
            "simple": _spread("# e & a"),
            "compound": _spread("# ta la ta li ta"),
            "half-triplets": _spread("# la li & la li"),
        },
        "ta",
    ),
    "takadimi": Table(
        {
            "simple": _spread("ta ka di mi"),
            "compound": _spread("ta va ki di da ma"),
            "half-triplets": _spread("ta va ki di da ma"),
            "fives": _spread(_FIVES),
            "sevens": _spread(_SEVENS),
        },
        "ta",
    ),
    "gordon": Table(
        {
            "simple": _spread("du ta de ta"),
            "compound": _spread("du ta da ta di ta"),
            "half-triplets": _spread("du ta ta de ta ta"),
        },
        "ta",
    ),
}
"""The systems that name places, by name."""


def family(places: Collection[mpq], ternary: bool) -> str:
    """How a beat with onsets at these places is divided.

    A ternary beat with nothing but its half (a duplet, a quadruplet) counts as simple; a simple
    beat in thirds or sixths as compound, unless one of its halves alone holds a triplet.
    """
    grid = int(lcm(*(place.denominator for place in places))) if places else 1
    if ternary and grid == 1:
        return "compound"
    if grid in (1, 2, 4):
        return "simple"
    if grid in (3, 6):
        halves = [{p for p in places if h <= p < h + mpq(1, 2)} for h in (mpq(0), mpq(1, 2))]
        one_triplet = mpq(1, 2) in places and sorted(map(len, halves)) == [1, 3]
        return "half-triplets" if one_triplet and not ternary else "compound"
    return {5: "fives", 7: "sevens"}.get(grid, "fine")


def syllable(system: str, place: mpq, places: Collection[mpq], ternary: bool, beat: int) -> str:
    """What is said at ``place`` of a beat whose onsets stand at ``places``.

    ``beat`` is the number of the beat in its bar, from 1. In a beat finer than the tables takadimi
    takes each division as a beat of its own, the others say the filler between the known places.
    """
    table = TABLES[system]
    kind = family(places, ternary)
    if kind == "fine" and system == "takadimi":
        parts = 3 if ternary else 2
        inner = {p * parts % 1 for p in places}
        if family(inner, False) != "fine":
            return syllable(system, place * parts % 1, inner, False, beat)
    words = table.families.get(kind)
    if words is None:
        words = table.families["compound" if ternary else "simple"]
    if place and kind in ("fives", "sevens") and kind not in table.families:
        return table.filler
    word = words.get(place, table.filler)
    return str(beat) if word == "#" else word
