"""Making music fit for brackets: padded to whole ones, in bars that hold them, and cut at them.

Conventions
-----------
``bracket`` is the length of one bracket: before squeezing N units, after it M. Brackets are counted
from the start of the passage; *turn* 0 is the first.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Iterator
from dataclasses import replace
from itertools import pairwise, repeat

from gmpy2 import mpq

from rhythm.exact.errors import MusicError
from rhythm.exact.frozen import dataclass
from rhythm.exact.metre import Metre
from rhythm.exact.values import format_value, is_power_of_two, name_value
from rhythm.rebar.bar_plan import BarPlan, plan_bars, plan_length, regions, starts, upbeat_bars
from rhythm.rebar.passage import Passage, PlacedEvent, VoiceLine, rest
from rhythm.score.model import Piece, Tuplet

__all__ = [
    "Ratio",
    "bracketed",
    "holding_brackets",
    "in_whole_bars",
    "lengthened",
    "with_rest_before",
    "with_whole_brackets",
]

_EIGHTH = mpq(1, 8)
_COUNTS = (1, 2, 3, 4, 6, 8)
"""How many brackets a bar may hold: what groups evenly."""


@dataclass(frozen=True, slots=True)
class Ratio:
    """``actual`` notes of the value ``unit`` in the time of ``normal``."""

    actual: int
    normal: int
    unit: mpq

    @property
    def length(self) -> mpq:
        """How long a bracket lasts."""
        return self.normal * self.unit

    @property
    def scale(self) -> mpq:
        """What durations are multiplied by."""
        return mpq(self.normal, self.actual)

    @property
    def is_plain(self) -> bool:
        """Whether brackets begin where plain values reach."""
        return is_power_of_two(int(self.unit.denominator))


def bracketed(passage: Passage, ratio: Ratio) -> Passage:
    """The squeezed passage, every note and rest in the brackets it lies in, cut at their edges.

    A bracket in which a voice rests throughout is not written; nor is one through which it holds a
    note: as long as the bracket is a plain value (Gould, Behind Bars: from memory).
    """
    length = ratio.length

    def change(strand: VoiceLine) -> Iterator[PlacedEvent]:
        sounding = {turn for each in strand.laid if each.sounds for turn in _turns(each, length)}
        for each in _rests_cut(strand.laid, length):
            if not each.duration:
                yield each
                continue
            silent = each.event.is_rest and each.onset // length not in sounding
            pieces = [] if silent else list(_pieces(each, ratio))
            if any(piece.tuplets for piece in pieces):
                yield PlacedEvent(each.event.replace(pieces=tuple(pieces)), each.origin)
            else:
                yield each.in_tuplets(())

    return passage.each(change)


def _turns(each: PlacedEvent, length: mpq) -> range:
    return range(int(each.onset // length), int(-(-each.end // length)))


def _pieces(each: PlacedEvent, ratio: Ratio) -> Iterator[Piece]:
    """The event between the edges of brackets, the ratio's and those of the source inside them."""
    length = ratio.length
    held = mpq(0)
    tremolo = each.event.pieces[0].tremolo if each.event.pieces else ""
    for start, end, own in _written(each, ratio.scale):
        for turn in range(int(start // length), int(-(-end // length))):
            opens = turn * length
            a, b = max(start, opens), min(end, opens + length)
            if b - a == length:
                held += length
                continue
            if held:
                yield Piece(0, mpq(0), held, "")
                held = mpq(0)
            outer = Tuplet(ratio.actual, ratio.normal, ratio.unit, opens, length)
            inner = _part_of(own, opens, opens + length, b - a)
            yield Piece(0, mpq(0), b - a, "", tuplets=(outer, *inner), tremolo=tremolo)
    if held:
        yield Piece(0, mpq(0), held, "")


def _written(each: PlacedEvent, scale: mpq) -> Iterator[tuple[mpq, mpq, tuple[Tuplet, ...]]]:
    """The event cut where the tuplets change that the source wrote it in, those moved along."""
    pieces = each.event.pieces
    total = sum((piece.duration for piece in pieces), mpq(0)) * scale
    if total != each.duration or not any(piece.tuplets for piece in pieces):
        yield each.onset, each.end, ()
        return
    at = each.onset
    for piece in pieces:
        end = at + piece.duration * scale
        own = tuple(
            replace(t, offset=at + (t.offset - piece.offset) * scale, length=t.length * scale)
            for t in piece.tuplets
        )
        yield at, end, own
        at = end


def _part_of(own: Iterable[Tuplet], opens: mpq, closes: mpq, held: mpq) -> tuple[Tuplet, ...]:
    """The source's tuplets as far as a bracket holds them: half a triplet is one of half its unit.

    Not those of which only one note, ``held`` so long, would be left.
    """
    found = []
    for each in own:
        start, end = max(each.offset, opens), min(each.offset + each.length, closes)
        if end - start > held:
            found.append(replace(each, offset=start, length=end - start))
    return tuple(found)


def _rests_cut(laid: Iterable[PlacedEvent], bracket: mpq) -> Iterable[PlacedEvent]:
    """The events, rests that begin or end inside a bracket cut where it begins or ends."""
    for each in laid:
        edges = sorted({each.onset + -each.onset % bracket, each.end - each.end % bracket})
        cuts = [at for at in edges if each.onset < at < each.end]
        if not each.event.is_rest or not cuts or not each.event.notes:
            yield each
            continue
        yield each.at(each.onset, cuts[0] - each.onset)
        for start, end in pairwise([*cuts, each.end]):
            yield PlacedEvent(rest(start, end - start, each.event.notes[0].staff))


def with_rest_before(passage: Passage, length: mpq) -> Passage:
    """The passage with its upbeat longer by a rest."""
    first = passage.bars[0]
    late = passage.warped(lambda at: at + length, passage.bars)
    upbeat = upbeat_bars(first.length + length, first)

    def change(strand: VoiceLine) -> Iterable[PlacedEvent]:
        if strand.laid and strand.laid[0].onset == length and strand.laid[0].event.notes:
            yield PlacedEvent(rest(mpq(0), length, strand.laid[0].event.notes[0].staff))
        yield from strand.laid

    return replace(late.each(change), bars=(*upbeat, *passage.bars[1:]))


def with_whole_brackets(passage: Passage, bracket: mpq) -> Passage:
    """The passage with rests where a voice enters or leaves inside a bracket; its bars stay."""

    def change(strand: VoiceLine) -> Iterable[PlacedEvent]:
        end = mpq(0)
        for each in sorted(strand.laid, key=lambda each: each.onset):
            yield from _rests_between(end, each.onset, bracket, each)
            yield each
            if each.end > end:
                end, last = each.end, each
        if end:
            yield from _rests_between(end, end + -end % bracket, bracket, last)

    return passage.each(change)


def _rests_between(start: mpq, end: mpq, bracket: mpq, near: PlacedEvent) -> Iterable[PlacedEvent]:
    """Rests from ``start`` to the end of its bracket and from that of ``end`` on, not between."""
    if start >= end or not near.event.notes:
        return
    staff = near.event.notes[0].staff
    close, open_ = start + -start % bracket, end - end % bracket
    if close > open_:
        yield PlacedEvent(rest(start, end - start, staff))
        return
    if close > start:
        yield PlacedEvent(rest(start, close - start, staff))
    if end > open_:
        yield PlacedEvent(rest(open_, end - open_, staff))


def in_whole_bars(passage: Passage, ratio: Ratio, old: Iterable[BarPlan]) -> Passage:
    """The squeezed passage in bars that hold whole brackets; ``old`` are those before squeezing.

    A metre that whole brackets do not fill gives way to the nearest in length that they do. Raises
    MusicError where no metre could.
    """
    bracket = ratio.length
    begins = starts(passage.bars)
    uneven = any(bar.metre is not None and bar.metre.length % bracket for bar in passage.bars)
    if not uneven and not any(at % bracket for at in begins):
        return passage
    fixed = passage.breaks if ratio.is_plain else begins
    cut = next((at for at in fixed if at % bracket), None)
    if cut is not None:
        metre = passage.bars[bisect_right(begins, cut) - 1].metre
        raise MusicError(
            f"a bracket lasts {name_value(bracket)}, and a bar line of {metre} falls "
            f"{format_value(cut % bracket)} into one",
            legal="take a unit or ratio whose brackets fill the bars, or whole bars first",
        )
    if not ratio.is_plain:
        return passage
    return replace(passage, bars=_planned(passage, ratio, tuple(old)))


def _planned(passage: Passage, ratio: Ratio, old: tuple[BarPlan, ...]) -> tuple[BarPlan, ...]:
    made: list[BarPlan] = []
    runs = regions(old)
    at = before = mpq(0)
    for run in runs:
        before += run.length
        end = _rounded_up(before * ratio.scale, ratio.length)
        if end <= at:
            continue
        if run.free or run.metre is None:
            made.append(BarPlan(end - at, run.metre))
            at = end
            continue
        metre = holding_brackets(run.metre, ratio.length)
        shift = mpq(0)
        if run.shift:
            upbeat = (run.metre.length - run.shift) * ratio.scale
            shift = -_rounded_up(upbeat, ratio.length) % metre.length
        left_over = (shift + end - at) % metre.length
        completes = bool(made) and made[0].is_upbeat and made[0].length + left_over == metre.length
        last = "metre" if run is not runs[-1] else "short" if completes else "fill"
        inner = [edge - at for edge in passage.breaks if at < edge < end]
        made += plan_bars(end - at, repeat(metre), shift=shift, breaks=inner, last=last)
        at = end
    return tuple(made)


def _rounded_up(length: mpq, bracket: mpq) -> mpq:
    return -(-length // bracket) * bracket


def holding_brackets(metre: Metre, bracket: mpq) -> Metre:
    """The metre itself where whole brackets fill it, else the nearest in length that they do."""
    if not metre.length % bracket:
        return metre
    sizes = [n * bracket for n in _COUNTS if n * bracket > _EIGHTH]
    size = min(sizes, key=lambda size: max(size / metre.length, metre.length / size))
    bottom = max(int(bracket.denominator), 4 if size <= 1 else 2)
    return Metre.parse(f"{size * bottom}/{bottom}")


def lengthened(passage: Passage, end: mpq) -> Passage:
    """The passage with more bars in its last metre, until they reach ``end``."""
    plan = list(passage.bars)
    reached = plan_length(plan)
    while reached < end:
        last = plan[-1]
        if last.length < last.full - last.shift:
            plan[-1] = replace(last, length=last.full - last.shift)
            reached += plan[-1].length - last.length
        else:
            plan.append(BarPlan(last.full or end - reached, last.metre))
            reached += plan[-1].length
    return replace(passage, bars=tuple(plan))
