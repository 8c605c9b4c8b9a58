"""The instruments that a sheet can be written for: clef, compass, transposition, sound.

The compass is what a pupil of some years reads and plays with ease (common practice, no source); it
lies inside the whole compass that handbooks give, which the tests hold it to. The transpositions
are those of the OpenStax text on transposing instruments (Schmidt-Jones, Understanding Basic Music
Theory) and of the table "Instrument ranges and transpositions" (studystack.com/flashcard-697185);
the programs are those of General MIDI (MIDI Manufacturers Association, GM System Level 1).

Conventions
-----------
Pitches are written pitches. ``sounds`` is the interval from the written to the sounding note: steps
of the scale and semitones, down negative: a clarinet in B flat sounds (-1, -2), a major second
lower. ``chords`` tells instruments that play several notes at once, ``staves`` those that read two.
"""

from __future__ import annotations

from gmpy2 import mpq

from rhythm.exact.errors import RequestError
from rhythm.exact.frozen import dataclass
from rhythm.exact.nearest import among, nearest
from rhythm.score.model import Pitch

__all__ = ["INSTRUMENTS", "Instrument", "instrument_named"]


@dataclass(frozen=True, slots=True)
class Instrument:
    """One instrument: its name, clef (sign and line), lowest and highest written pitch."""

    name: str
    clef: str
    low: Pitch
    high: Pitch
    sounds: tuple[int, int] = (0, 0)
    program: int = 1
    chords: bool = False
    staves: int = 1

    @property
    def struck(self) -> bool:
        """Whether it has no pitch: it is written as strokes on one line."""
        return self.clef == "percussion"


_SIGNS = {"": 0, "#": 1, "b": -1}


def _pitch(text: str) -> Pitch:
    return Pitch(text[0], mpq(_SIGNS[text[1:-1]]), int(text[-1]))


_NONE, _OCTAVE, _TENTH = (0, 0), (-7, -12), (-8, -14)
_SECOND, _THIRD, _FIFTH, _SIXTH = (-1, -2), (-2, -3), (-4, -7), (-5, -9)

# Name, clef, compass, interval to the sounding note, General MIDI program, several notes at once.
_TABLE: tuple[tuple[str, str, str, tuple[int, int], int, bool], ...] = (
    ("piccolo", "G2", "D4 G6", (7, 12), 73, False),
    ("flute", "G2", "C4 C6", _NONE, 74, False),
    ("descant recorder", "G2", "C4 A5", (7, 12), 75, False),
    ("treble recorder", "G2", "F4 D6", _NONE, 75, False),
    ("tenor recorder", "G2", "C4 A5", _NONE, 75, False),
    ("oboe", "G2", "C4 C6", _NONE, 69, False),
    ("english horn", "G2", "C4 A5", _FIFTH, 70, False),
    ("clarinet in B flat", "G2", "E3 C6", _SECOND, 72, False),
    ("clarinet in A", "G2", "E3 C6", _THIRD, 72, False),
    ("bass clarinet", "G2", "E3 A5", _TENTH, 72, False),
    ("bassoon", "F4", "C2 F4", _NONE, 71, False),
    ("soprano saxophone", "G2", "C4 C6", _SECOND, 65, False),
    ("alto saxophone", "G2", "C4 C6", _SIXTH, 66, False),
    ("tenor saxophone", "G2", "C4 C6", _TENTH, 67, False),
    ("baritone saxophone", "G2", "C4 C6", (-12, -21), 68, False),
    ("horn in F", "G2", "A3 F5", _FIFTH, 61, False),
    ("trumpet in B flat", "G2", "A3 G5", _SECOND, 57, False),
    ("trumpet in C", "G2", "A3 G5", _NONE, 57, False),
    ("cornet in B flat", "G2", "A3 G5", _SECOND, 57, False),
    ("trombone", "F4", "F2 F4", _NONE, 58, False),
    ("euphonium", "F4", "F2 F4", _NONE, 58, False),
    ("baritone in treble clef", "G2", "A3 G5", _TENTH, 58, False),
    ("tuba", "F4", "F1 C4", _NONE, 59, False),
    ("violin", "G2", "G3 B5", _NONE, 41, False),
    ("viola", "C3", "C3 E5", _NONE, 42, False),
    ("cello", "F4", "C2 G4", _NONE, 43, False),
    ("double bass", "F4", "E2 A3", _OCTAVE, 44, False),
    ("guitar", "G2", "E3 G5", _OCTAVE, 25, True),
    ("ukulele", "G2", "C4 A5", _NONE, 25, True),
    ("piano", "G2", "C2 C7", _NONE, 1, True),
    ("accordion", "G2", "F3 A5", _NONE, 22, True),
    ("glockenspiel", "G2", "G3 C6", (14, 24), 10, True),
    ("xylophone", "G2", "F3 C6", (7, 12), 14, True),
    ("marimba", "G2", "C3 C6", _NONE, 13, True),
    ("soprano voice", "G2", "C4 A5", _NONE, 53, False),
    ("alto voice", "G2", "G3 D5", _NONE, 53, False),
    ("tenor voice", "G2", "C4 G5", _OCTAVE, 53, False),
    ("bass voice", "F4", "F2 D4", _NONE, 53, False),
    ("clapping", "percussion", "E4 E4", _NONE, 1, False),
)

_GRAND = ("piano", "accordion", "marimba")

INSTRUMENTS: dict[str, Instrument] = {
    name: Instrument(
        name,
        clef,
        _pitch(compass.split()[0]),
        _pitch(compass.split()[1]),
        sounds,
        program,
        chords,
        2 if name in _GRAND else 1,
    )
    for name, clef, compass, sounds, program, chords in _TABLE
}
"""Every instrument by its name, in the order of a score."""

_ALSO = {
    "clarinet": "clarinet in B flat", "trumpet": "trumpet in B flat", "cornet": "cornet in B flat",
    "horn": "horn in F", "french horn": "horn in F", "saxophone": "alto saxophone",
    "baritone": "baritone in treble clef", "recorder": "descant recorder",
    "soprano recorder": "descant recorder", "alto recorder": "treble recorder",
    "cor anglais": "english horn", "violoncello": "cello", "contrabass": "double bass",
    "bass": "double bass", "viola da braccio": "viola", "keyboard": "piano",
    "soprano": "soprano voice", "alto": "alto voice", "tenor": "tenor voice", "voice":
    "soprano voice", "clap": "clapping", "claps": "clapping", "hands": "clapping",
}  # fmt: skip
"""What instruments are called too: the usual one of a family, and other names."""


def instrument_named(text: str) -> Instrument:
    """The instrument of that name, in any spelling of its key: ``clarinet``, ``Clarinet in Bb``.

    Raises RequestError, with the nearest name, where there is none.
    """
    wanted = _plain(text)
    names = {_plain(name): name for name in INSTRUMENTS}
    names |= {_plain(other): name for other, name in _ALSO.items()}
    if wanted not in names:
        near = nearest(wanted, names)
        hint = f"did you mean {names[near]}?" if near else among(wanted, INSTRUMENTS)
        raise RequestError(f"no instrument is called {text.strip()!r}", legal=hint)
    return INSTRUMENTS[names[wanted]]


def _plain(text: str) -> str:
    """A name as it is compared: small letters, one space, a sax a saxophone."""
    words = text.lower().replace("\u266d", " flat").replace("-", " ").replace("_", " ").split()
    known = {"bb": "b flat", "sax": "saxophone", "(bb)": "b flat"}
    found = [known.get(word, word) for word in words]
    return " ".join(found).replace(" in b flat", " b flat").replace(" b flat", " in b flat")
