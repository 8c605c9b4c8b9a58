"""One voice in one bar: from bare durations to values, ties, tuplets and beams.

This is the pure heart of spelling. It knows nothing of scores, and since the same rhythms come
back again and again it remembers what it has written.

Conventions
-----------
Positions are whole notes from the bar's start.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache
from typing import NamedTuple

from gmpy2 import mpq

from rhythm.exact.metre import Metre
from rhythm.notate.bar_items import Hint, Sign, Slot
from rhythm.notate.beam_stretches import Stem
from rhythm.notate.beams import FLAGS, beam_stems, hold_beams
from rhythm.notate.metric_grid import Grid, bar_grid, is_dyadic
from rhythm.notate.plain_beats import Held, reading
from rhythm.notate.tuplets import write_slots
from rhythm.notate.usage import HOUSE, Remembered, Usage
from rhythm.notate.values import symbol_of
from rhythm.score.model import Piece, Tuplet

__all__ = ["Item", "Spelled", "Written", "spell_bar", "spell_on", "stems_of"]

_HALF = mpq(1, 2)
_ZERO = mpq(0)


class Written(NamedTuple):
    """A symbol as the source had it."""

    type: str
    dots: int
    ratio: tuple[int, int]
    beams: tuple[str, ...]


class Item(NamedTuple):
    """One event, or the part of it that a bar holds: where it stands and what is known of it.

    ``dots`` is how many dots a symbol may have. ``hints`` are the tuplets the source wrote,
    ``written`` the symbols it had, where their beams are to be kept. ``sung`` says that a syllable
    begins on it, ``slurred`` that a slur does. ``bound`` makes the hints binding. ``tremolo`` says
    that it stands for the two notes of a double tremolo, which have no beam with others.
    ``unjoined`` says that no beam led to it where one beat held it and the note before.
    ``bare`` are the signs that it does without, being hidden or a cue: beams, brackets.
    """

    offset: mpq
    duration: mpq
    rest: bool = False
    dots: int = 1
    hints: tuple[Hint, ...] = ()
    written: tuple[Written, ...] = ()
    sung: bool = False
    bound: bool = False
    tremolo: bool = False
    slurred: bool = False
    bare: frozenset[str] = frozenset()
    unjoined: bool = False


class Spelled(NamedTuple):
    """One symbol and its beams, before it is a piece."""

    sign: Sign
    beams: tuple[str, ...]


def spell_bar(
    metre: Metre | None,
    length: mpq,
    shift: mpq,
    items: Sequence[Item],
    *,
    feel: str = "",
    signed: bool = True,
    usage: Usage = HOUSE,
    remembered: Remembered | None = None,
) -> list[list[Piece]]:
    """The written symbols of each item of one voice in one bar, in order.

    ``length`` is the bar's, ``shift`` where in ``metre`` it begins. Items may leave gaps, overlap
    or run past the bar. A rest that fills the whole bar is one whole-bar rest, but in a bar that is
    not ``signed`` it shows its length. The pieces of an item add up to its duration exactly.
    With the ``feel`` ``duple`` halves and quarters of compound beats are duplets throughout, rests
    and single notes too; with ``triple`` a simple beat in three is one bracket. ``usage`` answers
    what handbooks leave open; a bar of the same rhythm that is ``remembered`` is followed.
    """
    if remembered is not None:
        found = _recalled(metre, length, shift, tuple(items), usage, remembered)
    else:
        found = _spelled(metre, length, shift, tuple(items), feel, signed, usage)
    return [list(pieces) for pieces in found]


@lru_cache(maxsize=16384)
def _recalled(
    metre: Metre | None,
    length: mpq,
    shift: mpq,
    items: tuple[Item, ...],
    usage: Usage,
    remembered: Remembered,
) -> tuple[tuple[Piece, ...], ...]:
    """The bar as it is remembered; brackets must be those that would be written anyhow."""
    grid = bar_grid(remembered.metre, length, shift, "", usage)
    if all(symbol.ratio == (1, 1) for symbol in remembered.symbols):
        signs = _signs_of(remembered, items)
    else:
        signs = [spelled.sign for spelled in spell_on(grid, items)]
        if not _are_those(remembered, signs, items):
            return _spelled(metre, length, shift, items, "", True, usage)
    stems = stems_of(signs, items)
    beams = remembered.beams
    if beams is None:
        beams = tuple(beam_stems(grid, stems))
    written: list[list[Piece]] = [[] for _ in items]
    for sign, words in zip(_bracketed(signs, beams, frozenset()), beams, strict=True):
        written[sign.item].append(_piece(sign, words, length))
    return tuple(tuple(pieces) for pieces in written)


def _signs_of(remembered: Remembered, items: Sequence[Item]) -> list[Sign]:
    signs: list[Sign] = []
    at = 0
    for each in remembered.symbols:
        while each.start >= items[at].offset + items[at].duration:
            at += 1
        signs.append(Sign(at, each.start, each.end, each.type, each.dots))
    return signs


def _are_those(remembered: Remembered, signs: Sequence[Sign], items: Sequence[Item]) -> bool:
    return [each[:-1] for each in remembered.symbols] == [
        (sign.start, sign.end, items[sign.item].rest, sign.type, sign.dots, sign.ratio)
        for sign in signs
    ]


@lru_cache(maxsize=16384)
def _spelled(
    metre: Metre | None,
    length: mpq,
    shift: mpq,
    items: tuple[Item, ...],
    feel: str,
    signed: bool,
    usage: Usage,
) -> tuple[tuple[Piece, ...], ...]:
    silent = len(items) == 1 and items[0].rest and not items[0].offset
    if silent and items[0].duration == length:
        if signed and (_takes_whole_bar_rest(metre, length) or (length == 1 and not shift)):
            # Alone in its bar a whole rest is read as the whole bar's, whatever the bar lasts.
            return ((Piece(0, _ZERO, length, "", whole_bar=True),),)
        if not signed and length == 1:  # a whole rest would be read as the whole bar's
            halves = (items[0]._replace(duration=_HALF), Item(_HALF, _HALF, rest=True))
            one, other = _spelled(metre, length, shift, halves, feel, signed, usage)
            return (one + other,)
    written: list[list[Piece]] = [[] for _ in items]
    if not feel:
        metre = _beaten(metre, length, shift, items, usage)
    for sign, beams in spell_on(bar_grid(metre, length, shift, feel, usage), items):
        written[sign.item].append(_piece(sign, beams, length))
    return tuple(tuple(pieces) for pieces in written)


def _beaten(
    metre: Metre | None, length: mpq, shift: mpq, items: Sequence[Item], usage: Usage
) -> Metre | None:
    """The metre whose beats the bar is written in: that of plain beats, where usage has it so."""
    if not usage.answers or usage.answer("plain beats", str(metre)) != "whole":
        return metre
    if any(item.hints or item.duration <= 0 for item in items):
        return metre
    held = [Held(i.offset, i.offset + i.duration, i.rest, i.dots) for i in items]
    found = reading(metre, length, shift, held)
    return metre if found is None else found.metre


def spell_on(grid: Grid, items: Sequence[Item]) -> list[Spelled]:
    """The symbols of the items on a grid, stream by stream."""
    return [spelled for layer in _layers(items) for spelled in _write_layer(grid, layer, items)]


def _takes_whole_bar_rest(metre: Metre | None, length: mpq) -> bool:
    """A silent bar takes one sign; an upbeat shows its value, and so does a bar that is too long.

    A short bar whose length neither plain values nor a triplet could write takes the sign all the
    same.
    """
    if metre is None or not metre.length or length == metre.length:
        return True
    return length < metre.length and not is_dyadic(3 * length)


def _layers(items: Sequence[Item]) -> list[list[Slot]]:
    """The items as streams in which nothing overlaps; a well-behaved voice makes one."""
    layers: list[list[Slot]] = []
    order = sorted(range(len(items)), key=lambda i: (items[i].offset, i))
    for i in order:
        item = items[i]
        if item.duration <= 0:
            continue
        end = item.offset + item.duration
        slot = Slot(i, item.offset, end, item.rest, item.dots, item.hints, item.bound)
        layer = next((la for la in layers if la[-1].end <= item.offset), None)
        if layer is None:
            layers.append([slot])
        else:
            layer.append(slot)
    return layers


def _write_layer(grid: Grid, layer: Sequence[Slot], items: Sequence[Item]) -> list[Spelled]:
    signs = sorted(write_slots(grid, layer), key=lambda sign: sign.start)
    stems = stems_of(signs, items)
    held: Sequence[tuple[str, ...] | None] = ()
    if any(item.written for item in items):
        held = hold_beams(stems, _unchanged(signs, items))
    beams = beam_stems(grid, stems, held)
    unbracketed = [i for i, item in enumerate(items) if "brackets" in item.bare]
    bracketed = _bracketed(signs, beams, frozenset(unbracketed))
    return [Spelled(*pair) for pair in zip(bracketed, beams, strict=True)]


def stems_of(signs: Sequence[Sign], items: Sequence[Item]) -> list[Stem]:
    """What beaming needs to know of the symbols."""
    return [
        Stem(
            sign.start,
            sign.end,
            0 if _is_flagless(items[sign.item]) else FLAGS.get(sign.type, 0),
            items[sign.item].rest,
            _reach(sign),
            items[sign.item].sung and sign.start == items[sign.item].offset,
            items[sign.item].slurred and sign.start == items[sign.item].offset,
            items[sign.item].unjoined and sign.start == items[sign.item].offset,
        )
        for sign in signs
    ]


def _is_flagless(item: Item) -> bool:
    return item.tremolo or "beams" in item.bare


def _unchanged(signs: Sequence[Sign], items: Sequence[Item]) -> list[tuple[str, ...] | None]:
    """The beams of the source for each sign of an item written with the same symbols as before."""
    found: list[tuple[str, ...] | None] = []
    placed: dict[int, int] = {}
    now: dict[int, list[tuple[object, ...]]] = {}
    for sign in signs:
        now.setdefault(sign.item, []).append((sign.type, sign.dots, sign.ratio))
    for sign in signs:
        written = items[sign.item].written
        if [symbol[:3] for symbol in written] == now[sign.item]:
            at = placed.get(sign.item, 0)
            found.append(written[at].beams)
            placed[sign.item] = at + 1
        else:
            found.append(None)
    return found


def _bracketed(
    signs: Sequence[Sign], beams: Sequence[tuple[str, ...]], bare: frozenset[int]
) -> list[Sign]:
    """The signs with a bracket only where no beam covers their whole tuplet, and none if bare."""
    words: dict[tuple[int, mpq], list[str]] = {}
    shown: set[tuple[int, mpq]] = set()
    for sign, beam in zip(signs, beams, strict=True):
        for tuplet in sign.tuplets:
            if sign.item not in bare:
                shown.add((tuplet.number, tuplet.offset))
            words.setdefault((tuplet.number, tuplet.offset), []).append(beam[0] if beam else "")
    covered = {
        key
        for key, said in words.items()
        if len(said) > 1
        and said[0] in ("begin", "continue")
        and said[-1] in ("continue", "end")
        and all(word == "continue" for word in said[1:-1])
    }
    covered |= words.keys() - shown
    return [
        sign
        if not sign.tuplets
        else sign._replace(
            tuplets=tuple(
                replace(t, bracket=(t.number, t.offset) not in covered) for t in sign.tuplets
            )
        )
        for sign in signs
    ]


def _reach(sign: Sign) -> tuple[mpq, mpq] | None:
    if not sign.tuplets:
        return None
    outer = sign.tuplets[0]
    return outer.offset, outer.offset + outer.length


def _piece(sign: Sign, beams: tuple[str, ...], length: mpq) -> Piece:
    within = sign.end <= length
    return Piece(
        0,
        sign.start,
        sign.end - sign.start,
        sign.type,
        sign.dots,
        sign.ratio,
        tuple(_kept_inside(tuplet, length) if within else tuplet for tuplet in sign.tuplets),
        beams,
    )


def _kept_inside(tuplet: Tuplet, length: mpq) -> Tuplet:
    """The tuplet as far as the bar holds it: an upbeat may be the last note of three.

    What is left of it is a whole tuplet of smaller units where a plain unit fits.
    """
    start, end = max(tuplet.offset, _ZERO), min(tuplet.offset + tuplet.length, length)
    if (start, end - start) == (tuplet.offset, tuplet.length):
        return tuplet
    unit = (end - start) / tuplet.normal
    if symbol_of(unit, 0) is None:
        unit = tuplet.unit
    return replace(tuplet, unit=unit, offset=start, length=end - start)
