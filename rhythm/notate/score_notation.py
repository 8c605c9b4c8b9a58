"""From exact events to written notes that a player reads at sight.

An event says when something sounds and for how long; spelling decides the symbols: where values
are split and tied, how silence is cut into rests, which notes make a tuplet, which share a beam.
The rules live in :mod:`rhythm.notate.values`, ``rests``, ``tuplets`` and ``beams``;
docs/editors.md shows how far they agree with professional editors.

Conventions
-----------
Time is whole notes. Inside :func:`spell_bar` positions count from the bar's start. What was
written before (``Event.pieces``) is a hint at most: tuplet ratios where they still hold and, with
``keep``, beams over an unchanged rhythm. Double dots are written only in a voice that had some.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import NamedTuple

from gmpy2 import mpq

from rhythm.notate.bar_items import Hint
from rhythm.notate.bar_notation import Item, Written, spell_bar
from rhythm.notate.manner import usage_of
from rhythm.notate.tremolos import are_tremolo, tremolo_pieces
from rhythm.notate.usage import BarRhythm, Remembered, Usage
from rhythm.score.model import Bar, Event, Note, Part, Piece, Pitch, Score, Voice

__all__ = ["Item", "Written", "spell_bar", "spell_score", "with_fresh_bars"]

_ZERO = mpq(0)
_NOT_BARE: frozenset[str] = frozenset()


def with_fresh_bars(score: Score, bars: Collection[int] | None = None) -> Score:
    """``score`` with the bars at these indices (None: all) set free to be written anew.

    A bar that keeps its source is written out as it was read, whatever its events say; every
    transformation therefore frees the bars it touched, in all parts.
    """
    parts = tuple(
        part.replace(
            bars=tuple(
                bar.replace(source=None)
                if bar.source is not None and (bars is None or bar.index in bars)
                else bar
                for bar in part.bars
            )
        )
        for part in score.parts
    )
    return score.replace(parts=parts)


def spell_score(
    score: Score,
    *,
    keep: bool = False,
    hints: bool = True,
    bars: Collection[int] | None = None,
    duple: Collection[int] = (),
    triple: Collection[int] = (),
    bound: bool = False,
    usage: Usage | None = None,
    spared: Collection[tuple[int, int, int]] = (),
) -> Score:
    """``score`` with every event's pieces written afresh from its onset and duration.

    ``bars`` (indices; None: all) limits this to some bars; an event that reaches into others keeps
    its pieces there while they still fit. ``hints`` lets the pieces an event has had say which
    tuplet ratios and double dots to prefer; ``keep`` also keeps their beams over any run of notes
    that is written as it was. In the bars named by ``duple`` compound beats are divided in two and
    read so, rests and all; in those named by ``triple`` simple beats in three. ``usage`` answers
    what handbooks leave open (None: as the score's ``hand`` does). ``spared`` are bars of single
    voices (part, voice and bar, as indices) that stay as they were written. ``bound`` makes
    the tuplets that the pieces name binding: they stand, an event tied from piece to piece where
    they end, and there are no others where plain values serve. Neighbouring visible rests of a
    voice in a bar are merged and written anew, one event for each symbol. The two notes of a double
    tremolo stay one, while they are alike.
    """
    chosen = None if bars is None else frozenset(bars)
    unsigned = _held_open_by_rests(score)
    usage = usage_of(score) if usage is None else usage
    parts = tuple(
        part.replace(
            voices=tuple(
                _VoiceSpeller(
                    part,
                    voice,
                    chosen,
                    _feels(duple, triple),
                    unsigned,
                    hints or keep,
                    keep and _has_beams(part),
                    bound,
                    usage,
                    frozenset(bar for *where, bar in spared if where == [p, v]),
                ).spell()
                for v, voice in enumerate(part.voices)
            )
        )
        for p, part in enumerate(score.parts)
    )
    return score.replace(parts=parts)


def _feels(duple: Collection[int], triple: Collection[int]) -> dict[int, str]:
    return dict.fromkeys(triple, "triple") | dict.fromkeys(duple, "duple")


def _held_open_by_rests(score: Score) -> frozenset[int]:
    """The bars that only parts which are silent throughout fill: their rests show the length.

    A whole-bar rest lasts as long as the bar's other music, so it would not.
    """
    short: set[int] = set()
    for part in score.parts:
        short.update(bar.index for bar in part.bars if 0 < bar.filled < bar.length)
    # Where a bar may be short on purpose nothing but what is seen in it says how long it is.
    ends = {
        bar.index
        for bar in score.bars
        if bar.metre is None or bar.length != bar.metre.length or bar.end == score.length
    } - short
    sounds: set[int] = set()
    short |= ends
    if not short:
        return frozenset()
    for part in score.parts:
        for voice in part.voices:
            sounding: set[int] = set()
            resting: set[int] = set()
            reaching: set[int] = set()
            for event in voice.events:
                if not event.visible:
                    continue
                for index in _bars_under(event, part.bars):
                    if index in short:
                        (resting if event.is_rest else sounding).add(index)
                        if event.end >= part.bars[index].end:
                            reaching.add(index)
            sounds |= sounding | (resting - reaching)
            short -= sounding & reaching
    return frozenset(short - (ends - sounds))


def _bars_under(event: Event, bars: Sequence[Bar]) -> Iterator[int]:
    """The bars that an event stands in, whatever it was written as before."""
    yield event.bar
    for index in range(event.bar + 1, len(bars)):
        if bars[index].start >= event.end:
            break
        yield index


def _has_beams(part: Part) -> bool:
    return any(p.beams for voice in part.voices for event in voice.events for p in event.pieces)


class _Share(NamedTuple):
    """The part of the event numbered ``event`` that stands in one bar.

    ``hint`` is the piece whose tuplets it was written in, where there is just one.
    """

    event: int
    bar: int
    offset: mpq
    duration: mpq
    hint: Piece | None = None


class _Group(NamedTuple):
    """A tuplet as the source wrote it, told from its neighbours by where it stood."""

    actual: int
    normal: int
    bar: int
    offset: mpq
    length: mpq


class _VoiceSpeller:
    """Spells one voice, bar by bar."""

    def __init__(
        self,
        part: Part,
        voice: Voice,
        chosen: frozenset[int] | None,
        feels: Mapping[int, str],
        unsigned: frozenset[int],
        hints: bool,
        keep: bool,
        bound: bool,
        usage: Usage,
        spared: frozenset[int],
    ) -> None:
        self.bars = part.bars
        self.voice = voice
        self.events = voice.events
        self.chosen = chosen
        self.feels = feels
        self.usage = usage
        self.own = usage.memory is not None and usage.memory.own
        self.spared = spared
        self.unsigned = unsigned
        self.hints = hints
        self.keep = keep
        self.bound = bound
        self.dots = 1 + any(piece.dots > 1 for e in self.events for piece in e.pieces)
        self.pieces: dict[int, list[Piece]] = {}
        self.rests: dict[int, list[Event]] = {}

    def spell(self) -> Voice:
        """The voice with its new pieces."""
        by_bar: dict[int, list[_Share]] = {}
        for i, event in enumerate(self.events):
            for share in self._shares(i, event):
                shares = by_bar.get(share.bar)
                if shares is None:
                    by_bar[share.bar] = [share]
                else:
                    shares.append(share)
        for index in sorted(by_bar):
            shares = by_bar[index]
            if (self.chosen is None or index in self.chosen) and index not in self.spared:
                self._spell_bar(self.bars[index], shares)
            else:
                self._keep_bar(self.bars[index], shares)
        events: list[Event] = []
        for i, event in enumerate(self.events):
            if i in self.rests:
                events += self.rests[i]
            elif i in self.pieces:
                events.append(event.replace(pieces=tuple(self.pieces[i]), unjoined=False))
            elif not event.duration:
                events.append(self._in_its_place(event))
        return Voice(self.voice.name, tuple(events))

    def _in_its_place(self, event: Event) -> Event:
        """What takes no time, with the symbol it was read from where it stands now."""
        offset = event.onset - self.bars[event.bar].start
        if event.notes and not event.pieces and not event.graces:
            return event.replace(pieces=(Piece(event.bar, offset, event.duration, ""),))
        if all(piece.bar == event.bar and piece.offset == offset for piece in event.pieces):
            return event
        moved = (replace(each, bar=event.bar, offset=offset) for each in event.pieces)
        return event.replace(pieces=tuple(moved))

    def _shares(self, i: int, event: Event) -> list[_Share]:
        """The event cut at the bar lines it crosses and, where they bind, between its pieces."""
        if event.duration <= 0:
            return []
        bar = self.bars[event.bar]
        offset = event.onset - bar.start
        end = offset + event.duration
        hint = event.pieces[0] if self.hints and len(event.pieces) == 1 else None
        if end <= bar.length or offset >= bar.length or self._runs_over(i, event):
            whole = _Share(i, event.bar, offset, event.duration, hint)
            return self._by_piece(whole, event) if self.bound else [whole]
        shares: list[_Share] = []
        at, last, index = event.onset, event.end, event.bar
        while at < last:
            bar = self.bars[index]
            stop = min(last, bar.end) if index + 1 < len(self.bars) else last
            if stop > at:
                share = _Share(i, index, at - bar.start, stop - at, hint)
                shares += self._by_piece(share, event) if self.bound else [share]
                at = stop
            index += 1
        return shares

    def _by_piece(self, share: _Share, event: Event) -> list[_Share]:
        """The share cut between the pieces that the event was given, if those make it up."""
        pieces = event.pieces
        if len(pieces) < 2 or not any(piece.tuplets for piece in pieces):
            return [share]
        if sum((piece.duration for piece in pieces), _ZERO) != event.duration:
            return [share]
        found: list[_Share] = []
        at = event.onset - self.bars[share.bar].start
        for piece in pieces:
            start = max(at, share.offset)
            at += piece.duration
            end = min(at, share.offset + share.duration)
            if start < end:
                found.append(_Share(share.event, share.bar, start, end - start, piece))
        return found

    def _runs_over(self, i: int, event: Event) -> bool:
        """True for a hidden or cue event that runs past its bar line while its voice goes on."""
        if event.visible:
            return False
        later = (self.events[k] for k in range(i + 1, len(self.events)))
        following = next((e for e in later if e.bar > event.bar), None)
        return following is None or following.onset < event.end

    def _spell_bar(self, bar: Bar, shares: Sequence[_Share]) -> None:
        groups = self._merged(shares)
        written = self._symbols(bar, groups)
        apart = [
            group
            for group, pieces in zip(groups, written, strict=True)
            if self._is_tremolo(group) and tremolo_pieces(pieces, self.dots) is None
        ]
        if apart:
            groups = [
                part
                for group in groups
                for part in ([[share] for share in group] if group in apart else [group])
            ]
            written = self._symbols(bar, groups)
        for group, pieces in zip(groups, written, strict=True):
            event = group[0].event
            placed = [_placed(piece, bar.index) for piece in pieces]
            if self.events[event].is_rest:
                self._put_rests(group, placed)
            elif self._is_tremolo(group):
                both = tremolo_pieces(placed, self.dots) or ()
                for share, piece in zip(group, both, strict=True):
                    self.pieces[share.event] = [piece]
            elif event in self.pieces:
                self.pieces[event] += placed
            else:
                self.pieces[event] = placed

    def _symbols(self, bar: Bar, groups: Sequence[Sequence[_Share]]) -> list[list[Piece]]:
        keys: dict[_Group, int] = {}
        items = [self._item(group, keys) for group in groups]
        feel = self.feels.get(bar.index, "")
        signed = bar.index not in self.unsigned
        remembered = None
        if signed and not feel and not self.bound:
            remembered = self._remembered(bar, items)
        return spell_bar(
            bar.metre,
            bar.length,
            bar.shift,
            items,
            feel=feel,
            signed=signed,
            usage=self.usage,
            remembered=remembered,
        )

    def _remembered(self, bar: Bar, items: Sequence[Item]) -> Remembered | None:
        """How the editor wrote this rhythm, if the bar is nothing but notes and silences."""
        memory = self.usage.memory
        if memory is None or not memory.knows(bar.metre):
            return None
        if any(item.written or item.tremolo or item.bare for item in items):
            return None
        held = tuple([(item.offset, item.duration, item.rest, item.sung) for item in items])
        found = self.usage.bar(BarRhythm(bar.metre, bar.length, bar.shift, held), bar.index)
        if found is not None and any(each.dots > self.dots for each in found.symbols):
            return None
        return found

    def _keep_bar(self, bar: Bar, shares: Sequence[_Share]) -> None:
        """Leave a bar that was not asked for as it is, where it still fits."""
        for share in shares:
            event = self.events[share.event]
            old = [piece for piece in event.pieces if piece.bar == bar.index]
            fits = old and old[0].offset == share.offset
            if fits and sum((p.duration for p in old), _ZERO) == share.duration:
                if event.is_rest:
                    self.rests.setdefault(share.event, []).append(
                        self._rest(event, share.offset, share.duration, old, event.notes)
                    )
                else:
                    self.pieces.setdefault(share.event, []).extend(old)
            else:
                self._spell_bar(bar, [share])

    def _merged(self, shares: Sequence[_Share]) -> list[list[_Share]]:
        """What is written together: neighbouring rests, and the two notes of a double tremolo."""
        groups: list[list[_Share]] = []
        silent = False
        for share in shares:
            rest = self.events[share.event].is_rest
            if (rest and silent and self._joins(groups[-1][-1], share)) or (
                not rest and groups and self._alternates(groups[-1], share)
            ):
                groups[-1].append(share)
            else:
                groups.append([share])
            silent = rest
        return groups

    def _alternates(self, group: Sequence[_Share], share: _Share) -> bool:
        """True where two notes are a double tremolo, and may still be written as one."""
        before, event = self.events[group[-1].event], self.events[share.event]
        return (
            len(group) == 1
            and are_tremolo(before, event)
            and group[0].duration == before.duration == share.duration == event.duration
        )

    def _is_tremolo(self, group: Sequence[_Share]) -> bool:
        return len(group) > 1 and not self.events[group[0].event].is_rest

    def _joins(self, before: _Share, share: _Share) -> bool:
        """True where two rests, one after the other, are one silence."""
        left, right = self.events[before.event], self.events[share.event]
        return (
            before.offset + before.duration == share.offset
            and left.visible
            and right.visible
            and _looks(left) == _looks(right)
            and not (left.after or right.graces or left.additions or right.additions)
            and _tuplets_of(before) == _tuplets_of(share)
        )

    def _item(self, group: Sequence[_Share], keys: dict[_Group, int]) -> Item:
        first = group[0]
        event = self.events[first.event]
        duration = first.duration
        if len(group) > 1:
            for share in group[1:]:
                duration += share.duration
        hints: tuple[Hint, ...] = ()
        groups = _tuplets_of(first)
        if groups:
            old = sum((share.hint.duration for share in group if share.hint), _ZERO)
            hints = tuple(
                Hint(
                    key.actual,
                    key.normal,
                    keys.setdefault(key, len(keys)),
                    old / key.length if key.length else None,
                )
                for key in groups
            )
        rest = event.is_rest
        tremolo = self._is_tremolo(group)
        written = self._written(event, first) if self.keep and not (rest or tremolo) else ()
        return Item(
            first.offset,
            duration,
            rest,
            self.dots,
            hints,
            written,
            bool(event.verses),
            self.bound,
            tremolo,
            event.slurred,
            _NOT_BARE if event.visible else _bareness(event),
            self.own and event.unjoined,
        )

    def _written(self, event: Event, share: _Share) -> tuple[Written, ...]:
        """The old symbols of this share of the event, where they fill it exactly."""
        at = event.onset - self.bars[share.bar].start
        end = share.offset + share.duration
        found: list[Written] = []
        for piece in event.pieces:
            if share.offset <= at < end:
                found.append(Written(piece.type, piece.dots, piece.ratio, piece.beams))
            at += piece.duration
        return tuple(found)

    def _put_rests(self, group: Sequence[_Share], pieces: Sequence[Piece]) -> None:
        """One event for each rest written; each source goes to the rest that covers its onset."""
        for share in group:
            self.rests.setdefault(share.event, [])
        home = self.rests[group[0].event]
        waiting = list(group)
        for n, piece in enumerate(pieces):
            end = piece.end
            taken = [s for s in waiting if s.offset < end or n + 1 == len(pieces)]
            waiting = [s for s in waiting if s not in taken]
            event = self.events[(taken or group)[0].event]
            notes = tuple(
                _with_sources(note, [self.events[s.event] for s in taken], k)
                for k, note in enumerate(event.notes)
            )
            fresh = self._rest(event, piece.offset, piece.duration, [piece], notes)
            if n:
                fresh = fresh.replace(graces=())
            if n + 1 < len(pieces):
                fresh = fresh.replace(after=())
            else:
                fresh = fresh.replace(after=self.events[group[-1].event].after)
            if not taken:
                fresh = fresh.replace(additions=())
            home.append(fresh)

    def _rest(
        self,
        event: Event,
        offset: mpq,
        duration: mpq,
        pieces: Sequence[Piece],
        notes: tuple[Note, ...],
    ) -> Event:
        bar = pieces[0].bar
        return event.replace(
            onset=self.bars[bar].start + offset,
            duration=duration,
            bar=bar,
            notes=notes,
            pieces=tuple(pieces),
        )


def _tuplets_of(share: _Share) -> tuple[_Group, ...]:
    """The tuplets that the share was written in, outermost first."""
    piece = share.hint
    if piece is None:
        return ()
    return tuple(_Group(t.actual, t.normal, piece.bar, t.offset, t.length) for t in piece.tuplets)


def _bareness(event: Event) -> frozenset[str]:
    """What a hidden or cue event does without: the beams and shown brackets it did not have."""
    beamed = any(piece.beams for piece in event.pieces)
    bracketed = any(t.bracket for piece in event.pieces for t in piece.tuplets)
    lacks = [name for name, had in (("beams", beamed), ("brackets", bracketed)) if not had]
    return frozenset(lacks)


def _looks(event: Event) -> list[tuple[str, Pitch | None, str]]:
    """What a rest shows, whatever was read for it."""
    return [(note.kind, note.pitch, note.staff) for note in event.notes[:1]]


def _with_sources(note: Note, events: Sequence[Event], k: int) -> Note:
    """``note`` with what was read for the ``k``-th note of these rests."""
    sources = tuple(s for event in events if k < len(event.notes) for s in event.notes[k].sources)
    return replace(note, sources=sources)


def _placed(piece: Piece, bar: int) -> Piece:
    return Piece(
        bar,
        piece.offset,
        piece.duration,
        piece.type,
        piece.dots,
        piece.ratio,
        piece.tuplets,
        piece.beams,
        None,
        piece.whole_bar,
    )
