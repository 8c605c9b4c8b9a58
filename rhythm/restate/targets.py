"""Which metre each bar is restated in: one metre, a cycle of metres, a table, or one of four words.

Conventions
-----------
``compound`` turns each simple metre into its compound partner, ``simple`` the reverse.
``triplets`` keeps the written metre and writes the lilt of its simple beats in 3:2 brackets,
``duplets`` is its mirror for ternary beats. A :class:`BarMap` is what one bar undergoes; bars whose
map is ``None`` stay.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import replace
from functools import lru_cache
from typing import NamedTuple

from gmpy2 import mpq

from rhythm.exact.errors import MusicError, Place, RequestError
from rhythm.exact.frozen import dataclass
from rhythm.exact.metre import Metre, Term, compound_partner, simple_partner
from rhythm.exact.metre_of_length import simplest_metre
from rhythm.exact.nearest import nearest
from rhythm.exact.pattern import MetrePattern
from rhythm.exact.time_map import TimeMap
from rhythm.restate.align import Lilt, align
from rhythm.restate.custom_maps import Mapping
from rhythm.restate.left_bars import LeftBars, in_two_metres
from rhythm.restate.swing import Refit, loosened, prevailing_split, swung
from rhythm.score.bar_roles import BarExtent, roles
from rhythm.score.compound_detection import felt_metres
from rhythm.score.model import Bar, Score

__all__ = ["WORDS", "BarMap", "Target", "bar_maps", "metre_of", "parse_target"]

WORDS = ("compound", "simple", "triplets", "duplets")

Target = str | Metre | MetrePattern | dict[Metre, Metre]


@dataclass(frozen=True, slots=True)
class BarMap:
    """What one bar of ``source`` undergoes on its way to ``target``.

    ``warp`` maps one whole bar. ``onto`` brings the image into the ``written`` metre beat by beat,
    where a compound image is written as triplets or a simple one as duplets; a beat that the
    target leaves as it is keeps its length there. None: the target is what is written. ``refit``
    takes the place of the fit where only some beats are touched (:mod:`rhythm.restate.swing`);
    ``reason`` says what it does to a beat. ``cut`` says that it is for a bar which begins or ends
    inside a beat: there its part of a beat keeps its plain values, under no bracket.
    """

    source: Metre
    target: Metre
    written: Metre
    warp: TimeMap
    onto: TimeMap | None = None
    refit: Refit | None = None
    reason: str = ""
    cut: bool = False

    def __call__(self, position: mpq) -> mpq:
        """The exact image of a position counted from the start of the metre.

        Positions past the bar's end go on bar after bar, as a cadenza under a short metre does.
        """
        span = self.source.length
        turns = position // span
        return turns * self.written.length + self.put(self.warp(position - turns * span))

    def put(self, image: mpq) -> mpq:
        """Where a position of the target stands in the written metre."""
        return image if self.onto is None else self.onto(image)

    @property
    def lilts(self) -> bool:
        """True where beats that divide in two become beats that divide in three."""
        pairs = zip(self.source.beat_nodes, self.target.beat_nodes, strict=False)
        same = len(self.source.beats) == len(self.target.beats)
        return same and all(two.ternary and not one.ternary for one, two in pairs)

    @property
    def duple(self) -> bool:
        """True where ternary beats are written with duplets."""
        return self.written.length > self.target.length

    @property
    def triple(self) -> bool:
        """True where simple beats are written with triplets."""
        return self.written.length < self.target.length


class Planned(NamedTuple):
    """The map of every bar, and what is to be said of bars that were left or read otherwise."""

    maps: list[BarMap | None]
    notes: tuple[str, ...]


def parse_target(to: Target) -> Target:
    """Read a target: a word, ``12/8``, ``7/8 7/8 5/8``, or ``4/4:12/8, 6/4:18/8``.

    Raises RequestError for anything else.
    """
    if not isinstance(to, str):
        return to
    text = to.strip()
    if text in WORDS:
        return text
    if ":" in text:
        table: dict[Metre, Metre] = {}
        for entry in text.split(","):
            source, colon, target = entry.partition(":")
            if not colon:
                raise RequestError(
                    f"{entry.strip()!r} is not a pair of metres",
                    legal="write a table as 4/4:12/8, 6/4:18/8",
                )
            table[Metre.parse(source.strip())] = _measured(Metre.parse(target.strip()))
        return table
    if not any(character.isdigit() or character == "C" for character in text):
        near = nearest(text, WORDS)
        there = f"{', '.join(WORDS)}, a metre such as 12/8, a cycle such as 7/8 5/8"
        raise RequestError(
            f"{to!r} is not a target",
            legal=(f"did you mean {near}? " if near else "") + f"there are {there}",
        )
    if " " in text or "*" in text:
        pattern = MetrePattern.parse(text)
        for metre in pattern.metres:
            _measured(metre)
        return pattern
    return _measured(Metre.parse(text))


def _measured(metre: Metre) -> Metre:
    if metre.length == 0:
        raise RequestError(f"{metre} has no length to restate into", legal="name a measured metre")
    return metre


def metre_of(bar: Bar) -> Metre:
    """The bar's metre; where none is in force, the simplest that holds it.

    Raises :class:`MusicError` where no signature does.
    """
    found = bar.metre or simplest_metre(bar.length)
    if found is None:
        raise MusicError(
            f"there is no metre here, and no signature holds {bar.length} of a whole note",
            place=Place(bar=bar.number),
            legal="write a signature",
        )
    return found


def bar_maps(
    score: Score,
    target: Target,
    *,
    lilt: str = "trochee",
    mapping: Mapping | None = None,
    bars: Collection[int] | None = None,
) -> Planned:
    """The map of every bar, ``None`` where the target leaves the bar as it is.

    ``mapping`` replaces the aligned map (see :mod:`rhythm.restate.custom_maps`). ``bars`` (indices)
    limits it to a passage, where a cycle of metres begins anew. Bars whose metre a map of one's own
    does not fit are left alone, and so are bars of parts in metres of two kinds where the target is
    a word, and bars without a metre that no signature holds; ``notes`` say so. Raises RequestError
    or MusicError where no bar fits.
    """
    chosen = frozenset(bar.index for bar in score.bars) if bars is None else frozenset(bars)
    opening = min(chosen, default=0)
    felt = felt_metres(score)
    split = None if mapping else _split(score, lilt)
    table = {m.signature: t for m, t in target.items()} if isinstance(target, dict) else {}
    known: dict[tuple[Metre, Metre | str], BarMap | None] = {}
    maps: list[BarMap | None] = []
    torn = in_two_metres(score)
    left = LeftBars()
    turn = 0
    for bar in score.bars:
        measured = bar.length > 0 and (bar.metre is None or bar.metre.length > 0)
        if not measured or bar.index not in chosen:
            maps.append(None)
            continue
        try:
            source = metre_of(bar)
        except MusicError as error:
            left.unsigned.append((bar, error))
            maps.append(None)
            continue
        source = felt.get(source, source)
        wanted: Metre | str | None
        if isinstance(target, MetrePattern):
            # An upbeat belongs to the first metre; the second half of a split bar to its first.
            continues = bar.shift > 0 and bar.index > opening
            if continues:
                turn -= 1
            wanted = target.metre_of(turn)
            if bar.shift == 0 or continues:
                turn += 1
        elif isinstance(target, dict):
            wanted = table.get(source.signature)
        else:
            wanted = target
        if wanted is None:
            maps.append(None)
            continue
        if bar.index in torn:
            left.torn.append((bar, torn[bar.index]))
            if wanted in WORDS:
                maps.append(None)
                continue
        key = (source, wanted)
        if key not in known:
            try:
                known[key] = _bar_map(source, wanted, lilt, mapping, split)
            except RequestError as error:
                if mapping is None:
                    raise error.at(Place(bar=bar.number)) from None
                left.errors[key] = error
                left.places[key] = Place(bar=bar.number)
                known[key] = None
        if key in left.errors:
            left.unmapped.append(source)
        maps.append(_cut(known[key], bar))
    if left.unsigned and not any(maps):
        raise left.unsigned[0][1]
    if left.errors and not any(maps):
        which, first = next(iter(left.errors.items()))
        raise first.at(left.places[which])
    if isinstance(target, MetrePattern) and len(set(target.metres)) > 1:
        _match_complements(score.bars, maps, lilt, mapping)
    return Planned(maps, left.notes(target in WORDS))


def _match_complements(
    bars: Sequence[Bar], maps: list[BarMap | None], lilt: str, mapping: Mapping | None
) -> None:
    """In a cycle, a bar that no longer makes one with its upbeat takes the upbeat's metre."""
    for index, role in enumerate(roles([_span(bar) for bar in bars])):
        here = maps[index]
        upbeat = maps[role.partners[0]] if role.kind == "complement" else None
        if here is None or upbeat is None or here.written == upbeat.written:
            continue
        total = _image(bars[index], here) + _image(bars[role.partners[0]], upbeat)
        if total not in (here.written.length, upbeat.written.length):
            maps[index] = _bar_map(here.source, upbeat.written, lilt, mapping, None)


