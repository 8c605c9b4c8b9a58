"""Music lifted off its bars: voices on a timeline of their own, and where everything else goes.

A device does not think in bars. It takes a :class:`Passage`, moves, lengthens, splits or reorders
the events of its strands, says where positions without an event go, and plans new bars. Devices
follow one another on passages; :mod:`rhythm.rebar.rebuilding` lays the last one back into a score.

Conventions
-----------
Positions are whole notes from the passage's start. A :class:`PlacedEvent` remembers, by ``origin``,
which event of its voice it came from: marks at that event go where the first such event goes.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace

from gmpy2 import mpq

from rhythm.exact.frozen import dataclass
from rhythm.rebar.bar_plan import BarPlan, plan_length, replanned
from rhythm.rebar.origins import Displaced, Stretch
from rhythm.score.model import Event, Note, Piece, Score, Tuplet, Voice

__all__ = ["ByVoice", "Passage", "PlacedEvent", "VoiceLine", "after", "of_voice", "rest", "unmoved"]


@dataclass(frozen=True, slots=True)
class PlacedEvent:
    """An event at its new onset and duration, and the place in its voice that it came from."""

    event: Event
    origin: int | None = None

    @property
    def onset(self) -> mpq:
        """Where it begins."""
        return self.event.onset

    @property
    def duration(self) -> mpq:
        """How long it lasts."""
        return self.event.duration

    @property
    def end(self) -> mpq:
        """Where it ends."""
        return self.event.end

    @property
    def sounds(self) -> bool:
        """A note or chord that takes time: no rest, no bare group of grace notes."""
        return self.event.duration > 0 and not self.event.is_rest

    @property
    def is_silence(self) -> bool:
        """A visible rest that carries nothing: no grace notes, no fermata, no syllable."""
        return self._is_shown_rest and not self._carries

    @property
    def is_laden_rest(self) -> bool:
        """A visible rest that carries something, and must not be lost for it."""
        return self._is_shown_rest and self._carries

    @property
    def is_unseen_rest(self) -> bool:
        """A hidden rest that carries nothing: an exporter filled up a bar with it."""
        event = self.event
        return event.is_rest and event.hidden and event.duration > 0 and not self._carries

    @property
    def _is_shown_rest(self) -> bool:
        return self.event.is_rest and self.event.duration > 0 and self.event.visible

    @property
    def _carries(self) -> bool:
        event = self.event
        signs = event.graces or event.after or event.verses or event.additions
        return bool(signs) or any(note.laden for note in event.notes)

    def at(self, onset: mpq, duration: mpq) -> PlacedEvent:
        """The same event elsewhere; how it was written stays as a hint to spelling."""
        return PlacedEvent(self.event.replace(onset=onset, duration=duration), self.origin)

    def in_tuplets(self, tuplets: tuple[Tuplet, ...]) -> PlacedEvent:
        """The same event, with the tuplets it should be written in, outermost first."""
        tremolo = self.event.pieces[0].tremolo if self.event.pieces else ""
        hint = Piece(0, mpq(0), self.duration, "", tuplets=tuplets, tremolo=tremolo)
        return PlacedEvent(self.event.replace(pieces=(hint,)), self.origin)


@dataclass(frozen=True, slots=True)
class VoiceLine:
    """One voice of the passage; ``before`` and ``after`` are its events outside, untouched."""

    part: int
    voice: int
    laid: tuple[PlacedEvent, ...]
    before: tuple[Event, ...] = ()
    after: tuple[Event, ...] = ()

    def with_laid(self, laid: Iterable[PlacedEvent]) -> VoiceLine:
        """The strand with other events."""
        return replace(self, laid=tuple(laid))

    @property
    def end(self) -> mpq:
        """Where its last event ends."""
        return max((each.end for each in self.laid), default=mpq(0))


def unmoved(position: mpq) -> mpq:
    """The map of a passage in which nothing moved."""
    return position


@dataclass(frozen=True, slots=True)
class Passage:
    """Bars ``first`` to ``last`` of ``score``, on their way to other bars.

    ``bars`` is the plan of the new bars. ``time`` says where a position of the source goes that
    has no event, ``frame`` where bar lines, keys and clefs go. ``breaks`` are the new positions of
    the bar lines that must stay bar lines: repeats, endings, double bars. ``loose`` says that notes
    were dropped or changed their order, so that slurs and hairpins may have lost an end. ``notes``
    collects what the user should be told. ``stretch`` and ``displaced`` say how the bars came
    about, as long as they are those named there.
    """

    score: Score
    first: int
    last: int
    strands: tuple[VoiceLine, ...]
    bars: tuple[BarPlan, ...]
    time: Callable[[mpq], mpq] = unmoved
    frame: Callable[[mpq], mpq] = unmoved
    breaks: tuple[mpq, ...] = ()
    loose: bool = False
    notes: tuple[str, ...] = ()
    stretch: Stretch | None = None
    displaced: Displaced | None = None

    @property
    def length(self) -> mpq:
        """The length of the planned bars."""
        return plan_length(self.bars)

    @property
    def is_empty(self) -> bool:
        """Whether there is nothing in it: no voices, or no bars that take time."""
        return not self.strands or not self.bars or not self.length

    @property
    def music_end(self) -> mpq:
        """Where the last event of any strand ends."""
        return max((strand.end for strand in self.strands), default=mpq(0))

    @property
    def silence(self) -> mpq:
        """Where nothing follows but visible rests, to the end of the passage."""
        ends = (each.end for s in self.strands for each in s.laid if not each.is_silence)
        return max(ends, default=mpq(0))

    @property
    def closes_score(self) -> bool:
        """Whether its last bar is the score's."""
        return self.last == len(self.score.bars) - 1

    @property
    def filling(self) -> mpq:
        """Where the silence begins that may have been filled in: behind the last note, in its bar.

        A rest that a sign stands at is as good as a note. A last bar that is silent throughout is
        music.
        """
        silence = self.silence
        if silence <= self.length - self.bars[-1].length:
            return self.length
        base = self.score.bars[self.first].start
        signs = (
            self.time(mark.onset - base)
            for part in self.score.parts
            for mark in part.marks
            if self.first <= mark.bar <= self.last and mark.kind != "barline"
        )
        sign = max((at for at in signs if silence < at < self.length), default=None)
        if sign is None:
            return silence
        ends = (each.end for s in self.strands for each in s.laid if each.end > sign)
        return min(ends, default=self.length)

    @property
    def is_whole(self) -> bool:
        """Whether it is all bars of the score."""
        return self.first == 0 and self.closes_score

    def voice(self, strand: VoiceLine) -> Voice:
        """The voice a strand came from."""
        return self.score.parts[strand.part].voices[strand.voice]

    def telling(self, *notes: str) -> Passage:
        """The passage with something more to tell the user."""
        return replace(self, notes=(*self.notes, *notes))

    def each(self, change: Callable[[VoiceLine], Iterable[PlacedEvent]]) -> Passage:
        """The passage with every strand's events changed."""
        strands = tuple(strand.with_laid(change(strand)) for strand in self.strands)
        return replace(self, strands=strands)

    def warped(
        self,
        image: Callable[[mpq], mpq],
        bars: Sequence[BarPlan] | None = None,
        *,
        silent_end: bool = False,
    ) -> Passage:
        """Everything moved by a rising map of time, and new bars planned in the old metres.

        ``bars`` gives the new plan where the usual one (see ``replanned``) is not wanted; they
        must have edges at the images of the breaks. With ``silent_end`` rests behind the usual
        plan stay.
        """

        def moved(strand: VoiceLine) -> Iterable[PlacedEvent]:
            for each in strand.laid:
                onset = image(each.onset)
                yield each.at(onset, image(each.end) - onset)

        return self._redrawn(self.each(moved), image, bars, silent_end)

    def opened(self, at: mpq, length: mpq) -> Passage:
        """So much silence let in before the bar line at ``at``; a note that ends there still does.

        New bars are planned in the old metres.
        """

        def image(position: mpq) -> mpq:
            return position + length if position >= at else position

        def moved(strand: VoiceLine) -> Iterable[PlacedEvent]:
            for each in strand.laid:
                yield each if each.onset < at else each.at(each.onset + length, each.duration)

        return self._redrawn(self.each(moved), image, None)

    def _redrawn(
        self,
        moved: Passage,
        image: Callable[[mpq], mpq],
        bars: Sequence[BarPlan] | None,
        silent_end: bool = False,
    ) -> Passage:
        """``moved``, which is this passage with its events at their image, on bars of its own."""
        breaks = tuple(image(at) for at in self.breaks)
        result = replace(
            moved,
            time=after(self.time, image),
            frame=after(self.frame, image),
            breaks=breaks,
        )
        if bars is not None:
            return replace(result, bars=tuple(bars))
        origin = self._drawn()
        total = after(origin.image, image)
        music = max(total(origin.music), image(self.silence))
        drawn = replanned(origin.before, total, breaks=breaks, whole=self.is_whole, music=music)
        if silent_end:
            return replace(result, bars=drawn)
        stretch = Stretch(origin.before, origin.music, total, drawn)
        return replace(result, bars=drawn, stretch=stretch).cut_off(plan_length(drawn))

    def _drawn(self) -> Stretch:
        """How the bars came about, if they still are those and hold all of the music."""
        known = self.stretch
        if known is not None and known.bars == self.bars:
            room = max(known.music, plan_length(known.before))
            if self.silence <= known.image(room):
                return known
        music = self.filling if self.closes_score else self.length
        return Stretch(self.bars, music, unmoved, self.bars)

    def cut_off(self, end: mpq) -> Passage:
        """The passage without the rests behind ``end``; one that goes on past it ends there."""

        def change(strand: VoiceLine) -> Iterable[PlacedEvent]:
            for each in strand.laid:
                if not each.is_silence or each.end <= end:
                    yield each
                elif each.onset < end:
                    yield each.at(each.onset, end - each.onset)

        return self.each(change)

    def filled(self) -> Passage:
        """Rests from the end of the music to the end of the plan, in one voice of each staff.

        A voice that ends with the music goes on in rests; one that ended before stays silent.
        """
        end, music = self.length, self.music_end
        if music >= end:
            return self
        served: set[tuple[int, str]] = set()
        strands = []
        for strand in self.strands:
            staff = _staff(strand)
            if strand.end == music and (strand.part, staff) not in served:
                served.add((strand.part, staff))
                strand = strand.with_laid(
                    (*strand.laid, PlacedEvent(rest(music, end - music, staff)))
                )
            strands.append(strand)
        return replace(self, strands=tuple(strands))


