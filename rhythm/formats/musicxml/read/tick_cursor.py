"""Where a bar's cursor stands: exact time kept beside the ticks of the file.

Exporters round: seven septuplet eighths at 480 divisions last 959 ticks, and a forward of one
tick repairs it. Written time is exact, so every tick position that a note reached is remembered
with the exact position it stands for, and ``backup`` and ``forward`` are looked up there. A
``backup`` that misses such a place by one division, and that division is less than any note lasts,
was rounded too.
Ticks are held as the length they stand for, so a change of divisions does not touch them.

Conventions
-----------
Positions are from the bar's start. A written value and its ticks differ by rounding if they
are at most one division apart, at most a sixteenth of the bar, and the value either does not fit
the divisions or is at least eight times the difference; otherwise they contradict each other and
the ticks win.
"""

from __future__ import annotations

from gmpy2 import mpq

from rhythm.exact.errors import FileError
from rhythm.formats.musicxml.read.note_reader import Written, decimal, exact_value, shown
from rhythm.score.model import Remark

__all__ = ["Clock"]

_ZERO = mpq(0)
_WHOLE = mpq(1)
_LONG = frozenset({"whole", "breve", "long", "maxima"})
_FORWARD_GRID = 64
_SHORTEST = mpq(1, 128)
_PLAIN = (1, 1)


class Clock:
    """The cursor of one part, bar after bar."""

    def __init__(self) -> None:
        self.divisions: mpq | None = None
        self._agreed: dict[tuple[str, str, int, tuple[int, int]], mpq] = {}
        self._unit: mpq | None = None
        self._values: dict[str, mpq] = {}
        self.bar_length = _WHOLE
        self.start_bar(_WHOLE)

    def start_bar(self, length: mpq) -> None:
        """Begin a bar; ``length`` is its metre's (a whole note where there is none)."""
        self.position = _ZERO
        self.tick = _ZERO
        self._true = True
        self._reached = [_ZERO]
        self._known: dict[mpq, mpq] = {}
        self.rounded = 0
        self.guessed = 0
        self.bar_length = length or _WHOLE
        self.ratio = _PLAIN
        self.remarks: list[Remark] = []

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
        if self.tick < 0:
            self.position = self.tick = _ZERO
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
                self.tick += agreed
                self._known.setdefault(self.tick, self.position)
        else:
            self._place_slowly(note, key)
        self.ratio = note.ratio

    def _place_slowly(self, note: Written, key: tuple[str, str, int, tuple[int, int]]) -> None:
        """Place a note whose ticks and written value have not yet been seen to agree."""
        note.value = value = self.ticks_value(note.ticks)
        if note.type:
            written = exact_value(note.type, note.dots, *note.ratio)
            if written == value:
                self._agreed[key] = written
                note.duration = written
            else:
                note.duration = self._weigh(note, written, value)
        else:
            note.duration = self._by_ticks(note, value)
        moved = self._undivided(note.ticks, note.duration) if value is None else value
        note.end = self.position = self.position + note.duration
        self.tick += moved
        if self._true and self.tick == self.position:
            self._reached.append(note.offset)
        else:
            self._lose_truth(note.offset)
            self._known.setdefault(self.tick, self.position)

    def _lose_truth(self, here: mpq) -> None:
        """Past ``here``, ticks and positions are not the same thing until the bar ends."""
        if self._true:
            self._true = False
            self._known = {place: place for place in self._reached}
            self._known[here] = here

    @staticmethod
    def _undivided(text: str, otherwise: mpq) -> mpq:
        """Ticks where no divisions were given yet: quarters."""
        ticks = decimal(text) if text.strip() else None
        return otherwise if ticks is None else ticks / 4

    def _remark(self, kind: str, note: Written, written: mpq | None, value: mpq | None) -> None:
        self.remarks.append(Remark(kind, note.voice, note.offset, written, value))

    def _weigh(self, note: Written, written: mpq, value: mpq | None) -> mpq:
        """Written time against ticks, where they differ."""
        if value is None:
            self._remark("no-divisions", note, written, None)
            return written
        if value <= 0:
            self._remark("negative" if value < 0 else "zero", note, written, value)
            return written
        if note.kind == "rest" and (note.measure_rest or note.type in _LONG):
            return value
        off = abs(written - value)
        unit = self._unit or _WHOLE
        if off <= unit and 16 * off <= self.bar_length:
            fits = (written / unit).denominator == 1
            if not fits or 8 * off <= written:
                self.rounded += 1
                self._remark("rounded", note, written, value)
                return written
        if note.tremolo and note.ratio == _PLAIN and written == 2 * value:
            return value
        self._remark("contradiction", note, written, value)
        return value

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
        return value

    def move(self, text: str, back: bool) -> None:
        """Follow a ``backup`` or ``forward`` of this many ticks."""
        ticks = self.ticks_value(text)
        if ticks is None:
            ticks = self._undivided(text, _ZERO)
        self.tick += -ticks if back else ticks
        if back and not self.rounded:
            self._mend_backup()
        if self._true and self.tick >= 0 and (back or self.ratio == _PLAIN):
            self._reached.append(self.position)
            self.position = self.tick
            return
        self._lose_truth(self.position)
        found = self._known.get(self.tick)
        if found is None:
            found = self._find(_ZERO if back else ticks)
            if found < 0:
                if back:
                    far = -self.tick > 2 * self.bar_length
                    kind = "far-backup" if far else "before-start"
                    self.remarks.append(Remark(kind, "", _ZERO, None, self.tick))
                found = _ZERO
            elif self.tick >= 0:
                self._known[self.tick] = found
        self.position = found

    def _mend_backup(self) -> None:
        """Take the cursor to a place that a note reached and that the ticks miss by a division."""
        places = self._reached if self._true else self._known
        unit = self._unit
        if self.tick in places or unit is None or unit >= _SHORTEST:
            return
        for place in places:
            if abs(place - self.tick) <= unit:
                self.tick = place
                at = place if self._true else self._known[place]
                self.remarks.append(Remark("rounded", "", at))
                return

    def _find(self, step: mpq) -> mpq:
        """The exact position of a tick position that no note reached.

        ``step`` is how far a forward came, 0 after a backup.
        """
        unit = self._unit or mpq(1, 4)
        below = _ZERO
        if self.rounded or self.tick < 0:
            slack = max(self.rounded, 2) * unit
            if self.rounded < 1:
                slack = unit / 2
            slack = min(slack, self.bar_length / 16)
            near = min(self._known, key=lambda tick: abs(tick - self.tick))
            if abs(near - self.tick) <= slack:
                self.tick = near
                return self._known[near]
            below = max((tick for tick in self._known if tick <= self.tick), default=_ZERO)
        exact = self._known[below] + self.tick - below
        if step > 0 and self.ratio[0] != self.ratio[1]:
            return self._on_tuplet_grid(exact, step, unit)
        return exact

    def _on_tuplet_grid(self, exact: mpq, step: mpq, unit: mpq) -> mpq:
        """A forward inside a tuplet is a rounded number of its notes, if it is near one.

        ``step`` is how far the forward came, ``exact`` where that would lead.
        """
        if (step * _FORWARD_GRID).denominator == 1:
            return exact
        grid = mpq(self.ratio[1], self.ratio[0])
        while grid >= 8 * unit:
            meant = grid * int(step / grid + mpq(1, 2))
            if 2 * abs(meant - step) <= unit:
                return exact + meant - step
            grid /= 2
        return exact
