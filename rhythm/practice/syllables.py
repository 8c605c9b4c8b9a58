"""The tables of counting syllables: what is said at which place of the beat.

One table for each system, by the *family* of the beat: how the beat is divided where the syllable
falls. Sources: takadimi, Hoffman, Pelto, White 1996; du-de after Gordon, and for beats of unequal
length his du be, du ba bi (Gordon, Learning Sequences in Music, pages 181 to 185, on unusual
metres, as told by tuneful.squarespace.com/meter); numbers, Open Music Theory. The sevens of
takadimi, and ``ta`` for the next level of the numbers, are given from memory.

In a beat finer than a table the places it names keep their names. Between them numbers and gordon
say their filler; takadimi, whose ``ta`` is always the beat, has no words of its own there (ours,
no source): it takes the nearest word of the other division that the table itself does not use.

Conventions
-----------
Places are fractions of the beat. ``#`` stands for the number of the beat in its bar. What a
family's table does not name takes the system's filler.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import field
from typing import Literal, get_args

from gmpy2 import lcm, mpq

from rhythm.exact.frozen import dataclass

__all__ = ["SYSTEMS", "TABLES", "Counting", "Table", "family", "syllable"]

Counting = Literal["numbers", "takadimi", "gordon", "kodaly"]
"""A way of counting, by its name."""

SYSTEMS = get_args(Counting)
"""The systems of counting; kodaly names values, the others places (see ``kodaly.py``)."""


Families = dict[str, dict[mpq, str]]
"""Words by family and place."""


def _spread(words: str) -> dict[mpq, str]:
    """Words evenly over the beat."""
    each = words.split()
    return {mpq(i, len(each)): word for i, word in enumerate(each)}


def _system(simple: str, compound: str, half_triplets: str, **others: str) -> Families:
    """The words of a system by family, from those it has of its own."""
    twos, threes, mixed = _spread(simple), _spread(compound), _spread(half_triplets)
    return {
        "simple": twos,
        "compound": threes,
        "half-triplets": mixed,
        "fine": twos,
        "fine-compound": threes,
        "fine-mixed": mixed | twos,
    } | {kind: _spread(words) for kind, words in others.items()}


@dataclass(frozen=True, slots=True)
class Table:
    """One system: its words by family, those for what lies between them, and the filler.

    ``between`` gives words by family; a place without a name takes the nearest of them. ``uneven``
    are the words in metres whose beats are of unequal length, where they are others.
    """

    families: Families
    filler: str = "ta"
    between: Families = field(default_factory=dict)
    uneven: Families = field(default_factory=dict)


_TWOS, _THREES = _spread("ta ka di mi"), _spread("ta va ki di da ma")
_ONLY_TWOS = {place: word for place, word in _TWOS.items() if place not in _THREES}
_ONLY_THREES = {place: word for place, word in _THREES.items() if place not in _TWOS}

TABLES = {
    "numbers": Table(_system("# e & a", "# ta la ta li ta", "# la li & la li")),
    "takadimi": Table(
        _system(
            "ta ka di mi",
            "ta va ki di da ma",
            "ta va ki di da ma",
            fives="ta ka di mi ti",
            sevens="ta va ki di da ma ti",
        ),
        between={"fine": _ONLY_THREES, "fine-compound": _ONLY_TWOS, "fine-mixed": _ONLY_TWOS},
    ),
    "gordon": Table(
        _system("du ta de ta", "du ta da ta di ta", "du ta ta de ta ta"),
        uneven=_system("du ta be ta", "du ta ba ta bi ta", "du ta ta be ta ta"),
    ),
}
"""The systems that name places, by name."""


def family(places: Collection[mpq], ternary: bool) -> str:
    """How a beat with onsets at these places is divided.

    In words: simple, compound, fives, sevens, half-triplets (a triplet in one half), and three that
    go beyond one division: ``fine`` (a simple one divided further), ``fine-compound``,
    ``fine-mixed`` (a simple beat in twos and in threes).
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
    if grid in (5, 7):
        return "fives" if grid == 5 else "sevens"
    if grid % 3:
        return "fine"
    return "fine-compound" if ternary else "fine-mixed"


def syllable(
    system: str,
    place: mpq,
    places: Collection[mpq],
    ternary: bool,
    beat: int,
    *,
    uneven: bool = False,
) -> str:
    """What is said at ``place`` of a beat whose onsets stand at ``places``.

    ``beat`` is the number of the beat in its bar, from 1; ``uneven`` says that the beats of the bar
    are of unequal length.
    """
    table = TABLES[system]
    kind = family(places, ternary)
    families = table.uneven if uneven and table.uneven else table.families
    words = families.get(kind) or {mpq(0): table.families["simple"][mpq(0)]}
    word = words.get(place)
    if word is None:
        near = table.between.get(kind)
        word = near[min(near, key=lambda each: abs(each - place))] if near else table.filler
    return str(beat) if word == "#" else word