@dataclass(frozen=True, slots=True)
class ByVoice:
    """A map of time that is another for every voice, as voices go apart on values of their own.

    ``voices`` has a map for each part (index) and voice (name), with the name "" for the part as a
    whole; ``whole`` is for all parts together.
    """

    whole: Callable[[mpq], mpq]
    voices: Mapping[tuple[int, str], Callable[[mpq], mpq]]

    def __call__(self, position: mpq) -> mpq:
        """Where a position goes for all parts together."""
        return self.whole(position)


def of_voice(image: Callable[[mpq], mpq], part: int, voice: str) -> Callable[[mpq], mpq]:
    """What a map of time is for one voice of a part ("" or a voice it has no map for: the part)."""
    if not isinstance(image, ByVoice):
        return image
    return image.voices.get((part, voice)) or image.voices.get((part, "")) or image.whole


def after(first: Callable[[mpq], mpq], second: Callable[[mpq], mpq]) -> Callable[[mpq], mpq]:
    """``first``, then ``second``, voice by voice where they differ."""
    if first is unmoved:
        return second
    names = {
        name for image in (first, second) if isinstance(image, ByVoice) for name in image.voices
    }
    if not names:
        return lambda position: second(first(position))
    return ByVoice(
        after(_whole(first), _whole(second)),
        {name: after(of_voice(first, *name), of_voice(second, *name)) for name in names},
    )


def _whole(image: Callable[[mpq], mpq]) -> Callable[[mpq], mpq]:
    return image.whole if isinstance(image, ByVoice) else image


def _staff(strand: VoiceLine) -> str:
    for each in reversed(strand.laid):
        if each.event.notes:
            return each.event.notes[0].staff
    return ""


def rest(onset: mpq, duration: mpq, staff: str = "") -> Event:
    """A visible rest that no source knows."""
    return Event(onset, duration, 0, (Note("rest", staff=staff),))
