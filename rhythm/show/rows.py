"""Engraved systems, one drawing a row, each note and rest saying which event it draws.

Conventions
-----------
Widths are tenths of a millimetre on paper at full size, where a staff is 7.2 millimetres high;
sizes in a drawing are hundredths of a millimetre. Bars are named by index, events by
:mod:`rhythm.score.identity`. The same score gives the same drawings.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from itertools import pairwise
from types import MappingProxyType

from gmpy2 import mpq

from rhythm.exact.errors import MusicError, Place, RequestError
from rhythm.exact.frozen import dataclass
from rhythm.formats.musicxml.labelled import labelled
from rhythm.score.identity import named_events
from rhythm.score.model import Mark, Score
from rhythm.show.drawing import Drawing, cleaned
from rhythm.show.engraver import draw, natural_widths
from rhythm.show.line_breaking import best_breaks, guessed_widths
from rhythm.show.music_font import signs_in

__all__ = ["Rows", "bar_widths", "draw_text", "name_width", "needs_of", "rows"]

_MOST_MEASURED = 1500  # events; a longer score is not engraved twice to learn its widths
_NOTHING: Mapping[str, object] = MappingProxyType({})
_FOR_WORDS: Mapping[str, object] = MappingProxyType({"spacingLinear": "0.35"})
_FOR_A_BRACE: Mapping[str, object] = MappingProxyType({"pageMarginLeft": 40})
_FULL: Mapping[str, object] = MappingProxyType({"minLastJustification": "0.12"})
_LETTER = 260  # the width of a letter of a part's name before the first row


@dataclass(frozen=True, slots=True)
class Rows:
    """The rows of a score: drawings, the bars that open them, and what they share.

    ``glyphs`` are the outlines that the drawings use, ``signs`` the signs of music in their text,
    for a font.
    """

    drawings: tuple[Drawing, ...]
    breaks: tuple[int, ...]

    @property
    def glyphs(self) -> Mapping[str, str]:
        """Every glyph that a drawing uses, by its code point."""
        return {name: path for each in self.drawings for name, path in each.glyphs.items()}

    @property
    def signs(self) -> frozenset[str]:
        """The code points of the signs of music that stand in the text of the drawings."""
        return frozenset().union(*(signs_in(each.svg) for each in self.drawings))


def rows(
    score: Score,
    *,
    prefix: str = "",
    breaks: Collection[int] | str = "even",
    width: int = 2100,
    full: bool = False,
) -> Rows:
    """Engrave a score in rows ``width`` wide (500 to 20000).

    ``breaks`` are the indices of the bars that open a row, or ``even`` for rows filled alike, or
    ``own`` for the score's own; in even rows those that we began ourselves begin there. A last row
    less than four fifths full stays short, with ``full`` only one that is less than an eighth full.
    ``prefix`` goes before the names of events.

    Raises RequestError for a width out of range, and MusicError where the score cannot be
    engraved or an engraving would show no note though the score has some.
    """
    if not 500 <= width <= 20_000:
        raise RequestError(f"a page {width} wide cannot be engraved", legal="500 to 20000")
    if not score.bars:
        raise MusicError("there is nothing to engrave", place=_place(score))
    opened: tuple[int, ...] | None
    if breaks == "own":
        opened = None
    elif breaks == "even":
        widths = bar_widths(score)
        opened = _even(score, widths, width * 10, full=full)
    else:
        opened = tuple(sorted(index for index in breaks if isinstance(index, int) and index))
    text = labelled(score, prefix=prefix, breaks=opened)
    needs = {**needs_of(score), **(_FULL if full else {})}
    drawings, _ = draw_text(text, width, None, _place(score), needs)
    _require_notes(score, prefix, drawings)
    starts = tuple(each.bars[0] for each in drawings if each.bars and each.bars[0])
    return Rows(drawings, starts if opened is None else opened)


def _even(score: Score, widths: Sequence[int], width: int, *, full: bool) -> tuple[int, ...]:
    """The bars that open rows filled alike, one at each line that was begun by us.

    Where the last row will be ``full`` it has no single bar if the one before it has some to spare.
    """
    begun = {
        mark.bar for part in score.parts for mark in part.marks
        if mark.kind == "print" and mark.source is None and mark.bar
    }  # fmt: skip
    starts = [0, *sorted(begun)]
    opened: list[int] = []
    for start, end in zip(starts, [*starts[1:], len(widths)], strict=True):
        first = 0 if start else name_width(score)
        breaks = list(best_breaks(widths[start:end], width, first))
        if full and breaks and breaks[-1] == end - start - 1:
            before = breaks[-2] if len(breaks) > 1 else 0
            breaks[-1] -= breaks[-1] - before > 2
        opened += [start, *(start + at for at in breaks)]
    return tuple(opened[1:])


def draw_text(
    text: bytes,
    width: int,
    wanted: Iterable[int] | None,
    place: Place,
    needs: Mapping[str, object] = _NOTHING,
) -> tuple[tuple[Drawing, ...], int]:
    """Rows of a labelled score, from 0, all where None, and how many there are.

    A score is laid out once and kept for more of its rows. ``place`` is named in errors, ``needs``
    are settings of the engraver's that this score has to have. Raises MusicError where the score
    cannot be engraved.
    """
    try:
        pages, count = draw(
            text,
            {**needs, "breaks": "encoded", "pageWidth": width},
            None if wanted is None else [number + 1 for number in wanted],
        )
    except MusicError as error:
        raise error.at(place) from None
    return tuple(map(cleaned, pages)), count


def bar_widths(score: Score) -> list[int]:
    """How wide each bar wants to be; measured, or guessed where measuring would take long."""
    if sum(1 for _ in score.events()) > _MOST_MEASURED:
        return guessed_widths(score)
    try:
        found = natural_widths(labelled(score, breaks=()), needs_of(score))
    except MusicError as error:
        raise error.at(_place(score)) from None
    guessed = guessed_widths(score)
    return [found.get(f"bar{index}", guess) for index, guess in enumerate(guessed)]


def needs_of(score: Score) -> dict[str, object]:
    """What the engraver is to do otherwise than usual, so that nothing of this score collides.

    It keeps no room for a row of words, nor for a brace before which no name stands, as in the
    second system.
    """
    needs: dict[str, object] = {}
    if any(_is_close(part.marks) for part in score.parts):
        needs |= _FOR_WORDS
    if any(note.staff not in ("", "1") for _, _, event in score.events() for note in event.notes):
        needs |= _FOR_A_BRACE
    return needs


def _is_close(marks: Sequence[Mark]) -> bool:
    """Whether words of a row, one of them longer than a letter, are an eighth apart or less."""
    row = [mark for mark in marks if mark.kind == "counted"]
    return any(
        after.onset - mark.onset <= mpq(1, 8) and max(len(mark.text), len(after.text)) > 1
        for mark, after in pairwise(row)
    )


def name_width(score: Score) -> int:
    """How much room the names of the parts take before the first row."""
    return _LETTER * max((len(part.name) for part in score.parts), default=0)


def _require_notes(score: Score, prefix: str, drawings: Sequence[Drawing]) -> None:
    drawn = frozenset().union(*(each.events for each in drawings))
    visible = {
        name
        for name, _part, _voice, event in named_events(score, prefix)
        if event.visible and not event.is_rest
    }
    if visible and not visible & drawn:
        raise MusicError(
            "the engraver drew no note of this score",
            place=_place(score),
            legal="it must show at least one of those that are there",
        )


def _place(score: Score) -> Place:
    return Place(score.path)
