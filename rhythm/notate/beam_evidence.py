"""What the beams of a bar, as its editor wrote them, say about the questions of beaming.

The rules of :mod:`rhythm.notate.beams` ask their questions where two notes with flags meet, or
have rests between them. Here the same places are looked at, and what the editor did there is read
off: no bar is beamed for it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby, pairwise
from typing import NamedTuple

from rhythm.exact.tree import Node
from rhythm.notate.beam_stretches import Stem, Stretch, figure, is_stretch, joint, stretch_of
from rhythm.notate.beams import are_twins, inner_question
from rhythm.notate.metric_grid import Grid
from rhythm.notate.usage import QUESTIONS, Beams

__all__ = ["Ballot", "beam_ballots"]


class Ballot(NamedTuple):
    """One bar's answer to a question at a place; ``house`` says that it is the house's too."""

    question: str
    place: str
    answer: str
    house: bool


class _Pair(NamedTuple):
    """Two notes with flags, by number, with nothing or only rests between; are they joined?"""

    first: int
    second: int
    joined: bool


def beam_ballots(grid: Grid, stems: Sequence[Stem], words: Beams) -> Iterator[Ballot]:
    """The answers that the words of the beams over ``stems`` give."""
    pairs = list(_pairs(stems, words))
    if not pairs:
        return
    stretches: list[Stretch] = []
    for root in grid.roots(stems[0].start, stems[-1].end):
        yield from _joints(grid, root, stems, pairs, stretches)
    for pair in pairs:
        yield from _about(grid, stems, pair, stretches)
    yield from _inner(grid, stems, words, pairs)


def _pairs(stems: Sequence[Stem], words: Beams) -> Iterator[_Pair]:
    flagged = [i for i, stem in enumerate(stems) if stem.flags and not stem.rest]
    for i, k in pairwise(flagged):
        run = stems[i : k + 1]
        if k == i + 1:
            meet = run[0].end == run[1].start
        else:
            meet = all(a.end == b.start for a, b in pairwise(run))
            meet = meet and all(stem.rest for stem in run[1:-1])
        if meet:
            yield _Pair(i, k, _are_joined(words[i], words[k], 0))


def _are_joined(one: tuple[str, ...], other: tuple[str, ...], level: int) -> bool:
    return (
        len(one) > level
        and len(other) > level
        and one[level] in ("begin", "continue")
        and other[level] in ("continue", "end")
    )


def _joints(
    grid: Grid, cell: Node, stems: Sequence[Stem], pairs: Sequence[_Pair], found: list[Stretch]
) -> Iterator[Ballot]:
    """Whether the parts of a cell share a beam, then whether those of its parts do.

    Where a slur or a syllable begins, that may be what parts them.
    """
    if is_stretch(grid, cell):
        found.append(stretch_of(grid, cell))
        return
    start, end = cell.start, cell.end
    pairs = [p for p in pairs if start <= stems[p.first].start and stems[p.second].start < end]
    if not pairs:
        return
    edges = [part.start for part in cell.parts[1:]]
    meeting = [
        pair
        for pair in pairs
        if pair.second == pair.first + 1 and stems[pair.second].start in edges
    ]
    inside = [stem for stem in stems if start <= stem.start < end]
    asked = joint(cell, inside, bool(meeting))
    joined = asked.house
    if asked.places:
        done = {pair.joined for pair in meeting if pair.joined or not _begins(stems[pair.second])}
        joined = done == {True}
        if len(done) == 1:
            for place in asked.places:
                answer = "joined" if joined else "parted"
                yield Ballot("joined", place, answer, joined == asked.house)
    if joined:
        found.append(stretch_of(grid, cell))
        return
    for part in cell.parts:
        yield from _joints(grid, part, stems, pairs, found)


def _begins(stem: Stem) -> bool:
    return stem.slurred or stem.sung


def _about(
    grid: Grid, stems: Sequence[Stem], pair: _Pair, stretches: Sequence[Stretch]
) -> Iterator[Ballot]:
    before, stem = stems[pair.first], stems[pair.second]
    answer = "joined" if pair.joined else "parted"
    if pair.second > pair.first + 1:
        found = figure(stems[pair.first : pair.second + 1], stretches)
        if found is not None:
            yield Ballot("over rests", found.place, answer, pair.joined == found.house)
        return
    if are_twins(before, stem, stretches):
        yield Ballot("triplets", "", answer, not pair.joined)
    elif not _begins(stem) or before.tuplet != stem.tuplet:
        return
    elif any(s.holds(before.start, stem.end) for s in stretches):
        through = "through" if pair.joined else "parted"
        for question, begins in (("slurs", stem.slurred), ("syllables", stem.sung)):
            if begins:
                yield Ballot(question, "", through, pair.joined)


def _inner(
    grid: Grid, stems: Sequence[Stem], words: Beams, pairs: Sequence[_Pair]
) -> Iterator[Ballot]:
    """Whether the second beam runs on between two notes that share the first."""
    for joined, run in groupby(pairs, key=lambda pair: pair.joined):
        group = list(run)
        if not joined:
            continue
        most = max(stems[i].flags for pair in group for i in pair[:2])
        for pair in group if most > 1 else ():
            one, other = stems[pair.first], stems[pair.second]
            asked = inner_question(grid, other, most) if min(one.flags, other.flags) > 1 else None
            if asked is not None:
                question, place = asked
                through = _are_joined(words[pair.first], words[pair.second], 1)
                answer = "through" if through else "parted"
                yield Ballot(question, place, answer, answer == QUESTIONS[question].answers[0])