def _image(bar: Bar, bar_map: BarMap) -> mpq:
    return bar_map(bar.shift + bar.length) - bar_map(bar.shift)


def _span(bar: Bar) -> BarExtent:
    metre = bar.metre.length if bar.metre is not None else mpq(0)
    return BarExtent(
        bar.length, metre, bar.implicit, bar.number, bar.left, bar.right, bar.shows_metre
    )


def _bar_map(
    source: Metre,
    wanted: Metre | str,
    lilt: str,
    mapping: Mapping | None,
    split: tuple[mpq, mpq] | None,
) -> BarMap | None:
    same = TimeMap.linear(source.length, source.length)
    if wanted == ("compound" if source.is_compound else "simple"):
        reason = f"a {'duplet' if source.is_compound else 'triplet'}, undone"
        return BarMap(source, source, source, same, None, loosened(source), reason)
    if split is not None and _is_here(wanted, source):
        even = split[1] == mpq(1, 2)
        reason = "a long-short pair, made even" if even else f"an even pair, made {lilt}"
        return BarMap(source, source, source, same, None, swung(source, *split), reason)
    if wanted in WORDS and not _has_beats_for(wanted, source):
        return None
    if wanted == "compound":
        target = written = compound_partner(source)
    elif wanted == "triplets":
        target, written = compound_partner(source), source
    elif wanted == "simple":
        target = written = simple_partner(source)
        if len(target.beats) != len(source.beats):
            target = _beat_for_beat(source)  # 18/16: six eighths, written in 3/4
    elif wanted == "duplets":
        target, written = simple_partner(source), source
        if len(target.beats) != len(source.beats):
            target = _beat_for_beat(source)  # 7/16: three eighths, not the one beat of 3/8
    else:
        assert isinstance(wanted, Metre)
        target = written = wanted
    mapped = mapping(source, target) if mapping else align(source, target, lilt=lilt)
    if target.signature == source.signature and mapped == same:
        return None
    onto = _onto(target, written) if wanted in ("triplets", "duplets") else None
    return BarMap(source, target, written, mapped, onto)


