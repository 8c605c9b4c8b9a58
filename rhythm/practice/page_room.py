"""How many pages a sheet will take, told before it is engraved.

A sheet without a plan is to fit two pages. What it holds is settled before anything is drawn, the
same for every kind of file, so its size is reckoned here from widths and heights as engraving gives
them on the whole (measured on sheets of 56 themes of all kinds), a little more rather than less.

Conventions
-----------
Millimetres on A4 paper, for the smallest staff that a sheet is set in, five millimetres high;
widths of bars are hundredths of a millimetre at full size, as in :mod:`rhythm.show.line_breaking`.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from functools import lru_cache
from itertools import pairwise

from gmpy2 import mpq

from rhythm.score.model import Score
from rhythm.show.line_breaking import best_breaks
from rhythm.show.rows import name_width

__all__ = ["fits"]

_PAGES = 2
_PAGE = 265  # what the margins leave of a page
_TITLE, _HEADING = 14, 11
_LATER = 3  # so much less high are the rows after the first, which have no tempo mark over them
_ROW_WIDTH = 25_900
_BAR, _HEAD, _SIGN, _SUNG = 720, 1630, 200, 100
_ROOMS = tuple(
    (mpq(1, part), width)
    for part, width in ((64, 120), (32, 180), (16, 270), (8, 410), (4, 610), (2, 950), (1, 1400))
)
"""The room that notes of these lengths take, as the engraver gives it."""
_STAFF, _NEXT_STAFF, _LINE, _BETWEEN = mpq(18), mpq(14), mpq(9), mpq(9, 2)
_WORDS = mpq(3)


def fits(sections: Iterable[tuple[str, Score]]) -> bool:
    """Whether the sections of a sheet fit its two pages."""
    page, left = 1, mpq(_PAGE - _TITLE)
    for _, section in sections:
        rows, row = _rows(section), _row(section)
        block = [_HEADING + row, *[row - _LATER] * (rows - 1)]
        if 2 * rows * row <= _PAGE:  # a short piece stays whole
            block = [sum(block, mpq(0))]
        for need in block:
            if need > left:
                page, left = page + 1, mpq(_PAGE)
            left -= need
    return page <= _PAGES


def _rows(section: Score) -> int:
    return len(best_breaks(_widths(section), _ROW_WIDTH, name_width(section))) + 1


def _widths(section: Score) -> list[int]:
    """How wide the bars want to be: a longer note has more room, though not in proportion."""
    onsets: dict[int, set[mpq]] = {bar.index: {bar.length} for bar in section.bars}
    sung = Counter[int]()
    for _, _, event in section.events():
        for piece in event.pieces:
            onsets[piece.bar].add(piece.offset)
        sung[event.bar] += bool(event.verses or event.additions)
    signs = Counter(bar for bar, _ in _altered(section))
    found = []
    for bar in section.bars:
        gaps = [after - before for before, after in pairwise(sorted({mpq(0), *onsets[bar.index]}))]
        width = _BAR + sum(map(_room_of, gaps)) + _SIGN * signs[bar.index] + _SUNG * sung[bar.index]
        found.append(width + _HEAD * (bar.index == 0))
    return found


@lru_cache(maxsize=512)
def _room_of(gap: mpq) -> int:
    """The room between two onsets so far apart."""
    for (short, less), (long, more) in pairwise(_ROOMS):
        if gap <= long:
            return int(less + (more - less) * max(gap - short, mpq(0)) / (long - short))
    return int(_ROOMS[-1][1] * gap)


def _altered(section: Score) -> set[tuple[int, mpq]]:
    """Where a note has most likely a sign before it: it is not altered as its step mostly is."""
    notes = [
        (event.bar, event.onset, note.pitch.step, note.pitch.alter)
        for _, _, event in section.events() for note in event.notes if note.pitch is not None
    ]  # fmt: skip
    votes: dict[str, Counter[mpq]] = {}
    for _, _, step, alter in notes:
        votes.setdefault(step, Counter())[alter] += 1
    usual = {step: count.most_common(1)[0][0] for step, count in votes.items()}
    return {(bar, onset) for bar, onset, step, alter in notes if alter != usual[step]}


def _row(section: Score) -> mpq:
    """The height of a row, with what is left free under it."""
    high = _BETWEEN
    for number, part in enumerate(section.parts):
        lines = next((mark.text for mark in part.marks if mark.kind == "staff-details"), "5")
        staves = {note.staff for voice in part.voices for e in voice.events for note in e.notes}
        if number and lines == "1":
            high += _LINE
            continue
        first = _NEXT_STAFF if number else _STAFF
        high += first + _NEXT_STAFF * (max(1, len(staves - {""})) - 1)
        verses = {verse for voice in part.voices for e in voice.events for verse in e.verses}
        said = {
            added.number for voice in part.voices for e in voice.events for added in e.additions
            if added.kind == "lyric"
        }  # fmt: skip
        counted = any(mark.kind == "counted" for mark in part.marks)
        high += _WORDS * (len(verses) + len(said) + counted)
    return high
