"""Grouping: the same notes heard in odd groups, in fives or in 3+3+2, against the metre.

Conventions
-----------
A pattern counts units from the first full bar of the passage on (an upbeat is counted backwards)
and goes on across bar lines. Beams never cross them. Units and positions are in whole notes.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import replace
from typing import Literal, get_args

from gmpy2 import mpq

from rhythm.exact.cycles import meet
from rhythm.exact.errors import RequestError
from rhythm.exact.metre import Metre
from rhythm.exact.nearest import among
from rhythm.exact.pattern import MetrePattern
from rhythm.exact.tree import Node
from rhythm.exact.values import format_value, is_power_of_two, value
from rhythm.notate.beam_stretches import Stem
from rhythm.notate.beams import FLAGS, beam_stems
from rhythm.notate.manner import in_manner
from rhythm.notate.metric_grid import Grid
from rhythm.rebar.passage import Passage
from rhythm.rebar.rebar import pour
from rhythm.rebar.rebuilding import Settled, settle
from rhythm.rebar.telling import counted, outcome, redrawn, ties_over_bars
from rhythm.rebar.unbarring import lift
from rhythm.score.model import Addition, Bar, Event, Part, Piece, Score, Voice
from rhythm.score.outcome import Fact, Outcome, Report, Verb
from rhythm.score.select import Bars, Selection, select

__all__ = ["SHOWS", "accented_heads", "group", "heads", "parse_groups"]

Showing = Literal["beams", "accents", "metre"]
SHOWS = get_args(Showing)


@Verb
def group(
    score: Score,
    groups: str | int = "3+3+2",
    *,
    unit: str | mpq = "1/8",
    show: Showing = "beams",
    bars: str | Bars | None = None,
    part: str | None = None,
    voice: str | None = None,
    manner: str | Score = "source",
) -> Outcome[Report]:
    """The same notes in ``groups`` of units.

    ``show`` says how they are seen: ``beams`` follow the groups, across beats but not across bar
    lines; ``accents`` mark the note at each group's head; ``metre`` redraws the bars so that each
    turn of the pattern is one. ``bars`` (``5-8``) limits it to a passage, ``part`` and ``voice``
    to what stands in them: not with ``metre``, since all share the bars. ``manner`` says how what
    handbooks leave open is written where bars are redrawn: as the ``source``'s editor did, as the
    ``house`` does, or as the editor of another score.

    The report has ``meeting``: the units, turns of the pattern and bars after which pattern and
    bar begin together again (none where the first bar has no metre). Raises RequestError for a
    pattern, unit or show that is none, and for what the score does not have.
    """
    score = in_manner(score, manner)
    step = value(unit)
    sizes = parse_groups(str(groups))
    if step <= 0:
        raise RequestError(f"a unit of {format_value(step)}", legal="above 0, such as 1/8")
    if show not in SHOWS:
        raise RequestError(f"groups cannot be shown as {show!r}", legal=among(show, SHOWS))
    if show == "metre" and (part is not None or voice is not None):
        raise RequestError(
            "the bars cannot be redrawn in some of the music alone",
            legal="leave out part and voice, or show the groups by beams or accents",
        )
    wanted = select(score, bars=bars, part=part, voice=voice)
    passage = lift(score, *wanted.run)
    if passage.is_empty:
        return Outcome(score, None, Report(idle="there is no music"))
    meeting = _meeting(passage, sizes, step)
    if show == "metre":
        turn = MetrePattern((_metre_of(sizes, step),))
        settled = settle(pour(passage, turn).filled())
        facts = [redrawn(passage, settled), ties_over_bars(passage, settled), *meeting]
        return outcome(passage, settled, bars, facts, idle=f"the bars are of {turn} already")
    if show == "accents":
        settled, accents = _accented(passage, accented_heads(passage, sizes, step), wanted)
        said = Fact("accents", accents, f"{counted(accents, 'accent')} added" if accents else "")
        idle = f"no note without an accent begins a group of {groups}"
        return outcome(passage, settled, bars, [said, *meeting], idle=idle)
    settled = _beamed(passage, sizes, step, wanted)
    count = len(settled.changed)
    said = Fact("beamed", count, f"beams redrawn in {counted(count, 'bar')}" if count else "")
    return outcome(
        passage, settled, bars, [said, *meeting], idle=f"the beams show {groups} already"
    )


def _meeting(passage: Passage, sizes: Sequence[int], step: mpq) -> list[Fact]:
    """Where pattern and bar begin together again."""
    metre = passage.bars[0].metre
    if metre is None or not metre.length:
        return []
    found = meet(sum(sizes) * step, metre.length)
    units = int(-(-found.length // step))
    turns, whole_bars = found.turns
    words = f"pattern and bar begin together again after {counted(units, 'unit')} "
    words += f"({turns} x the pattern, {whole_bars} x the bar)"
    return [Fact("meeting", (units, turns, whole_bars), words)]


def parse_groups(text: str) -> tuple[int, ...]:
    """Read ``3+3+2`` or ``5``. Raises RequestError."""
    try:
        sizes = tuple(int(part) for part in text.split("+"))
    except ValueError:
        sizes = ()
    if not sizes or not all(1 <= size <= 64 for size in sizes):
        raise RequestError(
            f"{text!r} are not groups", legal="numbers of units joined by +, such as 3+3+2 or 5"
        )
    return sizes


def _metre_of(sizes: Sequence[int], unit: mpq) -> Metre:
    if unit.numerator != 1 or not is_power_of_two(int(unit.denominator)):
        raise RequestError(
            f"no metre counts in {format_value(unit)}", legal="a unit such as 1/4, 1/8 or 1/16"
        )
    return Metre.parse(f"{'+'.join(map(str, sizes))}/{unit.denominator}")


def heads(sizes: Sequence[int], unit: mpq, start: mpq, end: mpq, *, origin: mpq) -> list[mpq]:
    """The first positions of groups in start <= position < end, counted from ``origin``."""
    turn = sum(sizes) * unit
    offsets = [sum(sizes[:i]) * unit for i in range(len(sizes))]
    at = origin + (start - origin) // turn * turn
    found: list[mpq] = []
    while at < end:
        found.extend(at + offset for offset in offsets if start <= at + offset < end)
        at += turn
    return found


def _origin(passage: Passage) -> mpq:
    first = passage.bars[0]
    return first.length if first.is_upbeat else mpq(0)


def accented_heads(passage: Passage, sizes: Sequence[int], unit: mpq, shift: int = 0) -> Passage:
    """An accent on every note that begins a group; ``shift`` begins the pattern units later."""
    origin = _origin(passage) + shift * unit
    marked = set(heads(sizes, unit, mpq(0), passage.length, origin=origin))
    accent = Addition("accent")
    strands = tuple(
        strand.with_laid(
            replace(each, event=each.event.replace(additions=(*each.event.additions, accent)))
            if each.sounds and each.onset in marked and accent not in each.event.additions
            else each
            for each in strand.laid
        )
        for strand in passage.strands
    )
    return replace(passage, strands=strands)


def _accented(passage: Passage, marked: Passage, wanted: Selection) -> tuple[Settled, int]:
    """The score with the accents of ``marked`` in the voices that are ``wanted``, and how many.

    Notes are written as they were.
    """
    changed: dict[int, Part] = {}
    every: set[int] = set()
    count = 0
    for strand in marked.strands:
        part = changed.get(strand.part, passage.score.parts[strand.part])
        voice = part.voices[strand.voice]
        if not wanted.has_voice(strand.part, voice.name):
            continue
        events = list(voice.events)
        touched: set[int] = set()
        for each in strand.laid:
            if each.origin is None or each.event.additions == events[each.origin].additions:
                continue
            events[each.origin] = events[each.origin].replace(additions=each.event.additions)
            touched.add(events[each.origin].bar)
            count += 1
        if touched:
            voices = list(part.voices)
            voices[strand.voice] = Voice(voice.name, tuple(events))
            changed[strand.part] = part.replace(voices=tuple(voices))
            every |= touched
    score = passage.score.map_parts(changed) if changed else passage.score
    return _in_place(passage, score, every), count


def _in_place(passage: Passage, score: Score, changed: set[int]) -> Settled:
    """A score whose bars are where they were."""
    return Settled(score, Bars.run(passage.first, passage.last), tuple(sorted(changed)))


def _beamed(passage: Passage, sizes: Sequence[int], unit: mpq, wanted: Selection) -> Settled:
    """The score with the beams of the passage redrawn where it is ``wanted``; all else stays."""
    score = passage.score
    inside = range(passage.first, passage.last + 1)
    start = score.bars[passage.first].start + _origin(passage)
    grids = {i: _grid(score.bars[i], sizes, unit, start) for i in inside}
    changed: set[int] = set()
    parts = tuple(
        part.replace(
            voices=tuple(
                _beam_voice(voice, grids, changed) if wanted.has_voice(p, voice.name) else voice
                for voice in part.voices
            )
        )
        for p, part in enumerate(score.parts)
    )
    return _in_place(passage, score.replace(parts=parts) if changed else score, changed)


def _grid(bar: Bar, sizes: Sequence[int], unit: mpq, origin: mpq) -> Grid:
    """The groups of one bar as the cells that beams may fill, each whole as a dotted beat is."""
    turn = heads(sizes, unit, bar.start, bar.end, origin=origin)
    edges = sorted({bar.start, *turn, bar.end})
    cells = tuple(Node(a - bar.start, b - a, "beat") for a, b in itertools.pairwise(edges))
    return Grid(Node(mpq(0), bar.length, "bar", cells), mpq(0), whole=True)


def _beam_voice(voice: Voice, grids: dict[int, Grid], changed: set[int]) -> Voice:
    by_bar: dict[int, list[tuple[int, int]]] = {}
    for e, event in enumerate(voice.events):
        for p, piece in enumerate(event.pieces):
            if piece.bar in grids:
                by_bar.setdefault(piece.bar, []).append((e, p))
    beams: dict[tuple[int, int], tuple[str, ...]] = {}
    for index, places in by_bar.items():
        places.sort(key=lambda place: voice.events[place[0]].pieces[place[1]].offset)
        stems = [_stem(voice.events[e], voice.events[e].pieces[p]) for e, p in places]
        for place, words in zip(places, beam_stems(grids[index], stems), strict=True):
            if voice.events[place[0]].pieces[place[1]].beams != words:
                beams[place] = words
                changed.add(index)
    if not beams:
        return voice
    events = tuple(
        event.replace(
            pieces=tuple(
                replace(piece, beams=beams[e, p]) if (e, p) in beams else piece
                for p, piece in enumerate(event.pieces)
            )
        )
        if any((e, p) in beams for p in range(len(event.pieces)))
        else event
        for e, event in enumerate(voice.events)
    )
    return Voice(voice.name, events)


def _stem(event: Event, piece: Piece) -> Stem:
    outer = piece.tuplets[0] if piece.tuplets else None
    return Stem(
        piece.offset,
        piece.end,
        FLAGS.get(piece.type, 0),
        event.is_rest,
        (outer.offset, outer.offset + outer.length) if outer is not None else None,
    )
