"""Versions of a score laid out in rows that break at the same bars, drawn as they are asked for.

Laying out is cheap where the widths are known; drawing is what takes time. A row has a key that
says all that its drawing depends on: rows of equal keys are drawn alike, so whoever has drawn one
need not ask for it again.

Conventions
-----------
Rows are numbered from 0. A *column* is what both versions say together, as ranges of bars. Widths
are hundredths of a millimetre, the width of a row tenths.
"""

from __future__ import annotations

from collections.abc import Iterator, MutableMapping, Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache

from rhythm.exact.errors import MusicError, Place
from rhythm.score.identity import named_events
from rhythm.score.model import Score
from rhythm.show.drawing import Drawing
from rhythm.show.line_breaking import best_breaks
from rhythm.show.row_texts import RowTexts
from rhythm.show.rows import draw_text, name_width, needs_of

__all__ = ["Column", "LaidOut", "lay_out"]

Column = tuple[range, range]

_NEAR = 3  # rows


class _Same:
    """A score as a key: the same only as itself, which is quick to tell."""

    __slots__ = ("score",)

    def __init__(self, score: Score) -> None:
        self.score = score

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Same) and self.score is other.score

    def __hash__(self) -> int:
        return id(self.score)


@lru_cache(maxsize=8)
def _texts(same: _Same, prefix: str, opened: tuple[int, ...], width: int) -> RowTexts:
    return RowTexts(same.score, prefix, opened, width)


@dataclass(frozen=True)
class LaidOut:
    """Scores in rows: ``bars`` has, row by row and version by version, the bars that stand there.

    ``prefixes`` go before the names of events, one a score; ``width`` is that of a row.
    """

    scores: tuple[Score, ...]
    prefixes: tuple[str, ...]
    bars: tuple[tuple[tuple[int, ...], ...], ...]
    width: int

    @cached_property
    def _opened(self) -> tuple[tuple[int, ...], ...]:
        """The bars that open a row, for each version; its first bar always does."""
        return tuple(
            tuple(sorted({0} | {row[version][0] for row in self.bars if row[version]}))
            for version in range(len(self.scores))
        )

    @cached_property
    def _texts(self) -> tuple[RowTexts, ...]:
        return tuple(
            _texts(_Same(score), prefix, opened, self.width)
            for score, prefix, opened in zip(
                self.scores, self.prefixes, self._opened, strict=True
            )
        )  # fmt: skip

    @cached_property
    def _keys(self) -> tuple[tuple[str, ...], ...]:
        """What the drawing of each version in each row depends on; nothing where it has no bar."""
        return tuple(
            tuple(
                texts.keys[opened.index(bars[0])] if bars else ""
                for texts, opened, bars in zip(self._texts, self._opened, row, strict=True)
            )
            for row in self.bars
        )

    @property
    def keys(self) -> tuple[str, ...]:
        """What the drawing of each row depends on, as a digest."""
        return tuple("-".join(row) for row in self._keys)

    def drawn(
        self,
        wanted: Sequence[int] | None = None,
        known: MutableMapping[str, Drawing] | None = None,
    ) -> list[tuple[Drawing | None, ...]]:
        """The drawings of these rows, all where None, version by version; None for no bars.

        ``known`` are drawings by what they depend on: those are not asked for again, and new ones
        are added.

        Raises MusicError where a score cannot be engraved, or an engraving would show no note
        though these rows have some.
        """
        rows = range(len(self.bars)) if wanted is None else wanted
        if known is None:
            sides = [list(self._side(version, rows)) for version in range(len(self.scores))]
            return list(zip(*sides, strict=True))
        for version in range(len(self.scores)):
            lacking = [row for row in rows if self._keys[row][version] not in {"", *known}]
            for row, drawing in zip(lacking, self._side(version, lacking), strict=True):
                if drawing is not None:
                    known[self._keys[row][version]] = drawing
        return [tuple(known.get(key) for key in self._keys[row]) for row in rows]

    def _side(self, version: int, rows: Sequence[int]) -> Iterator[Drawing | None]:
        score, prefix = self.scores[version], self.prefixes[version]
        opened = self._opened[version]
        here = [self.bars[row][version] for row in rows]
        pages = sorted({opened.index(bars[0]) for bars in here if bars})
        drawings: list[Drawing] = []
        for run in _runs(pages):
            text, first = self._texts[version].text(run[0], run[-1])
            some = [page - first for page in run]
            drawn, _ = draw_text(text, self.width, some, Place(score.path), needs_of(score))
            drawings += drawn
        by_bar = {each.bars[0]: each for each in drawings if each.bars}
        found = [by_bar.get(bars[0]) if bars else None for bars in here]
        asked = {bar for bars in here for bar in bars}
        visible = {
            name
            for name, _part, _voice, event in named_events(score, prefix)
            if event.bar in asked and event.visible and not event.is_rest
        }
        shown = frozenset().union(*(each.events for each in drawings))
        if visible and not visible & shown:
            raise MusicError(
                "the engraver drew no note of this score",
                place=Place(score.path),
                legal="it must show at least one of those that are there",
            )
        yield from found


def lay_out(
    scores: Sequence[Score],
    prefixes: Sequence[str],
    columns: Sequence[Column],
    widths: Sequence[Sequence[int]],
    width: int,
) -> LaidOut:
    """Lay one or two scores out in rows ``width`` wide that break at the same columns.

    ``widths`` says how wide the bars of each score want to be. A row is widened where a single bar
    would not fit.
    """
    runs = [column if len(scores) == 2 else (column[1],) for column in columns]
    room = width * 10 - 3000
    parted = [piece for run in runs for piece in _parted(run, widths, room)]
    needs = [
        max(sum(each[bar] for bar in bars) for each, bars in zip(widths, run, strict=True))
        for run in parted
    ]
    first = max(name_width(score) for score in scores)
    starts = (0, *best_breaks(needs, width * 10, first))
    widest = max(
        (
            widths[index][bar]
            for index in range(len(scores))
            for run in parted
            for bar in run[index]
        ),
        default=0,
    )
    ends = [*starts[1:], len(parted)]
    return LaidOut(
        tuple(scores),
        tuple(prefixes),
        tuple(
            tuple(
                tuple(bar for run in parted[start:end] for bar in run[index])
                for index in range(len(scores))
            )
            for start, end in zip(starts, ends, strict=True)
        ),
        max(width, -(-(widest + 3000) // 10)),
    )


def _parted(
    run: Sequence[range], widths: Sequence[Sequence[int]], room: int
) -> list[Sequence[range]]:
    """A column too wide for a row in pieces: there the bar lines of the versions do not agree."""
    need = max(sum(each[bar] for bar in bars) for each, bars in zip(widths, run, strict=True))
    pieces = min(-(-need // max(1, room)), *(len(bars) for bars in run))
    if pieces < 2:
        return [run]
    cuts = [[bars.start + len(bars) * i // pieces for i in range(pieces + 1)] for bars in run]
    return [tuple(range(cut[i], cut[i + 1]) for cut in cuts) for i in range(pieces)]


def _runs(pages: Sequence[int]) -> list[list[int]]:
    """Pages that follow one another, or nearly, are drawn at once."""
    found: list[list[int]] = []
    for page in pages:
        if found and page - found[-1][-1] <= _NEAR:
            found[-1].append(page)
        else:
            found.append([page])
    return found
