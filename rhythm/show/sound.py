"""The timeline of what sounds: every tone and every beat of a score, in the order played.

This is the one account of a performance. The page's ear plays it, a MIDI file writes it down, a
follower lights the notes by it; none of them works out music of its own.

Conventions
-----------
``start`` and ``end`` are exact, in whole notes from the beginning of the performance; ``at`` and
``until`` are the same moments in whole milliseconds, rounded once from exact time, so nothing
drifts. Keys are MIDI numbers (60 is middle C) where the note sounds, transposition included;
``cents`` is what a microtone lies above its key. Loudness is a MIDI velocity, 1 to 127. Events are
named as :mod:`rhythm.score.identity` does; bars by index.

Repeats, endings, da capo, dal segno, coda and fine are played out
(:mod:`rhythm.show.playing_order`). Notes tied together sound as one. Dynamics hold for their part
until the next; a hairpin leads evenly to the dynamic that follows it, or one step up or down. An
accent is louder; a staccato sounds half its length, a staccatissimo a quarter. Grace notes are
squeezed in before their note, each a thirty-second or less. Cue notes and rests are silent. A drum
has the key of its instrument (:mod:`rhythm.formats.musicxml.drums`).

Whoever needs more of a performance (fermatas, trills, pedal) adds it here, where the tones are
made, and not where they are written down. Instruments, lyrics and signatures are not tones: a
writer of files takes those from the score, and places them with ``Performance.bars``.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from gmpy2 import mpq

from rhythm.exact.metre import Metre
from rhythm.formats.musicxml.drums import drum_key, is_drummed, kit_of
from rhythm.formats.musicxml.performance import direction_of, grace_pitches, touch_of
from rhythm.score.identity import event_name
from rhythm.score.model import Bar, Event, Note, Part, Pitch, Score
from rhythm.show.playing_order import placed, played_tempi, playing_order

__all__ = [
    "Click",
    "Performance",
    "PlayedBar",
    "Tone",
    "beat_number",
    "count_in",
    "count_in_places",
    "jumps_of",
    "metric_places",
    "sound",
]

_USUAL = 80
_STEP = 16
_GRACE = mpq(1, 32)
_QUARTERS = Metre.parse("4/4")
_LIGHTEST = 3


@dataclass(frozen=True, slots=True)
class Tone:
    """One key that sounds, and the events to light meanwhile (several where notes are tied)."""

    start: mpq
    end: mpq
    at: int
    until: int
    key: int
    loudness: int
    part: int
    bar: int
    beat: int
    events: tuple[str, ...]
    cents: int = 0
    percussion: bool = False
    grace: bool = False


@dataclass(frozen=True, slots=True)
class Click:
    """A place of the metre: ``weight`` 3 opens a bar, 2 a half or group, 1 a beat, 0 a division."""

    start: mpq
    at: int
    weight: int
    bar: int
    beat: int


@dataclass(frozen=True, slots=True)
class PlayedBar:
    """A bar as played: ``turn`` counts from 1 how often it has come.

    ``pace`` is how many milliseconds a whole note lasts where the bar begins.
    """

    bar: int
    number: str
    start: mpq
    end: mpq
    at: int
    until: int
    turn: int
    pace: mpq


@dataclass(frozen=True, slots=True)
class Performance:
    """All that sounds, in order: tones, clicks, bars, and tempi as (start, quarters a minute)."""

    tones: tuple[Tone, ...]
    clicks: tuple[Click, ...]
    bars: tuple[PlayedBar, ...]
    tempi: tuple[tuple[mpq, mpq], ...]

    @property
    def length(self) -> int:
        """How long it lasts, in milliseconds."""
        return max((bar.until for bar in self.bars), default=0)


def sound(score: Score, *, repeats: bool = True, prefix: str = "") -> Performance:
    """The performance of a score; without ``repeats`` the page is played once through.

    ``prefix`` goes before the names of events, as in :func:`rhythm.show.rows.rows`.
    """
    order = playing_order(score.bars, jumps_of(score)) if repeats else list(range(len(score.bars)))
    tempi = played_tempi(score, order)
    clock = _Clock(tempi)
    tones: list[Tone] = []
    for index, part in enumerate(score.parts):
        tones.extend(_PartPlayer(score, index, part, order, clock, prefix).tones())
    tones.sort(key=lambda tone: (tone.start, tone.part, tone.key, tone.end))
    return Performance(
        tuple(tones),
        tuple(_clicks(score.bars, order, clock)),
        tuple(_played(score.bars, order, clock)),
        tuple(tempi),
    )


def jumps_of(score: Score) -> dict[int, frozenset[str]]:
    """Which signs send the player elsewhere, by bar.

    A coda that is only drawn is where to go, unless it stands before another one.
    """
    found: dict[int, set[str]] = {}
    codas: list[int] = []
    for part in score.parts:
        for mark in part.marks:
            direction = direction_of(mark)
            if direction.jumps:
                found.setdefault(mark.bar, set()).update(direction.jumps)
            elif direction.sign == "segno":
                found.setdefault(mark.bar, set()).add("segno")
            elif direction.sign == "coda":
                codas.append(mark.bar)
    said = {name for names in found.values() for name in names}
    for bar in sorted(set(codas)):
        if bar == max(codas) and "coda" not in said:
            found.setdefault(bar, set()).add("coda")
        elif bar != max(codas) and "tocoda" not in said:
            found.setdefault(bar, set()).add("tocoda")
    return {bar: frozenset(names) for bar, names in found.items()}


class _Clock:
    """From exact moments of the performance to milliseconds."""

    def __init__(self, tempi: Sequence[tuple[mpq, mpq]]) -> None:
        self._marks: list[tuple[mpq, mpq, mpq]] = []  # moment, milliseconds there, a whole note's
        for moment, tempo in tempi:
            reached = mpq(0)
            if self._marks:
                before, there, pace = self._marks[-1]
                reached = there + (moment - before) * pace
            self._marks.append((moment, reached, 240_000 / tempo))
        self._moments = [moment for moment, _, _ in self._marks]

    def __call__(self, moment: mpq) -> int:
        at, reached, pace = self._marks[max(0, bisect_right(self._moments, moment) - 1)]
        return int(reached + (moment - at) * pace + mpq(1, 2))

    def pace(self, moment: mpq) -> mpq:
        """The milliseconds of a whole note at a moment."""
        return self._marks[max(0, bisect_right(self._moments, moment) - 1)][2]


@dataclass(frozen=True, slots=True)
class _Struck:
    """A note of one bar, before the bar is played: offsets are moments of the written score."""

    onset: mpq
    end: mpq
    key: int
    cents: int
    loudness: int
    share: mpq
    event: str
    tie_in: bool = False
    tie_out: bool = False
    percussion: bool = False
    grace: bool = False


class _PartPlayer:
    """Plays one part."""

    def __init__(
        self,
        score: Score,
        index: int,
        part: Part,
        order: Sequence[int],
        clock: _Clock,
        prefix: str,
    ) -> None:
        self._bars, self._order, self._clock = score.bars, order, clock
        self._index, self._part, self._prefix = index, part, prefix
        self._higher = _Higher(part)
        self._dynamics = _Dynamics(part)
        self._kit, self._drummed = kit_of(part), is_drummed(part)

    def tones(self) -> Iterator[Tone]:
        """The tones of the part, the order of bars played out."""
        by_bar: dict[int, list[_Struck]] = {}
        for j, voice in enumerate(self._part.voices):
            for k, event in enumerate(voice.events):
                if not event.cue:
                    name = event_name(self._index, j, k, self._prefix)
                    by_bar.setdefault(event.bar, []).extend(self._strike(event, name))
        held: dict[tuple[int, int], Tone] = {}
        for shift, index in placed(self._bars, self._order):
            for struck in sorted(by_bar.get(index, ()), key=lambda s: (s.onset, s.key, s.end)):
                tone = self._tone(struck, shift, index)
                key = tone.key, tone.cents
                waiting = held.pop(key, None)
                if waiting is not None:
                    if struck.tie_in and waiting.end == tone.start:
                        names = tuple(dict.fromkeys((*waiting.events, *tone.events)))
                        tone = replace(
                            waiting, end=tone.end, until=self._clock(tone.end), events=names
                        )
                    else:
                        yield waiting
                if struck.tie_out:
                    held[key] = tone
                else:
                    yield tone
        yield from held.values()

    def _tone(self, struck: _Struck, shift: mpq, index: int) -> Tone:
        start, end = struck.onset + shift, struck.end + shift
        sounding = end if struck.tie_out else start + (end - start) * struck.share
        bar = self._bars[index]
        return Tone(
            start,
            sounding,
            self._clock(start),
            self._clock(sounding),
            struck.key,
            struck.loudness,
            self._index,
            index,
            beat_number(bar, struck.onset - bar.start),
            (struck.event,),
            struck.cents,
            struck.percussion,
            struck.grace,
        )

    def _strike(self, event: Event, name: str) -> Iterator[_Struck]:
        graces = grace_pitches(event) if event.graces else ()
        if graces:
            loudness = self._dynamics.at(event.onset)
            each = min(_GRACE, (event.duration or _GRACE * 4) / (4 * len(graces)))
            # Before the very first note there is no time: there they sound with it.
            first = max(mpq(0), event.onset - each * len(graces))
            for count, pitches in enumerate(graces):
                start = first + each * count
                for pitch in pitches:
                    key, cents = self._sounding(pitch, event.onset)
                    yield _Struck(
                        start, start + each, key, cents, loudness, mpq(1), name,
                        percussion=self._drummed, grace=True,
                    )  # fmt: skip
        if event.is_rest or not event.duration:
            return
        touch = touch_of(event)
        loudness = max(1, min(127, self._dynamics.at(event.onset) + touch.louder))
        for note in event.notes:
            yield self._note(note, event, name, loudness, touch.share)

    def _note(self, note: Note, event: Event, name: str, loudness: int, share: mpq) -> _Struck:
        key, cents = (
            (drum_key(note, self._kit), 0)
            if note.pitch is None
            else self._sounding(note.pitch, event.onset)
        )
        return _Struck(
            event.onset, event.end, key, cents, loudness, share, name,
            note.tie_in, note.tie_out, note.pitch is None or self._drummed,
        )  # fmt: skip

    def _sounding(self, pitch: Pitch, moment: mpq) -> tuple[int, int]:
        semitones = pitch.midi + self._higher.at(moment)
        key = int((semitones + mpq(1, 2)).__floor__())
        return min(127, max(0, key)), int((semitones - key) * 100)


class _Higher:
    """By how many semitones a part sounds above what is written, as it goes on."""

    def __init__(self, part: Part) -> None:
        turns = [(mark.onset, mark.transpose) for mark in part.marks if mark.transpose is not None]
        self._turns = sorted(turns)
        self._moments = [moment for moment, _ in self._turns]

    def at(self, moment: mpq) -> mpq:
        at = bisect_right(self._moments, moment)
        return self._turns[at - 1][1] if at else mpq(0)


class _Dynamics:
    """How loud a part is, as it goes on; hairpins lead evenly from one dynamic to the next."""

    def __init__(self, part: Part) -> None:
        steps: dict[mpq, int] = {mpq(0): _USUAL}
        wedges: list[tuple[mpq, mpq, str]] = []
        opened: dict[str, tuple[mpq, str]] = {}
        self._once: dict[mpq, int] = {}
        for mark in part.marks:
            direction = direction_of(mark)
            moment = max(mpq(0), mark.onset + mark.reach)
            if direction.loudness is not None:
                steps[moment] = direction.loudness
            if direction.once is not None:
                self._once[moment] = direction.once
            if direction.wedge in ("crescendo", "diminuendo"):
                opened[direction.wedge_number] = moment, direction.wedge
            elif direction.wedge == "stop" and direction.wedge_number in opened:
                began, kind = opened.pop(direction.wedge_number)
                if began < moment:
                    wedges.append((began, moment, kind))
        self._steps = _stretches(sorted(steps.items()), sorted(wedges))
        self._moments = [moment for moment, *_ in self._steps]

    def at(self, moment: mpq) -> int:
        """The loudness of a note struck at this moment."""
        if moment in self._once:
            return self._once[moment]
        began, level, stopped, goal = self._steps[max(0, bisect_right(self._moments, moment) - 1)]
        if moment >= stopped:
            return goal
        return level + int((goal - level) * (moment - began) / (stopped - began))


def _stretches(
    steps: Sequence[tuple[mpq, int]], wedges: Sequence[tuple[mpq, mpq, str]]
) -> list[tuple[mpq, int, mpq, int]]:
    """From a moment with its loudness to a moment with its, in order; a step takes no time."""
    made = [(moment, level, moment, level) for moment, level in steps]
    for began, stopped, kind in wedges:
        level = max(stretch for stretch in made if stretch[0] <= began)[3]
        goal = level + (_STEP if kind == "crescendo" else -_STEP)
        after = [stretch[1] for stretch in made if stopped <= stretch[0] <= stopped + mpq(1, 4)]
        if after and (after[0] > level) == (kind == "crescendo"):
            goal = after[0]
        made.append((began, level, stopped, max(1, min(127, goal))))
        made.sort()
    return made


def _metre(bar: Bar) -> Metre:
    return bar.metre if bar.metre is not None and bar.metre.length else _QUARTERS


def beat_number(bar: Bar, offset: mpq) -> int:
    """The number of the beat that holds an offset from the bar's start, from 1."""
    metre = _metre(bar)
    place = offset + bar.shift
    turns, inside = divmod(place, metre.length)
    starts = [node.start for node in metre.beat_nodes]
    return int(turns) * len(starts) + max(1, bisect_right(starts, inside))


