"""Fair copies: a score written out afresh in its own metres, as a copyist does who only heard it.

Every event keeps its onset and duration; values, dots, ties, rests, tuplets and beams are chosen
anew by :mod:`rhythm.notate.score_notation`. This is also how notation is measured: the fair copy of
a score that an editor wrote should look as the editor had it.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial
from typing import Literal

from rhythm.notate.legible import refused
from rhythm.notate.manner import in_manner
from rhythm.notate.score_notation import spell_score
from rhythm.score.conservation import require_conserved
from rhythm.score.model import Part, Piece, Score
from rhythm.score.outcome import Fact, Outcome, Report, Verb
from rhythm.score.readable import strains
from rhythm.score.select import Bars, select

__all__ = ["faircopy"]


@Verb
def faircopy(
    score: Score,
    keep: bool = False,
    *,
    bars: str | Bars | None = None,
    part: str | None = None,
    voice: str | None = None,
    manner: Literal["source", "house"] | str | Score = "house",
) -> Outcome[Report]:
    """``score`` written afresh from onsets and durations alone.

    ``keep`` honours the tuplets, double dots and beams it was written with, and leaves out the
    numbers of tuplets that it left out. A bar that only symbols could write which nobody reads
    (:mod:`rhythm.score.readable`) stays as the source wrote it; MusicError where that is no better.
    ``manner`` says how what handbooks leave open is written:
    as the ``house`` does, as the ``source``'s editor did, or as the editor of another score.
    ``bars`` (``5-8``), ``part`` and ``voice`` say what is written afresh (all where they are None);
    the rest stays as it is. Raises RequestError for what the score does not have.
    """
    wanted = select(score, bars=bars, part=part, voice=voice)
    score = in_manner(score, manner)
    chosen = None if wanted.bars is None else frozenset(wanted.bars)
    left = {
        (p, v, bar.index)
        for p, each in enumerate(score.parts)
        for v, line in enumerate(each.voices)
        if not wanted.has_voice(p, line.name)
        for bar in each.bars
    }
    parts = (
        each.replace(
            bars=tuple(
                bar.replace(source=None, remarks=()) if wanted.has_bar(bar.index) else bar
                for bar in each.bars
            )
        )
        if p in wanted.parts
        else each
        for p, each in enumerate(score.parts)
    )
    fresh = score.replace(parts=tuple(parts), afresh=not keep)
    copy = spell_score(fresh, keep=keep, hints=keep, bars=chosen, spared=left)
    strained = strains(copy, score)
    if strained:
        spared = {(strain.part, strain.voice, strain.bar) for strain in strained}
        copy = spell_score(fresh, keep=keep, hints=keep, bars=chosen, spared=spared | left)
        still = [strain for strain in strains(copy, score) if strain.kind != "lone"]
        if still:
            raise refused(copy, still[0])
    require_conserved(score, copy)
    return Outcome(copy, wanted.bars, _report(score, copy, wanted.parts))


def _report(score: Score, copy: Score, parts: Sequence[int]) -> Report:
    """In how many bars something is written otherwise than it was, and what."""
    changed: set[tuple[int, int]] = set()
    counts = dict.fromkeys(_ASPECTS, 0)
    for p in parts:
        old, new = _written(score.parts[p]), _written(copy.parts[p])
        for bar in old.keys() | new.keys():
            was, now = old.get(bar, []), new.get(bar, [])
            for what, of in _ASPECTS.items():
                if of(was) != of(now):
                    counts[what] += 1
                    changed.add((p, bar))
    if not changed:
        return Report(idle="it is written as a copyist would already")
    count = sum(len(score.parts[p].bars) for p in parts)
    said = ", ".join(f"{what} in {number}" for what, number in counts.items() if number)
    where = f"{count} bar{'s' * (count != 1)}" + (f" in {len(parts)} parts" if parts[1:] else "")
    words = f"{len(changed)} of {where} written otherwise: {said}"
    return Report(
        (
            Fact("otherwise", len(changed), words),
            *(Fact(what, number) for what, number in counts.items()),
        )
    )


_Signs = list[tuple[str, bool, Piece]]


def _values(signs: _Signs, rests: bool) -> object:
    return [
        (voice, each.offset, each.type, each.dots, each.duration)
        for voice, is_rest, each in signs
        if is_rest is rests
    ]


def _brackets(signs: _Signs) -> object:
    return [
        (voice, of.actual, of.normal, of.offset, of.length, of.bracket)
        for voice, _, each in signs
        for of in each.tuplets
    ]


def _beams(signs: _Signs) -> object:
    return [(voice, each.offset, each.beams) for voice, _, each in signs if each.beams]


_ASPECTS: dict[str, Callable[[_Signs], object]] = {
    "values": partial(_values, rests=False),
    "rests": partial(_values, rests=True),
    "tuplets": _brackets,
    "beams": _beams,
}
"""What a bar may be written otherwise in."""


def _written(part: Part) -> dict[int, _Signs]:
    """Every written note and rest by bar: its voice, whether it is a rest, how it is written."""
    signs: dict[int, _Signs] = {}
    for voice in part.voices:
        for event in voice.events:
            for piece in event.pieces:
                signs.setdefault(piece.bar, []).append((voice.name, event.is_rest, piece))
    return signs
