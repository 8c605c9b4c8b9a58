"""Near misses: the same rhythm with one bar changed by one edit, to be told from it by ear.

An edit takes place inside one bar and keeps its length: two values change places, two even ones
become a dotted pair or a dotted pair even, two notes become one, one becomes two, or a note falls
silent. Every near miss is proven: it differs from the music in that one bar, that bar adds up, and
no two of a set are alike.

Conventions
-----------
How near a miss is, is the sum of the distances from each onset that only one of the two has to the
nearest onset of the other, in whole notes: an eighth or less is ``close``, a quarter or less
``middle``, more is ``clear``. A score has one part, and one voice that sounds.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from hashlib import sha256

from gmpy2 import mpq

from rhythm.exact.errors import MusicError
from rhythm.exact.frozen import dataclass
from rhythm.exact.values import name_value, symbol
from rhythm.notate.score_notation import spell_score
from rhythm.score.model import Bar, Event, Note, Part, Score, Voice

__all__ = ["NEARNESS", "Miss", "near_misses"]

NEARNESS = ("clear", "middle", "close")
"""How near a miss is to the music, from what is easily told to what is not."""

_CLOSE, _MIDDLE = mpq(1, 8), mpq(1, 4)
_SHORTEST = mpq(1, 16)
_ZERO = mpq(0)


@dataclass(frozen=True, slots=True)
class Miss:
    """A near miss: its score, the bar that is changed, and what stands there instead of what."""

    score: Score
    bar: int
    instead: str
    distance: mpq

    @property
    def near(self) -> str:
        """One of :data:`NEARNESS`."""
        if self.distance <= _CLOSE:
            return "close"
        return "middle" if self.distance <= _MIDDLE else "clear"


@dataclass(frozen=True, slots=True)
class _Value:
    """One note or rest of a bar."""

    length: mpq
    notes: tuple[Note, ...]

    @property
    def silent(self) -> bool:
        return self.notes[0].kind == "rest"


def near_misses(score: Score, count: int, *, seed: int = 0, near: str = "") -> tuple[Miss, ...]:
    """So many near misses, drawn by lot: of one nearness, or from clear to close where it is "".

    Where a nearness has too few, the others fill up. Raises MusicError where the music makes fewer
    than ``count``.
    """
    found = list(_all(score))
    found.sort(key=lambda miss: _lot(seed, miss.bar, miss.instead))
    wanted = [near] * count if near else [NEARNESS[i % 3] for i in range(count)]
    chosen: list[Miss] = []
    for kind in wanted:
        left = [miss for miss in found if all(miss.score != other.score for other in chosen)]
        if not left:
            raise MusicError(
                f"the music makes only {len(chosen)} near misses",
                legal="a passage with more than one value in a bar",
            )
        step = NEARNESS.index(kind)
        chosen.append(min(left, key=lambda miss: abs(NEARNESS.index(miss.near) - step)))
    return tuple(chosen)


def _lot(seed: int, *place: object) -> bytes:
    return sha256(":".join(map(str, (seed, "near", *place))).encode()).digest()


def _all(score: Score) -> Iterator[Miss]:
    """Every near miss of the score, each proven."""
    (part,) = score.parts
    voice = _voice(part)
    for bar in part.bars:
        values = _values(voice, bar)
        if values is None:
            continue
        for changed, span in _edits(values):
            made = _with_bar(score, voice, bar, changed)
            if _proven(score, made, bar):
                first, last, length = span
                instead = (
                    f"{_told(changed[first : first + length])} for {_told(values[first:last])}"
                )
                yield Miss(made, bar.index, instead, _distance(values, changed))


def _voice(part: Part) -> Voice:
    sounding = [
        voice for voice in part.voices if any(e.visible and not e.is_rest for e in voice.events)
    ]
    if len(sounding) != 1:
        raise MusicError(
            "near misses are made of one voice, and there are several",
            legal="name one with --voice",
        )
    return sounding[0]


def _values(voice: Voice, bar: Bar) -> list[_Value] | None:
    """The values of a bar that is filled without gaps and ties; None for others."""
    inside = [
        event
        for event in voice.events
        if event.end > bar.start and event.onset < bar.end and event.duration > 0
    ]
    now = bar.start
    found = []
    for event in sorted(inside, key=lambda event: event.onset):
        tied = any(note.tie_in or note.tie_out for note in event.notes)
        if event.onset != now or event.end > bar.end or not event.visible or tied or event.graces:
            return None
        found.append(_Value(event.duration, tuple(_plain(note) for note in event.notes)))
        now = event.end
    return found if now == bar.end and len(found) > 1 else None


def _plain(note: Note) -> Note:
    """The note without what is written on it: signs, words and ties are not heard."""
    return Note(note.kind, note.pitch, note.staff)


_Edit = tuple[list[_Value], tuple[int, int, int]]


def _edits(values: Sequence[_Value]) -> Iterator[_Edit]:
    """Every edit: the values of the bar, and where it took place (first, end, new count)."""
    for i in range(len(values) - 1):
        one, two = values[i], values[i + 1]
        for lengths in _exchanged(one, two):
            pair = [_Value(length, v.notes) for length, v in zip(lengths, (one, two), strict=True)]
            yield _put(values, i, i + 2, pair)
        if not one.silent and not two.silent:
            yield _put(values, i, i + 2, [_Value(one.length + two.length, one.notes)])
    for i, value in enumerate(values):
        if not value.silent:
            yield _put(values, i, i + 1, [_Value(value.length / 2, value.notes)] * 2)
            if i:
                yield _put(values, i, i + 1, [_Value(value.length, (_rest(value),))])


def _put(values: Sequence[_Value], first: int, end: int, new: list[_Value]) -> _Edit:
    return [*values[:first], *new, *values[end:]], (first, end, len(new))


def _rest(value: _Value) -> Note:
    return Note("rest", None, value.notes[0].staff)


def _exchanged(one: _Value, two: _Value) -> Iterator[tuple[mpq, mpq]]:
    both = one.length + two.length
    if one.length != two.length:
        yield two.length, one.length
    if one.length == two.length:
        yield both * 3 / 4, both / 4
        yield both / 4, both * 3 / 4
    elif one.length in (both * 3 / 4, both / 4):
        yield both / 2, both / 2


def _with_bar(score: Score, voice: Voice, bar: Bar, values: Sequence[_Value]) -> Score:
    (part,) = score.parts
    events = [event for event in voice.events if not bar.start <= event.onset < bar.end]
    now = bar.start
    for value in values:
        events.append(Event(now, value.length, bar.index, value.notes))
        now += value.length
    events.sort(key=lambda event: event.onset)
    voices = tuple(
        Voice(each.name, tuple(events)) if each.name == voice.name else each for each in part.voices
    )
    bars = tuple(each.replace(source=None) for each in part.bars)
    made = score.replace(parts=(part.replace(bars=bars, voices=voices),), relaid=True)
    return spell_score(made, keep=True, bars={bar.index})


def _proven(score: Score, made: Score, bar: Bar) -> bool:
    """Whether a miss is one that can be read and told: one bar other, and readable values in it."""
    before, after = _strokes(score), _strokes(made)
    inside = [each for each in after if bar.start <= each[0] < bar.end]
    outside_before = [each for each in before if not bar.start <= each[0] < bar.end]
    outside_after = [each for each in after if not bar.start <= each[0] < bar.end]
    if outside_before != outside_after or before == after or not inside:
        return False
    events = [e for e in _voice(made.parts[0]).events if e.bar == bar.index]
    if sum((event.duration for event in events), _ZERO) != bar.length:
        return False
    return all(
        symbol(event.duration) is not None and event.duration >= _SHORTEST
        if not event.pieces or not event.pieces[0].tuplets
        else symbol(event.pieces[0].duration * event.pieces[0].ratio[0] / event.pieces[0].ratio[1])
        is not None
        for event in events
    )


def _strokes(score: Score) -> list[tuple[mpq, mpq]]:
    return [
        (event.onset, event.duration)
        for event in _voice(score.parts[0]).events
        if event.visible and not event.is_rest and event.duration > 0
    ]


def _onsets(values: Sequence[_Value]) -> set[mpq]:
    found, now = set(), _ZERO
    for value in values:
        if not value.silent:
            found.add(now)
        now += value.length
    return found


def _distance(one: Sequence[_Value], other: Sequence[_Value]) -> mpq:
    first, second = _onsets(one), _onsets(other)
    total = _ZERO
    for mine, theirs in ((first, second), (second, first)):
        for onset in mine - theirs:
            total += min((abs(onset - each) for each in theirs), default=mpq(1))
    return total


def _told(values: Sequence[_Value]) -> str:
    """The values in words: ``a dotted quarter and an eighth``."""
    names = [name_value(value.length) + (" rest" if value.silent else "") for value in values]
    names = [f"{name} note" if name.endswith(("half", "whole")) else name for name in names]
    if len(names) > 1 and len(set(names)) == 1:
        return f"two {names[0]}s" if len(names) == 2 else f"{len(names)} {names[0]}s"
    said = [f"an {name}" if name[0] in "aeio" else f"a {name}" for name in names]
    return said[0] if len(said) == 1 else f"{', '.join(said[:-1])} and {said[-1]}"
