"""Where a bar's cursor stands: exact time kept beside the ticks of the file.

Exporters round: seven septuplet eighths at 480 divisions last 959 ticks, and a forward of one
tick repairs it. Written time is exact, so every tick position that a note reached is remembered
with the exact position it stands for, and ``backup`` and ``forward`` are looked up there. A
``backup`` that misses such a place by one grain, and that grain is less than any note lasts,
was rounded too. The cursor itself stays true: a backup that goes too far, before the bar's start
even, and a forward that repairs it move nothing.
Ticks are held as the length they stand for, so a change of divisions does not touch them.

Conventions
-----------
Positions are from the bar's start. What counts is not the division but the *grain*, the largest
length of which all durations of the part are multiples: twice the divisions with twice the
durations is the same music. A written value and its ticks differ by rounding

- if they are at most a thirty-second of the value apart, or
- if the value is no multiple of the grain, and they are at most one grain, half the value and a
  sixteenth of the bar apart, or
- if the grain is less than any note lasts, and they are one grain and at most an eighth of the
  value apart.

Otherwise they contradict each other; here the ticks win, and
:mod:`rhythm.formats.musicxml.read.second_look` asks which of them makes the bar add up. It has a
bar read again with a :class:`Belief` for each note that it settled.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace

from gmpy2 import mpq

from rhythm.exact.errors import FileError
from rhythm.exact.frozen import dataclass
from rhythm.formats.musicxml.read.note_reader import Written, decimal, exact_value, shown
from rhythm.formats.musicxml.read.tick_places import TickPlaces
from rhythm.score.model import Remark

__all__ = ["Belief", "Clock", "is_open_ended"]

_ZERO = mpq(0)
_WHOLE = mpq(1)
_QUARTER = mpq(1, 4)
_LONG = frozenset({"whole", "breve", "long", "maxima"})
_FORWARD_GRID = 64
_SHORTEST = mpq(1, 128)
_PLAIN = (1, 1)
_LARGEST_COUNT = 100  # of notes in a tuplet; nested ones said in one ratio may come to more
_FINE = 128  # positions and lengths on this grid of a whole note need no second look


def is_open_ended(note: Written) -> bool:
    """Is this a rest that may be as long as its bar, whatever its type says?"""
    return note.kind == "rest" and (note.measure_rest or note.type in _LONG)


@dataclass(frozen=True, slots=True)
class Belief:
    """What a second look at a bar found of one of its notes.

    It lasts ``duration`` and begins at ``offset`` (None: where the cursor stands), its type is
    seen in ``ratio`` (None: as written). ``by_page``: the backups behind it count what it lasts,
    not its ticks. ``remark`` names the kind of remark, "" for the usual one.
    """

    duration: mpq | None = None
    offset: mpq | None = None
    ratio: tuple[int, int] | None = None
    by_page: bool = True
    remark: str = ""


class Clock:
    """The cursor of one part, bar after bar.

    ``grain`` tells the grain where these divisions are in force; it is asked only if need be.
    """

    def __init__(self, grain: Callable[[mpq], mpq]) -> None:
        self.divisions: mpq | None = None
        self._grain_of = grain
        self._agreed: dict[tuple[str, str, int, tuple[int, int]], mpq] = {}
        self._unit: mpq | None = None
        self._values: dict[str, mpq] = {}
        self.bar_length = _WHOLE
        self.start_bar(_WHOLE)

    def start_bar(self, length: mpq, beliefs: Mapping[int, Belief] | None = None) -> None:
        """Begin a bar; ``length`` is its metre's (a whole note where there is none).

        ``beliefs`` are those of a second look, by the place of the note among those placed.
        """
        self.position = _ZERO
        self.tick = _ZERO
        self._true = True
        self._reached = [_ZERO]
        self._known: dict[mpq, mpq] = {}
        self._places = TickPlaces()
        self.rounded = 0
        self.guessed = 0
        self.astray = False
        self._beliefs = beliefs
        self._placed = 0
        self._open_backup: tuple[int, mpq] | None = None
        self.bar_length = length or _WHOLE
        self.ratio = _PLAIN
        self.remarks: list[Remark] = []

    @property
    def grain(self) -> mpq:
        """The length of which all durations under these divisions are multiples."""
        return self._grain_of(self.divisions) if self.divisions is not None else _QUARTER

    def set_divisions(self, divisions: mpq) -> None:
        """Change the number of ticks in a quarter (above 0); in the middle of a bar too."""
        if divisions == self.divisions:
            return
        self.divisions = divisions
        self._unit = 1 / (4 * divisions)
        self._values = {}
        self._agreed = {}

    def ticks_value(self, text: str) -> mpq | None:
        """The length that a ``duration`` text stands for, None where nothing says."""
        known = self._values.get(text)
        if known is not None:
            return known
        if not text.strip():
            return None
        ticks = decimal(text)
        if ticks is None:
            raise FileError(f"a duration of {shown(text)}", legal="it is a number of divisions")
        if self._unit is None:
            return None
        found = self._values[text] = ticks * self._unit
        return found

    def place(self, note: Written) -> None:
        """Give ``note`` its offset and duration and move the cursor past it."""
        if self._beliefs is not None:
            self._placed += 1
            belief = self._beliefs.get(self._placed - 1)
            if belief is not None:
                self._place_believed(note, belief)
                return
        note.offset = position = self.position
        key = (note.ticks, note.type, note.dots, note.ratio)
        agreed = self._agreed.get(key)
        if agreed is not None and not note.measure_rest:
            note.value = note.duration = agreed
            note.end = self.position = position + agreed
            if self._true:
                self.tick = self.position
                self._reached.append(position)
            else:
                self._open_backup = None
                self.tick += agreed
                self._known.setdefault(self.tick, self.position)
        else:
            self._place_slowly(note, key)
        self.ratio = note.ratio

    def _place_slowly(self, note: Written, key: tuple[str, str, int, tuple[int, int]]) -> None:
        """Place a note whose ticks and written value have not yet been seen to agree."""
        note.value = value = self.ticks_value(note.ticks)
        huge = note.ratio[0] > _LARGEST_COUNT and note.type != ""
        if huge and exact_value(note.type, note.dots, 1, 1) == value:
            # No page shows a tuplet of hundreds: where the ticks say that the note is plain it is.
            note.ratio = _PLAIN
        written = exact_value(note.type, note.dots, *note.ratio) if note.type else None
        if written is not None and written == value and not huge:
            self._agreed[key] = written
        note.duration = self._read_duration(note, written, value)
        self._pass(note, self._undivided(note.ticks, note.duration) if value is None else value)

    def _place_believed(self, note: Written, belief: Belief) -> None:
        """Place a note of which a second look at the bar settled how long or where it is."""
        if belief.offset is not None and belief.offset != self.position:
            self._lose_truth(self.position)
            self.position = self._known[self.tick] = belief.offset
            self.remarks.append(Remark("rounded", "", belief.offset, settled=True))
        note.offset = self.position
        if belief.ratio is not None:
            note.ratio = belief.ratio
        note.value = value = self.ticks_value(note.ticks)
        written = exact_value(note.type, note.dots, *note.ratio) if note.type else None
        if belief.duration is None:
            note.duration = self._read_duration(note, written, value)
        else:
            note.duration = belief.duration
            if note.kind == "rest" and belief.duration != written:
                note.type, note.dots = "", 0
            if belief.remark:
                self._remark(belief.remark, note, belief.duration, value, settled=True)
            elif value is not None and written is not None and written != value:
                self._weigh(note, written, value)
                self.remarks[-1] = replace(self.remarks[-1], settled=True)
        by_page = belief.by_page or value is None
        self._pass(note, note.duration if by_page or value is None else value)
        self.ratio = note.ratio

    def _read_duration(self, note: Written, written: mpq | None, value: mpq | None) -> mpq:
        if written is None:
            return self._by_ticks(note, value)
        return written if written == value else self._weigh(note, written, value)

    def _pass(self, note: Written, moved: mpq) -> None:
        """Go on to the end of a note that has its duration, and whose ticks are ``moved``."""
        note.end = self.position = self.position + note.duration
        self.tick += moved
        if self._true and self.tick == self.position:
            self._reached.append(note.offset)
        else:
            self._open_backup = None
            self._lose_truth(note.offset)
            self._known.setdefault(self.tick, self.position)

    def _lose_truth(self, here: mpq) -> None:
        """Past ``here``, ticks and positions are not the same thing until the bar ends."""
        if self._true:
            self._true = False
            self._known = {place: place for place in self._reached}
            self._known[here] = here
            self._places.forget()

    @staticmethod
    def _undivided(text: str, otherwise: mpq) -> mpq:
        """Ticks where no divisions were given yet: quarters."""
        ticks = decimal(text) if text.strip() else None
        return otherwise if ticks is None else ticks / 4

    def _remark(
        self,
        kind: str,
        note: Written,
        written: mpq | None,
        value: mpq | None,
        settled: bool = False,
    ) -> None:
        self.remarks.append(Remark(kind, note.voice, note.offset, written, value, settled))

    def _weigh(self, note: Written, written: mpq, value: mpq | None) -> mpq:
        """Written time against ticks, where they differ."""
        if value is None:
            self._remark("no-divisions", note, written, None)
            return written
        if value <= 0:
            self._remark("negative" if value < 0 else "zero", note, written, value)
            return written
        if is_open_ended(note):
            return value
        if self._is_rounding(written, abs(written - value)):
            self.rounded += 1
            self._remark("rounded", note, written, value)
            return written
        if note.tremolo and note.ratio == _PLAIN and written == 2 * value:
            return value
        self._remark("contradiction", note, written, value)
        return value

    def _is_rounding(self, written: mpq, off: mpq) -> bool:
        """Is a duration that is ``off`` its written value the same, but for rounding?"""
        if 32 * off <= written:
            return True
        grain = self.grain
        if off > grain:
            return False
        if (written / grain).denominator == 1:
            return grain <= _SHORTEST and 8 * off <= written
        return 2 * off <= written and 16 * off <= self.bar_length

    def _by_ticks(self, note: Written, value: mpq | None) -> mpq:
        """Ticks alone, where there is no type."""
        if value is None:
            if note.kind == "rest" and note.measure_rest:
                return self.bar_length
            self._remark("no-divisions", note, None, None)
            return max(self._undivided(note.ticks, _ZERO), _ZERO)
        if value <= 0:
            self._remark("negative" if value < 0 else "zero", note, None, value)
            return _ZERO
        self.guessed += 1
        if (value * _FINE).denominator != 1:
            self.astray = True
        return value

    def move(self, text: str, back: bool) -> None:
        """Follow a ``backup`` or ``forward`` of this many ticks."""
        ticks = self.ticks_value(text)
        if ticks is None:
            ticks = self._undivided(text, _ZERO)
        if not back and self.tick < 0 <= self.tick + ticks:
            self._settle_backup()
        self.tick += -ticks if back else ticks
        if back and not self.rounded:
            self._mend_backup()
        if self._true and self.tick >= 0 and (back or self.ratio == _PLAIN):
            self._reached.append(self.position)
            self.position = self.tick
            if not back and (self.tick * _FINE).denominator != 1:
                self.astray = True
            return
        self._lose_truth(self.position)
        found = self._known.get(self.tick)
        if found is None:
            found = self._find(_ZERO if back else ticks)
            if found < 0:
                if back:
                    far = -self.tick > 2 * self.bar_length
                    kind = "far-backup" if far else "before-start"
                    self._open_backup = (len(self.remarks), self.tick)
                    self.remarks.append(Remark(kind, "", _ZERO, None, self.tick))
                found = _ZERO
                if not back:
                    self.position = found
                    return
            self._known[self.tick] = found
        if (found * _FINE).denominator != 1:
            self.astray = True
        self.position = found

    def _settle_backup(self) -> None:
        """A forward leads back into the bar: the backup before it moved nothing."""
        if self._open_backup is not None:
            which, tick = self._open_backup
            self.remarks[which] = replace(self.remarks[which], settled=True)
            self._known.pop(tick, None)
            self._places.forget()
            self._open_backup = None

    def _mend_backup(self) -> None:
        """Take the cursor to a place that a note reached and that the ticks miss by a division."""
        if self._unit is None or self._unit >= _SHORTEST:
            return
        places = self._reached if self._true else self._known
        near = self._places.nearest(places, self.tick)
        off = abs(near - self.tick)
        if not off:
            return
        if off < _SHORTEST and off <= self.grain:
            self.tick = near
            at = near if self._true else self._known[near]
            self.remarks.append(Remark("rounded", "", at))

    def _find(self, step: mpq) -> mpq:
        """The exact position of a tick position that no note reached.

        ``step`` is how far a forward came, 0 after a backup.
        """
        below = _ZERO
        if self.rounded or self.tick < 0 or self._beliefs is not None:
            unit = self.grain
            slack = max(self.rounded, 2) * unit
            if self.rounded < 1:
                slack = unit / 2
            slack = min(slack, self.bar_length / 16)
            near = self._places.nearest(self._known, self.tick)
            if abs(near - self.tick) <= slack:
                self.tick = near
                return self._known[near]
            below = self._places.below(self._known, self.tick) or _ZERO
        exact = self._known[below] + self.tick - below
        if step > 0 and self.ratio[0] != self.ratio[1]:
            return self._on_tuplet_grid(exact, step, self.grain)
        return exact

    def _on_tuplet_grid(self, exact: mpq, step: mpq, grain: mpq) -> mpq:
        """A forward inside a tuplet is a rounded number of its notes, if it is near one.

        ``step`` is how far the forward came, ``exact`` where that would lead.
        """
        if (step * _FORWARD_GRID).denominator == 1:
            return exact
        grid = mpq(self.ratio[1], self.ratio[0])
        while grid >= 8 * grain:
            meant = grid * int(step / grid + mpq(1, 2))
            if 2 * abs(meant - step) <= grain:
                return exact + meant - step
            grid /= 2
        return exact
