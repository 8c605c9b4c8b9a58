"""Rhythm names by value after Kodály: ta, ti-ti, ti-ri-ti-ri, tri-o-la, syn-co-pa.

The names follow the written value, not the beat: a quarter is ``ta`` in every metre, two eighths
of a duplet or five of a quintuplet are all ``ti``. What is shorter than an eighth is ``ti`` and
``ri`` in turn, from the beginning of its beat or tuplet. Longer notes hold their vowel for every
further quarter (``ta-a``) and end a dotted one in ``i`` (``ta-i``). In a triplet a unit or more is
``tri``, ``o``, ``la`` by its place; what is shorter goes by its value. ``tim`` for a dotted eighth
or a shorter dotted note, and ``ri-tim`` for the short note before one in its beat, are given from
memory.
"""

from __future__ import annotations

from collections.abc import Sequence

from gmpy2 import mpq

from rhythm.exact.frozen import dataclass
from rhythm.score.model import Event

__all__ = ["Stroke", "names"]

_QUARTER, _EIGHTH = mpq(1, 4), mpq(1, 8)
_LONGEST = 8  # quarters that are sung out; longer notes stop there


@dataclass(frozen=True, slots=True)
class Stroke:
    """A note as the names see it.

    It sounds from ``onset`` for ``duration``; ``value`` is what is written. ``group`` is where its
    beat or tuplet begins, ``place`` the written time since then. ``ternary`` says whether the beat
    is; ``third`` is 0, 1 or 2 for a unit of a triplet and None for what is none.
    """

    onset: mpq
    duration: mpq
    value: mpq
    group: mpq
    place: mpq
    ternary: bool = False
    third: int | None = None

    @classmethod
    def of(cls, event: Event, bar: mpq, beat: mpq, ternary: bool) -> Stroke:
        """The stroke of an event whose bar and beat begin at these moments."""
        written, group, pace, third = event.duration, beat, mpq(1), None
        if event.pieces:
            paces = [mpq(*piece.ratio) / (2 if piece.tremolo else 1) for piece in event.pieces]
            pairs = zip(event.pieces, paces, strict=True)
            written = sum((piece.duration * faster for piece, faster in pairs), mpq(0))
            pace = paces[0]
            for tuplet in event.pieces[0].tuplets[-1:]:
                group = bar + tuplet.offset
                unit = (event.onset - group) * tuplet.actual / tuplet.length
                if tuplet.actual == 3 and unit.denominator == 1 and written >= tuplet.unit:
                    third = int(unit)
        place = (event.onset - group) * pace
        return cls(event.onset, event.duration, written, group, place, ternary, third)

    @property
    def end(self) -> mpq:
        """Where it ends."""
        return self.onset + self.duration


def names(strokes: Sequence[Stroke]) -> tuple[str, ...]:
    """The name of every note of a voice, in order."""
    found = [_by_value(stroke) for stroke in strokes]
    for i in range(len(strokes) - 1):
        here, after = strokes[i], strokes[i + 1]
        leads = here.end == after.onset and here.group == after.group and here.third is None
        if leads and found[i + 1] == "tim" and after.value == 3 * here.value:
            found[i] = "ri"
    for i in range(len(strokes) - 2):
        if _is_syncopa(strokes[i : i + 3]):
            found[i : i + 3] = ["syn", "co", "pa"]
    return tuple(found)


def _is_syncopa(three: Sequence[Stroke]) -> bool:
    """Eighth, quarter, eighth, from a beat or a quarter after it on, and in twos."""
    first, middle, last = three
    return (
        [stroke.duration for stroke in three] == [_EIGHTH, _QUARTER, _EIGHTH]
        and [stroke.value for stroke in three] == [_EIGHTH, _QUARTER, _EIGHTH]
        and first.end == middle.onset
        and middle.end == last.onset
        and not first.place % _QUARTER
        and not (first.ternary or last.ternary)
    )


def _by_value(stroke: Stroke) -> str:
    value = stroke.value
    if stroke.third is not None:
        return ("tri", "o", "la")[stroke.third]
    if value >= _QUARTER:
        quarters, rest = divmod(value, _QUARTER)
        held = "-a" * (min(int(quarters), _LONGEST) - 1)
        return "ta" + held + ("-i" if rest >= _EIGHTH else "")
    if value.numerator == 3:
        return "tim"
    if value >= _EIGHTH:
        return "ti"
    return "ri" if int(stroke.place // value) % 2 else "ti"
