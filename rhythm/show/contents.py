"""What a page about one score, or about a score before and after, is made of: plain data.

Everything here comes from the other functions of this package; nothing is worked out anew. What
belongs to higher layers (the checker's findings, the fit's reasons, ways of counting) comes in.

Conventions
-----------
``versions`` are one or two: before and after. A *row* holds a drawing of each version, or None
where a version has no bar there; both are broken at the same bars. A page has two layouts, a wide
one and a narrow one for small screens.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from gmpy2 import mpq

from rhythm.score.model import Score
from rhythm.show.drawing import Drawing
from rhythm.show.line_breaking import best_breaks
from rhythm.show.mapping import Counting, Mapped, columns, mapped, values_of
from rhythm.show.note_signs import pattern_signs
from rhythm.show.proof_strip import Proof, proof
from rhythm.show.rows import bar_widths, name_width, rows
from rhythm.show.sentences import bar_sentences
from rhythm.show.sound import Performance, sound

__all__ = ["Change", "Contents", "Version", "contents"]

WIDE, NARROW = 2000, 950
_MOST_NARROW = 1500  # events; a long score is not engraved twice

Column = tuple[range, range]
Layout = tuple[tuple[Drawing | None, ...], ...]


@dataclass(frozen=True, slots=True)
class Version:
    """One of the scores on a page: what to call it, what sounds, a sentence a bar."""

    name: str
    prefix: str
    score: Score
    performance: Performance
    sentences: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Change:
    """A beat or value and what it became, as signs of music; how often, and why."""

    before: str
    after: str
    times: int
    why: str


@dataclass(frozen=True, slots=True)
class Contents:
    """What a page is made of."""

    title: str
    versions: tuple[Version, ...]
    columns: tuple[Column, ...]
    wide: Layout
    narrow: Layout
    found: Mapped | None
    changes: tuple[Change, ...]
    proof: Proof


def contents(
    score: Score,
    before: Score | None = None,
    *,
    title: str = "",
    names: tuple[str, str] = ("before", "after"),
    counting: Counting | None = None,
    why: Callable[[int, mpq], str] | None = None,
    patterns: Sequence[tuple[str, str, int, str]] = (),
    faults: Mapping[int, Sequence[str]] | None = None,
    lines: Sequence[str] = (),
) -> Contents:
    """What a page about ``score``, or about ``before`` and ``score``, is made of.

    ``patterns`` are beats with what became of them, how often and why, as a report has them; where
    there are none the values of the notes are counted. ``why``, ``counting`` and ``faults`` are
    as :func:`rhythm.show.mapping.mapped` and :func:`rhythm.show.proof_strip.proof` have them.
    Raises MusicError where a score cannot be engraved.
    """
    if before is None:
        versions: tuple[Version, ...] = (_version("the score", "b", score, counting),)
        shared = [(range(0), range(bar.index, bar.index + 1)) for bar in score.bars]
        found = None
        changes: tuple[Change, ...] = ()
    else:
        versions = (
            _version(names[0], "a", before, counting),
            _version(names[1], "b", score, counting),
        )
        found = mapped(before, score, counting=counting, why=why)
        shared = _shown(columns(before, score, found))
        changes = _changes(found, patterns)
    widths = [bar_widths(version.score) for version in versions]
    small = sum(1 for version in versions for _ in version.score.events()) <= _MOST_NARROW
    wide = _layout(versions, shared, widths, WIDE)
    return Contents(
        title,
        versions,
        tuple(shared),
        wide,
        _layout(versions, shared, widths, NARROW) if small else (),
        found,
        changes,
        proof(
            score,
            faults=faults,
            reasons=_reasons(found),
            before=before,
            found=found,
            lines=lines,
        ),
    )


def _version(name: str, prefix: str, score: Score, counting: Counting | None) -> Version:
    sentences = bar_sentences(score, values_of(score, prefix, counting), prefix)
    return Version(name, prefix, score, sound(score, prefix=prefix), sentences)


def _shown(found: list[Column]) -> list[Column]:
    """Without the bars around a passage that stands alone: they have no image."""
    first = next((i for i, (_, after) in enumerate(found) if after), 0)
    last = max((i for i, (_, after) in enumerate(found) if after), default=len(found) - 1)
    return found[first : last + 1]


def _reasons(found: Mapped | None) -> dict[int, list[str]]:
    """Why something was moved, by the bar it came to."""
    said: dict[int, list[str]] = {}
    for strand in found.strands if found is not None else ():
        for value in strand.after[:1]:
            if strand.why and strand.why not in said.setdefault(value.bar, []):
                said[value.bar].append(strand.why)
    return {bar: reasons for bar, reasons in said.items() if reasons}


def _changes(found: Mapped, patterns: Sequence[tuple[str, str, int, str]]) -> tuple[Change, ...]:
    if patterns:
        return tuple(
            Change(pattern_signs(old), pattern_signs(new), times, why)
            for old, new, times, why in patterns
        )
    counts: dict[tuple[str, str], int] = {}
    for strand in found.strands:
        if strand.after:
            key = strand.before.signs, " ".join(value.signs for value in strand.after)
            counts[key] = counts.get(key, 0) + 1
    ranked = sorted(counts.items(), key=lambda item: (-item[1], item[0]))
    return tuple(Change(old, new, times, "") for (old, new), times in ranked)


def _layout(
    versions: Sequence[Version],
    shared: Sequence[Column],
    widths: Sequence[Sequence[int]],
    width: int,
) -> Layout:
    """Both versions in rows that break at the same columns."""
    runs = [column if len(versions) == 2 else (column[1],) for column in shared]
    room = width * 10 - 3000
    parted = [piece for run in runs for piece in _parted(run, widths, room)]
    needs = [
        max(sum(each[bar] for bar in bars) for each, bars in zip(widths, run, strict=True))
        for run in parted
    ]
    first = max(name_width(version.score) for version in versions)
    starts = (0, *best_breaks(needs, width * 10, first))
    widest = max(
        (
            widths[index][bar]
            for index in range(len(versions))
            for run in parted
            for bar in run[index]
        ),
        default=0,
    )
    made: list[list[Drawing | None]] = [[] for _ in starts]
    for index, version in enumerate(versions):
        opened = [parted[start][index].start for start in starts]
        drawn = rows(
            version.score,
            prefix=version.prefix,
            breaks=sorted({bar for bar in opened if bar}),
            width=max(width, -(-(widest + 3000) // 10)),
        ).drawings
        by_bar = {each.bars[0]: each for each in drawn if each.bars}
        ends = [*starts[1:], len(parted)]
        for row, (start, end) in enumerate(zip(starts, ends, strict=True)):
            here = [bar for run in parted[start:end] for bar in run[index]]
            made[row].append(by_bar.get(here[0]) if here else None)
    return tuple(tuple(row) for row in made)


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
