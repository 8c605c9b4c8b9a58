"""Laying music onto new bars: what every verb that redraws bar lines ends with.

:func:`settle` puts a :class:`~rhythm.rebar.passage.Passage` back into its score: events find
their bars, rests are cut at the new bar lines, marks and bar lines go where
:mod:`rhythm.rebar.marks` sends them, and the changed bars are spelled afresh. Bars that
nothing happened to keep their written form.

Conventions
-----------
Times are whole notes. Bars are numbered as :mod:`rhythm.rebar.bar_numbers` says; bars behind the
passage keep their numbers.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import replace

from gmpy2 import mpq

from rhythm.exact.frozen import dataclass
from rhythm.notate.score_notation import spell_score, with_fresh_bars
from rhythm.rebar.bar_numbers import numbers_of
from rhythm.rebar.bar_plan import plan_of
from rhythm.rebar.handed_over import with_voices_rested
from rhythm.rebar.marks import Edges, moved_marks
from rhythm.rebar.passage import Passage, PlacedEvent, VoiceLine
from rhythm.rebar.passage_edges import mended
from rhythm.score.free_bars import still_free
from rhythm.score.model import Bar, Barline, Event, Note, Part, Score, Voice
from rhythm.score.select import Bars

__all__ = ["Settled", "settle"]


@dataclass(frozen=True, slots=True)
class _Frame:
    """The new bars on the new timeline: edges from the passage's start, names, what was kept.

    ``same`` is how many bars, from the first on, are as long as before and in the same metre.
    """

    edges: Edges
    numbers: tuple[str, ...]
    same: int


@dataclass(frozen=True, slots=True)
class Settled:
    """A score with a passage laid back into it, the bars that came of it, those written anew."""

    score: Score
    bars: Bars
    changed: tuple[int, ...]


def settle(passage: Passage, *, bound: bool = False) -> Settled:
    """The score with the passage laid back into it, on its planned bars and spelled.

    ``bound`` makes the tuplets that events were given binding, as in ``spell_score``.
    """
    score = passage.score
    came_of = Bars.run(passage.first, passage.first + len(passage.bars) - 1)
    if not score.bars or not passage.bars:
        return Settled(score, came_of, ())
    frame = _frame(passage)
    passage = with_voices_rested(passage, frame.edges)
    results = [_part(passage, frame, p) for p in range(len(score.parts))]
    laid = score.replace(
        parts=tuple(part for part, _ in results),
        relaid=True,
        excerpt=score.excerpt or passage.loose,
    )
    changed = {bar for _, touched in results for bar in touched}
    if not changed:
        return Settled(score, came_of, ())
    spelled = spell_score(with_fresh_bars(laid, changed), bars=changed, bound=bound)
    return Settled(spelled, came_of, tuple(sorted(changed)))


def _frame(passage: Passage) -> _Frame:
    old_bars = passage.score.bars[passage.first : passage.last + 1]
    old = plan_of(old_bars)
    same = 0
    for now, was in zip(passage.bars, old, strict=False):
        if (now.length, now.metre, now.shift) != (was.length, was.metre, was.shift):
            break
        same += 1
    return _Frame(
        Edges.of(passage.bars, old_bars[0].start, passage.first),
        numbers_of(passage.bars, old_bars, same, passage.is_whole),
        same,
    )


def _part(passage: Passage, frame: _Frame, p: int) -> tuple[Part, set[int]]:
    """The part on its new bars, not spelled yet, and the indices of the bars to be spelled."""
    part = passage.score.parts[p]
    edges, first, last = frame.edges, passage.first, passage.last
    count = len(passage.bars)
    more = count - (last - first + 1)
    later = edges.base + edges.end - part.bars[last].end
    touched = {first + i for i in range(frame.same, count)}
    events_of: dict[int, list[Event]] = {}
    for strand in passage.strands:
        if strand.part != p:
            continue
        events, changed = _events(passage, frame, strand)
        touched |= changed
        tail = [_shifted(event, later, more) for event in strand.after]
        voice = part.voices[strand.voice]
        whole, untied = mended(voice.events, list(strand.before), events, tail)
        touched |= untied
        events_of[strand.voice] = list(whole)
    marks, moved = moved_marks(passage, edges, p, frame.same)
    touched |= moved
    bars = _bars(passage, frame, part, touched)
    for bar in part.bars[last + 1 :]:
        new = bar.replace(index=bar.index + more, start=bar.start + later)
        if bar.index == last + 1 and new.metre != bars[-1].metre and not new.shows_metre:
            new = new.replace(shows_metre=True)
        bars.append(new)
    same = range(first, first + frame.same)
    voices = tuple(
        Voice(part.voices[v].name, tuple(_unseen_rests_kept(found, part.voices[v], same, touched)))
        for v, found in sorted(events_of.items())
    )
    return part.replace(bars=still_free(bars), voices=voices, marks=marks), touched


def _unseen_rests_kept(
    events: list[Event], voice: Voice, same: range, touched: Collection[int]
) -> list[Event]:
    """The events with the hidden rests as they were of bars that nothing happened to."""
    back = [
        old
        for old in voice.events
        if old.bar in same and old.bar not in touched and PlacedEvent(old).is_unseen_rest
    ]
    if not back:
        return events
    places = {(old.onset, old.duration) for old in back}
    kept = [e for e in events if not e.is_rest or (e.onset, e.duration) not in places]
    return sorted((*kept, *back), key=lambda event: event.onset)


def _shifted(event: Event, later: mpq, more: int) -> Event:
    if not later and not more:
        return event
    pieces = tuple(replace(piece, bar=piece.bar + more) for piece in event.pieces)
    return event.replace(onset=event.onset + later, bar=event.bar + more, pieces=pieces)


def _events(passage: Passage, frame: _Frame, strand: VoiceLine) -> tuple[list[Event], set[int]]:
    """The strand's events on the score's timeline; which bars they change."""
    part = passage.score.parts[strand.part]
    source = part.voices[strand.voice].events
    edges = frame.edges
    kept_until = edges.starts[frame.same] if frame.same < len(edges.starts) else edges.end
    found: list[Event] = []
    touched: set[int] = set()
    seen: set[int] = set()
    for each in strand.laid:
        old = source[each.origin] if each.origin is not None else None
        if old is not None and _unchanged(each, old, edges.base) and each.end <= kept_until:
            seen.add(each.origin or 0)
            found.append(
                each.event.replace(onset=old.onset, bar=old.bar) if _shown(each, old) else old
            )
            continue
        bar = _bar_of(each, old, passage, edges)
        for piece in _cut_rest(each.event, edges, bar):
            found.append(piece.replace(onset=piece.onset + edges.base))
        touched.update(range(bar, max(bar, edges.before(each.end)) + 1))
    for i, old in enumerate(source):
        if not passage.first <= old.bar <= passage.last or i in seen:
            continue
        if not PlacedEvent(old).is_unseen_rest:
            reached = max((piece.bar for piece in old.pieces), default=old.bar)
            touched.update(range(old.bar, reached + 1))
    within = range(edges.first, edges.first + len(edges.starts))
    return _before_the_next(found, edges), {bar for bar in touched if bar in within}


def _before_the_next(events: list[Event], edges: Edges) -> list[Event]:
    """Grace notes that closed a bar go to the note that now follows them in it."""
    for i in range(len(events) - 1):
        event, following = events[i], events[i + 1]
        closes = edges.before(event.end - edges.base)
        if event.after and event.end <= following.onset and following.bar == closes:
            events[i] = event.replace(after=())
            events[i + 1] = following.replace(graces=(*event.after, *following.graces))
    return events


def _shown(each: PlacedEvent, old: Event) -> bool:
    """Whether it is a hidden rest that is shown now, where its bar is written anew."""
    return each.event.is_rest and PlacedEvent(old).is_unseen_rest


def _unchanged(each: PlacedEvent, old: Event, base: mpq) -> bool:
    new = each.event
    if new.onset + base != old.onset or new.duration != old.duration:
        return False
    return _shown(each, old) or (
        new.notes is old.notes
        and new.pieces is old.pieces
        and new.graces is old.graces
        and new.after is old.after
        and new.additions == old.additions
    )


def _bar_of(each: PlacedEvent, old: Event | None, passage: Passage, edges: Edges) -> int:
    """The bar an event is written in: where its onset lies.

    What stood past the end of its bar (hidden voices run on, grace notes close a bar) stays with
    the bar that its old bar's end came to.
    """
    if old is not None:
        bar = passage.score.bars[old.bar]
        if old.onset >= bar.end and bar.length:
            return edges.before(passage.time(bar.end - edges.base))
    return edges.at(each.onset)


def _cut_rest(event: Event, edges: Edges, bar: int) -> Iterable[Event]:
    """A rest bar by bar; anything else as it is."""
    event = event.replace(bar=bar)
    if not event.is_rest or not event.duration or edges.before(event.end) <= bar:
        yield event
        return
    for index in range(bar, edges.before(event.end) + 1):
        start = max(event.onset, edges.starts[index - edges.first])
        end = min(event.end, edges.end_of(index))
        if index == edges.first + len(edges.starts) - 1:
            end = event.end
        piece = event.replace(onset=start, duration=end - start, bar=index)
        if start > event.onset:
            fresh = tuple(Note("rest", staff=note.staff) for note in event.notes)
            piece = piece.replace(notes=fresh, graces=(), additions=())
        if end < event.end:
            piece = piece.replace(after=())
        yield piece


def _bars(passage: Passage, frame: _Frame, part: Part, touched: set[int]) -> list[Bar]:
    """The part's bars; a bar whose lines are not as they were joins ``touched``."""
    edges = frame.edges
    filled = _filled(passage, edges, part)
    lines = _barlines(passage, edges, part)
    bars = list(part.bars[: passage.first])
    for i, plan in enumerate(passage.bars):
        index = passage.first + i
        start = edges.base + edges.starts[i]
        left, right = lines.get((i, "left")), lines.get((i, "right"))
        if i < frame.same:
            old = part.bars[index].replace(start=start)
            if index in touched or (old.left, old.right) != (left, right):
                touched.add(index)
                old = old.replace(remarks=(), filled=filled[i], left=left, right=right)
            bars.append(old)
            continue
        before = bars[-1].metre if bars else None
        left_short = i == len(passage.bars) - 1 and plan.shift + plan.length < plan.full
        bars.append(
            Bar(
                index,
                frame.numbers[i],
                start,
                plan.length,
                plan.metre,
                index == 0 or plan.metre != before,
                # A bar that is left short within a score is none of its own.
                plan.tail
                or (plan.is_upbeat and i == 0)
                or (left_short and not passage.closes_score),
                plan.shift,
                filled[i],
                left,
                right,
            )
        )
    return bars


def _filled(passage: Passage, edges: Edges, part: Part) -> list[mpq]:
    """Where the visible music of each new bar ends, from the bar's start."""
    found = [mpq(0)] * len(edges.starts)
    for strand in passage.strands:
        if passage.score.parts[strand.part] is not part:
            continue
        for each in strand.laid:
            if not each.event.visible or not each.duration:
                continue
            for index in range(edges.at(each.onset), edges.before(each.end) + 1):
                i = index - edges.first
                reach = min(each.end, edges.end_of(index)) - edges.starts[i]
                found[i] = max(found[i], reach)
    return found


def _barlines(passage: Passage, edges: Edges, part: Part) -> dict[tuple[int, str], Barline]:
    """What the bar lines say, by new bar (from 0) and side."""
    found: dict[tuple[int, str], Barline] = {}
    for bar in part.bars[passage.first : passage.last + 1]:
        if bar.left is not None:
            at = edges.nearest_start(passage.frame(bar.start - edges.base))
            found[at - edges.first, "left"] = bar.left
        if bar.right is not None:
            at = edges.closed_by(bar.index, passage)
            found[at - edges.first, "right"] = bar.right
    return found
