"""A score for a mixed class: one theme, a part for each player, each on a level of its own.

=========== =====================================================================
part        what it plays
=========== =====================================================================
beat        a stroke on every beat; instruments with pitch play the theme's last note
reduction   the theme without what lies between the beats
ostinato    the rhythm of the theme's commonest bar, over and over, on its last note
theme       the theme as it is
division    every beat divided, on the note that the theme has there
=========== =====================================================================

All parts have the same bars. Each is in the clef, the key and the compass of its instrument
(:mod:`rhythm.practice.instruments`), and they stand in the order of a score. The last note of a
theme is mostly its tonic, which goes with all of it (common practice for classes, no source).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Sequence

from gmpy2 import mpq

from rhythm.exact.errors import MusicError, RequestError
from rhythm.exact.frozen import dataclass
from rhythm.exact.nearest import among
from rhythm.notate.score_notation import spell_score
from rhythm.practice.difficulty import difficulty
from rhythm.practice.instrument_parts import for_instrument
from rhythm.practice.instruments import INSTRUMENTS, Instrument, instrument_named
from rhythm.practice.sheet_layout import says_tempo
from rhythm.practice.stroke_scores import STROKE
from rhythm.score.concatenation import says_signs
from rhythm.score.model import Bar, Event, Mark, Note, Part, Score, Voice

__all__ = ["ROLES", "Player", "class_score", "players_named", "roles_of"]

MOST = 12
"""No more players than this on one page."""


@dataclass(frozen=True, slots=True)
class Player:
    """Who plays what: an instrument, and a part from :data:`ROLES`."""

    instrument: Instrument
    role: str

    def __str__(self) -> str:
        return f"{self.instrument.name}: {self.role}"


def players_named(text: str) -> tuple[Player, ...]:
    """The players that ``flute, clarinet: division, clapping`` names, in the order of a score.

    Who is given no part gets the next that nobody has: the theme, the reduction, the division, the
    ostinato; hands that clap get the beat. Raises RequestError, with the nearest name, for an
    instrument or a part that there is not, and for no players or too many.
    """
    named = [each.partition(":") for each in text.split(",") if each.strip()]
    if not 1 <= len(named) <= MOST:
        raise RequestError(f"{len(named)} players", legal=f"1 to {MOST}, as in 'flute, clapping'")
    taken = [_role(role) for _, colon, role in named if colon]
    free = [role for role in _BY_TURNS if role not in taken] or list(_BY_TURNS)
    found = []
    turn = 0
    for name, colon, role in named:
        instrument = instrument_named(name)
        if colon:
            found.append(Player(instrument, _role(role)))
        elif instrument.struck:
            found.append(Player(instrument, "beat"))
        else:
            found.append(Player(instrument, free[turn % len(free)]))
            turn += 1
    order = list(INSTRUMENTS)
    return tuple(sorted(found, key=lambda each: order.index(each.instrument.name)))


def _role(text: str) -> str:
    word = text.strip().lower()
    if word not in ROLES:
        raise RequestError(f"no part is called {word!r}", legal=among(word, ROLES))
    return word


def class_score(theme: Score, players: Sequence[Player]) -> tuple[Score, tuple[str, ...]]:
    """The score for these players, and what had to be moved for them.

    ``theme`` has one part. Raises MusicError where a part cannot be made of it.
    """
    parts: list[Part] = []
    told: list[str] = []
    names: Counter[str] = Counter(each.instrument.name for each in players)
    seen: Counter[str] = Counter()
    for number, player in enumerate(players, start=1):
        made = ROLES[player.role](theme)
        if [bar.length for bar in made.bars] != [bar.length for bar in theme.bars]:
            raise MusicError(f"the {player.role} has other bars than the theme")
        fitted, moved = for_instrument(made, player.instrument)
        if moved:
            told.append(f"{moved}, in the {player.role}")
        (part,) = fitted.parts
        name = part.name
        seen[name] += 1
        if names[player.instrument.name] > 1:
            name = f"{name} {seen[name]}"
        # Heads are said above every part, the tempo above the first alone.
        words = Mark(part.bars[0].start, 0, "words", order=-8, text=player.role)
        marks = [mark for mark in part.marks if number == 1 or not says_tempo(mark)]
        if player.role != "theme":
            marks = [mark for mark in marks if mark.kind != "harmony"]
        parts.append(part.replace(id=f"P{number}", name=name, marks=(words, *marks)))
    return theme.replace(parts=tuple(parts), relaid=True, source=None), tuple(told)


def roles_of(score: Score, players: Sequence[Player]) -> str:
    """Who plays what and how hard it is, in a line."""
    found = []
    for part, player in zip(score.parts, players, strict=True):
        level = difficulty(score.replace(parts=(part,))).text
        found.append(f"{part.name}: {player.role}, level {level}")
    return "; ".join(found)


# The parts ----------------------------------------------------------------------------------


def _line(part: Part) -> list[Event]:
    """The sounding events of the first voice that sounds, in order."""
    for voice in part.voices:
        found = [e for e in voice.events if e.visible and not e.is_rest and e.duration > 0]
        if found:
            return sorted(found, key=lambda event: event.onset)
    return []


def _pitched(event: Event) -> tuple[Note, ...]:
    best = max(event.pitches, key=lambda pitch: pitch.midi, default=None)
    return (STROKE,) if best is None else (Note("pitched", best),)


def _written(theme: Score, strokes: Iterator[tuple[mpq, mpq, tuple[Note, ...]]]) -> Score:
    """A part of these strokes (onset, end, notes) over the bars of the theme, rests between."""
    (part,) = theme.parts
    events: list[Event] = []
    now = part.bars[0].start
    for onset, end, notes in strokes:
        events += _rests(part.bars, now, onset)
        events.append(Event(onset, end - onset, _bar_at(part.bars, onset), notes))
        now = end
    events += _rests(part.bars, now, part.bars[-1].end)
    marks = tuple(mark for mark in part.marks if _frames(mark))
    voices = (Voice("1", tuple(events)),)
    return spell_score(theme.replace(parts=(part.replace(voices=voices, marks=marks),)))


def _frames(mark: Mark) -> bool:
    """Whether a mark holds for whoever plays: key, tempo, bar lines, words of our own."""
    signs = says_signs(mark) or mark.kind in ("key", "clef", "transpose", "staff-details")
    return signs or mark.kind in ("barline", "rehearsal") or says_tempo(mark)


def _rests(bars: Sequence[Bar], start: mpq, end: mpq) -> Iterator[Event]:
    for bar in bars:
        low, high = max(start, bar.start), min(end, bar.end)
        if low < high:
            yield Event(low, high - low, bar.index, (Note("rest"),))


def _bar_at(bars: Sequence[Bar], moment: mpq) -> int:
    return next(bar.index for bar in reversed(bars) if bar.start <= moment)


def _last_note(theme: Score) -> tuple[Note, ...]:
    line = _line(theme.parts[0])
    if not line:
        raise MusicError("the theme has no notes to make parts of")
    return _pitched(line[-1])


def _beats(bar: Bar) -> list[tuple[mpq, mpq, bool]]:
    """Where the beats of a bar begin and end, and whether they divide in three.

    The first may have begun before the bar, the last end behind it.
    """
    if bar.metre is None or not bar.metre.length:
        return [(bar.start, bar.end, False)]
    found = []
    for node in bar.metre.beat_nodes:
        start, end = bar.start + node.start - bar.shift, bar.start + node.end - bar.shift
        if end > bar.start and start < bar.end:
            found.append((start, end, node.ternary))
    return found


def _beat(theme: Score) -> Score:
    drone = _last_note(theme)
    return _written(
        theme,
        (
            (start, min(end, bar.end), drone)
            for bar in theme.bars
            if not bar.shift
            for start, end, _ in _beats(bar)
        ),
    )


def _reduction(theme: Score) -> Score:
    from rhythm.devices.vary import varied
    from rhythm.score.select import select

    reduced = varied(select(theme), ["reduction"]).score
    line = _line(reduced.parts[0])
    return _written(theme, ((each.onset, each.end, _pitched(each)) for each in line))


def _ostinato(theme: Score) -> Score:
    drone = _last_note(theme)
    whole = [bar for bar in theme.bars if bar.metre and bar.length == bar.metre.length]
    line = _line(theme.parts[0])
    shapes: Counter[tuple[mpq, tuple[tuple[mpq, mpq], ...]]] = Counter()
    for bar in whole:
        inside = [e for e in line if bar.start <= e.onset < bar.end]
        shape = tuple((e.onset - bar.start, min(e.end, bar.end) - bar.start) for e in inside)
        if len(shape) > 1:
            shapes[bar.length, shape] += 1
    if not shapes:
        raise MusicError("no bar of the theme has a rhythm to repeat", legal="the beat, instead")

    def strokes() -> Iterator[tuple[mpq, mpq, tuple[Note, ...]]]:
        for bar in theme.bars:
            fitting = [shape for (length, shape), _ in shapes.most_common() if length == bar.length]
            if bar.index == len(theme.bars) - 1:
                yield bar.start, bar.end, drone
            elif fitting and not bar.shift:
                for start, end in fitting[0]:
                    yield bar.start + start, bar.start + end, drone
            elif not bar.shift:
                for start, end, _ in _beats(bar):
                    yield start, min(end, bar.end), drone

    return _written(theme, strokes())


def _as_it_is(theme: Score) -> Score:
    return theme


def _division(theme: Score) -> Score:
    line = _line(theme.parts[0])

    def strokes() -> Iterator[tuple[mpq, mpq, tuple[Note, ...]]]:
        for bar in theme.bars:
            for start, end, ternary in _beats(bar):
                sounding = [e for e in line if e.onset < end and e.end > start]
                if not sounding:
                    continue
                step = (end - start) / (3 if ternary else 2)
                for turn in range(3 if ternary else 2):
                    moment = start + turn * step
                    if moment < bar.start or moment + step > bar.end:
                        continue
                    here = [e for e in sounding if e.onset <= moment] or sounding[:1]
                    yield moment, moment + step, _pitched(here[-1])

    return _written(theme, strokes())


ROLES: dict[str, Callable[[Score], Score]] = {
    "beat": _beat,
    "reduction": _reduction,
    "ostinato": _ostinato,
    "theme": _as_it_is,
    "division": _division,
}
"""Every part there is, mostly from easy to hard."""

_BY_TURNS = ("theme", "reduction", "division", "ostinato")
