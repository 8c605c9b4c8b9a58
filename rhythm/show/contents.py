"""What a page about one score, or about a score before and after, is made of: plain data.

Everything here comes from the other functions of this package; nothing is worked out anew. What
belongs to higher layers (the checker's findings, the fit's reasons, ways of counting) comes in.
What a page is made of but for the drawings (its *outline*) can be had by itself.

Conventions
-----------
``versions`` are one or two: before and after. A *row* holds a drawing of each version, or None
where a version has no bar there; both are broken at the same bars. A page has two layouts, a wide
one and a narrow one for small screens.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from gmpy2 import mpq

from rhythm.exact.frozen import dataclass
from rhythm.score.model import Score
from rhythm.show.drawing import Drawing
from rhythm.show.laid_out import Column, LaidOut, lay_out
from rhythm.show.likely_rows import NARROW, WIDE, shown
from rhythm.show.mapping import Counting, Mapped, columns, mapped, values_of
from rhythm.show.note_signs import pattern_signs
from rhythm.show.proof_strip import Proof, proof
from rhythm.show.rows import bar_widths
from rhythm.show.sentences import bar_sentences
from rhythm.show.sound import Performance, sound

__all__ = [
    "Change",
    "Contents",
    "Outline",
    "Version",
    "contents",
    "outline",
]

_MOST_NARROW = 1500  # events; a long score is not engraved twice

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
class Outline:
    """What a page is made of, but for the drawings."""

    title: str
    versions: tuple[Version, ...]
    columns: tuple[Column, ...]
    found: Mapped | None
    changes: tuple[Change, ...]
    proof: Proof

    def measured(self) -> list[list[int]]:
        """How wide the bars of each version want to be, as the engraver has it.

        Raises MusicError where a score cannot be engraved.
        """
        return [bar_widths(version.score) for version in self.versions]

    def laid_out(self, width: int, widths: Sequence[Sequence[int]]) -> LaidOut:
        """The versions in rows of this width, in tenths of a millimetre."""
        scores = [version.score for version in self.versions]
        prefixes = [version.prefix for version in self.versions]
        return lay_out(scores, prefixes, self.columns, widths, width)


@dataclass(frozen=True, slots=True)
class Contents:
    """What a page is made of: its outline, and its drawings for wide and for small screens."""

    outline: Outline
    wide: Layout
    narrow: Layout


def contents(found: Outline) -> Contents:
    """An outline with its drawings. Raises MusicError where a score cannot be engraved."""
    events = sum(1 for version in found.versions for _ in version.score.events())
    widths = found.measured()
    wide = found.laid_out(WIDE, widths).drawn()
    narrow = found.laid_out(NARROW, widths).drawn() if events <= _MOST_NARROW else ()
    return Contents(found, tuple(wide), tuple(narrow))


def outline(
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
) -> Outline:
    """What a page about ``score``, or about ``before`` and ``score``, is made of, undrawn.

    ``patterns`` are beats with what became of them, how often and why, as a report has them; where
    there are none the values of the notes are counted. ``why``, ``counting`` and ``faults`` are
    as :func:`rhythm.show.mapping.mapped` and :func:`rhythm.show.proof_strip.proof` have them.
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
        shared = shown(columns(before, score, found))
        changes = _changes(found, patterns)
    return Outline(
        title,
        versions,
        tuple(shared),
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