def _clicks(bars: Sequence[Bar], order: Sequence[int], clock: _Clock) -> Iterator[Click]:
    for shift, index in placed(bars, order):
        bar = bars[index]
        for offset, weight in metric_places(bar):
            moment = bar.start + offset + shift
            yield Click(moment, clock(moment), weight, index, beat_number(bar, offset))


def metric_places(bar: Bar) -> list[tuple[mpq, int]]:
    """The beats and divisions inside a bar, by offset, each with its weight (see Click)."""
    metre = _metre(bar)
    places = sorted(
        {node.start for node in metre.beat_nodes}
        | {child.start for node in metre.beat_nodes for child in node.children}
    )
    found: list[tuple[mpq, int]] = []
    turn = mpq(0)
    while turn < bar.shift + bar.length:
        for place in places:
            offset = turn + place - bar.shift
            if 0 <= offset < bar.length:
                weight = max(0, _LIGHTEST - metre.rank(turn + place))
                found.append((offset, weight))
        turn += metre.length
    return found


def _played(bars: Sequence[Bar], order: Sequence[int], clock: _Clock) -> Iterator[PlayedBar]:
    turns: dict[int, int] = {}
    for shift, index in placed(bars, order):
        bar = bars[index]
        turns[index] = turns.get(index, 0) + 1
        start, end = bar.start + shift, bar.end + shift
        yield PlayedBar(
            index, bar.number, start, end, clock(start), clock(end), turns[index],
            clock.pace(start),
        )  # fmt: skip


def count_in(bar: Bar, pace: mpq) -> tuple[tuple[tuple[int, int], ...], int]:
    """One bar counted before ``bar``: (milliseconds, weight) of its beats, and its length.

    ``pace`` is how many milliseconds a whole note lasts.
    """
    places, whole = count_in_places(bar)
    return tuple((int(place * pace), weight) for place, weight in places), int(whole * pace)


def count_in_places(bar: Bar, bars: int = 1) -> tuple[tuple[tuple[mpq, int], ...], mpq]:
    """So many bars counted before ``bar``: (offset, weight) of their beats, and their length.

    Before an upbeat, or from the middle of a metre, the beats up to there are counted too.
    """
    metre = _metre(bar)
    whole = metre.length * bars + bar.shift % metre.length
    counted: list[tuple[mpq, int]] = []
    turn = mpq(0)
    while turn < whole:
        for node in metre.beat_nodes:
            moment = turn + node.start
            if moment < whole:
                counted.append((moment, max(1, _LIGHTEST - metre.rank(moment))))
        turn += metre.length
    return tuple(counted), whole
