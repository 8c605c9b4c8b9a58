"""Bars that came out in symbols nobody reads, fitted on the next coarser grid.

Small faults of an export leave onsets on no grid. Restated and spelled exactly they make brackets
of 2048:2815 or notes in five tied pieces. Where the source did not write such symbols itself, the
bar is placed anew: every instant that no plain bracket reaches goes to the nearest place of a grid,
fine ones first, in all voices alike, and nothing passes or meets anything else of its voice.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Sequence

from gmpy2 import mpq

from rhythm.exact.errors import MusicError, Place
from rhythm.notate.metric_grid import odd_part
from rhythm.score.model import Event, Part, Score, Voice
from rhythm.score.readable import Strain, strains

__all__ = ["made_legible", "refused", "unwritable"]

_GRIDS = (mpq(1, 64), mpq(1, 96), mpq(1, 32), mpq(1, 48), mpq(1, 16), mpq(1, 24), mpq(1, 12))
_MOST_ODD = 15
_FINEST = 64

Respell = Callable[[Score, Collection[int]], Score]


def made_legible(
    source: Score, score: Score, bars: Collection[int], respell: Respell
) -> tuple[Score, list[Strain]]:
    """``score`` with the strained ones among these bars fitted coarser, and spelled again.

    ``respell`` spells the bars at some indices. The strains of bars for which no grid helps are
    returned too, the gravest of each: nothing sensible can be written there.
    """
    hopeless: list[Strain] = []
    for index in sorted({strain.bar for strain in strains(score, source, bars)}):
        score, grave = _coarser(source, score, index, respell)
        hopeless.extend(grave)
    return score, hopeless


def refused(score: Score, strain: Strain) -> MusicError:
    """The refusal of a bar that only strained symbols could write."""
    part = score.parts[strain.part]
    return MusicError(
        f"only {strain.problem} could write what stands here",
        place=Place(
            file=score.path,
            part=part.name or part.id,
            bar=part.bars[strain.bar].number,
            voice=part.voices[strain.voice].name,
        ),
        legal="mend the bar, or leave it out with --bars",
    )


def unwritable(score: Score, strain: Strain) -> str:
    """A clause that says that the bar was left as it stands, why, and what helps."""
    bar = score.parts[strain.part].bars[strain.bar].number
    return f"bar {bar} left as written: only {strain.problem} could write it; mend it first"


def _coarser(
    source: Score, score: Score, index: int, respell: Respell
) -> tuple[Score, list[Strain]]:
    found = strains(score, source, {index})
    for grid in _GRIDS:
        moved = _moved(score, index, grid, found)
        if moved is None:
            continue
        tried = respell(moved, {index})
        if not strains(tried, source, {index}):
            return tried, []
    # A voice that shows nothing else of its bracket is no reason to refuse its bar.
    return score, [strain for strain in found if strain.kind != "lone"][:1]


def _moved(score: Score, index: int, grid: mpq, found: Sequence[Strain]) -> Score | None:
    """The score with the bar's stray instants on a grid; None where there is no room for them."""
    bar = score.bars[index]
    instants = sorted(set(_instants(score, index)))
    strained = {(strain.part, strain.voice) for strain in found}
    hard = set(_hard(score, index, strained))
    places: dict[mpq, mpq] = {}
    for at in instants:
        offset = at - bar.start + bar.shift
        stray = odd_part(int(offset.denominator)) > _MOST_ODD or offset.denominator > 4 * _FINEST
        if (stray or at in hard) and bar.start < at < bar.end:
            places[at] = bar.start - bar.shift + grid * ((2 * offset / grid + 1) // 2)
    if not any(old != new for old, new in places.items()):
        return None
    parts = []
    for part in score.parts:
        voices = []
        for voice in part.voices:
            events: list[Event] = []
            for event in voice.events:
                fresh = _placed(event, places, index)
                if fresh.duration > 0 or event.duration <= 0:
                    events.append(fresh)
                elif not event.is_rest or any(note.sources for note in event.notes):
                    return None
            voices.append(Voice(voice.name, tuple(events)))
        parts.append(_with_marks(part.replace(voices=tuple(voices)), places, index))
    return score.replace(parts=tuple(parts))


def _placed(event: Event, places: dict[mpq, mpq], index: int) -> Event:
    if event.end not in places and event.onset not in places:
        return event
    onset = places.get(event.onset, event.onset)
    # How it was written is no hint any more.
    pieces = tuple(piece for piece in event.pieces if piece.bar != index)
    duration = places.get(event.end, event.end) - onset
    return event.replace(onset=onset, duration=duration, pieces=pieces)


def _with_marks(part: Part, places: dict[mpq, mpq], index: int) -> Part:
    marks = tuple(
        mark.replace(onset=places[mark.onset])
        if mark.bar == index and mark.onset in places
        else mark
        for mark in part.marks
    )
    return part.replace(marks=marks)


def _instants(score: Score, index: int) -> Iterator[mpq]:
    bar = score.bars[index]
    for _, _, event in score.events():
        if event.duration > 0:
            yield from (at for at in (event.onset, event.end) if bar.start <= at <= bar.end)


def _hard(score: Score, index: int, strained: Collection[tuple[int, int]]) -> Iterator[mpq]:
    """The ends of what is written in strained symbols, though no end of it is a stray."""
    for p, v in strained:
        for event in score.parts[p].voices[v].events:
            here = [piece for piece in event.pieces if piece.bar == index]
            short = any(piece.type in _SHORT for piece in here)
            lone = any(t.length == piece.duration for piece in here for t in piece.tuplets)
            if len(here) > 3 or short or lone:
                yield from (event.onset, event.end)


_SHORT = frozenset({"128th", "256th", "512th", "1024th"})
