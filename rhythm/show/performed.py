"""What a performance is made of: tones, clicks, bars and pedals, as plain values.

Conventions
-----------
``start`` and ``end`` are exact, in whole notes from the beginning of the performance; ``at`` and
``until`` are the same moments in whole milliseconds. See :mod:`rhythm.show.sound`.
"""

from __future__ import annotations

from gmpy2 import mpq

from rhythm.exact.frozen import dataclass

__all__ = ["Click", "Pedal", "Performance", "PlayedBar", "Tone"]


@dataclass(frozen=True, slots=True)
class Tone:
    """One key that sounds, and the events to light meanwhile (several where notes are tied).

    ``plucked`` says that a bowed instrument plays it pizzicato.
    """

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
    plucked: bool = False


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

    ``pace`` is how many milliseconds a whole note lasts where the bar begins, fermatas apart.
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
class Pedal:
    """A pedal of a part that goes ``down`` or up; a ``sostenuto`` holds only what sounds then."""

    start: mpq
    at: int
    part: int
    down: bool
    sostenuto: bool = False


@dataclass(frozen=True, slots=True)
class Performance:
    """All that sounds, in order: tones, clicks, bars, pedals, and tempi.

    Tempi are (start, quarters a minute), those that a fermata makes among them.
    """

    tones: tuple[Tone, ...]
    clicks: tuple[Click, ...]
    bars: tuple[PlayedBar, ...]
    tempi: tuple[tuple[mpq, mpq], ...]
    pedals: tuple[Pedal, ...] = ()

    @property
    def length(self) -> int:
        """How long it lasts, in milliseconds."""
        return max((bar.until for bar in self.bars), default=0)

    def rings_until(self) -> list[int]:
        """The millisecond at which each tone dies: where it ends, or its pedal comes up."""
        held: dict[int, list[tuple[int, int, bool]]] = {}
        down: dict[tuple[int, bool], int] = {}
        for pedal in self.pedals:
            kind = pedal.part, pedal.sostenuto
            if pedal.down:
                down.setdefault(kind, pedal.at)
            elif kind in down:
                held.setdefault(pedal.part, []).append((down.pop(kind), pedal.at, pedal.sostenuto))
        for (part, sostenuto), since in down.items():
            held.setdefault(part, []).append((since, self.length, sostenuto))
        return [
            max(
                (
                    up
                    for since, up, sostenuto in held.get(tone.part, ())
                    if since < tone.until < up and not (sostenuto and tone.at > since)
                ),
                default=tone.until,
            )
            for tone in self.tones
        ]