def _beat_for_beat(source: Metre) -> Metre:
    """A metre with a simple beat for every beat of ``source``, a ternary one losing a third."""
    beats = [n.length * 2 / 3 if n.ternary else n.length for n in source.beat_nodes]
    return Metre(tuple(Term((int(beat.numerator),), int(beat.denominator)) for beat in beats))


def _cut(bar_map: BarMap | None, bar: Bar) -> BarMap | None:
    """The map for a bar that begins or ends inside a beat that is written with a bracket."""
    if bar_map is None or bar_map.onto is None:
        return bar_map
    span = bar_map.source.length
    starts = {node.start for node in bar_map.source.beat_nodes}
    edges = tuple(edge % span for edge in (bar.shift, bar.shift + bar.length))
    if all(edge in starts for edge in edges):
        return bar_map
    return _with_plain_edges(bar_map, edges)


@lru_cache(maxsize=256)
def _with_plain_edges(bar_map: BarMap, edges: tuple[mpq, ...]) -> BarMap:
    points = dict(bar_map.warp.points)
    for node in bar_map.source.beat_nodes:
        if any(node.start < edge < node.end for edge in edges):
            points = {x: y for x, y in points.items() if not node.start < x < node.end}
            points.update((x, bar_map.warp(x)) for x in (node.start, node.end))
    return replace(bar_map, warp=TimeMap(tuple(sorted(points.items()))), cut=True)


def _has_beats_for(word: Metre | str, metre: Metre) -> bool:
    """Does the metre have beats that the word changes? Irregular metres have both kinds."""
    changed = word in ("simple", "duplets")
    return any(node.ternary == changed for node in metre.beat_nodes)


@lru_cache(maxsize=256)
def _onto(target: Metre, written: Metre) -> TimeMap | None:
    """Each beat of the target onto the same beat of the written metre; None where they are one."""
    if target == written:
        return None
    beats = zip(target.beats, written.beats, strict=True)
    return TimeMap.join(TimeMap.linear(beat, image) for beat, image in beats)


def _is_here(wanted: Metre | str, source: Metre) -> bool:
    """Does the target leave the metre as it is written, so that a ratio means swing?"""
    if isinstance(wanted, str):
        return wanted == "triplets" and not source.is_compound
    return wanted.signature == source.signature


def _split(score: Score, lilt: str) -> tuple[mpq, mpq] | None:
    """For a ratio: where in the beat a pair is split now, and where it shall be.

    Even pairs are made unequal; 1:1 makes equal the pair that prevails in the score.
    """
    share = Lilt.parse(lilt).share
    if share is None:
        return None
    half = mpq(1, 2)
    if share != half:
        return half, share
    prevailing = prevailing_split(score)
    return (prevailing, half) if prevailing is not None else (half, half)
