"""The music on its timeline: immutable values that know when everything happens.

A :class:`Score` holds parts; a :class:`Part` its bars, voices and marks; a :class:`Voice` its
events. A transformation takes a score and returns a new one.

Conventions
-----------
Time is ``gmpy2.mpq`` in whole notes. ``onset`` is counted from the start of the score, ``offset``
from the start of a bar. Bars of all parts share one timeline: bar *i* starts at the same moment
in every part and is as long as the longest visible music in it. ``index`` counts bars from 0;
``number`` is what is printed. What rhythm does not own (pitch spelling, articulation, lyrics,
layout) travels as an opaque ``source`` that only the format which made it can open.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import field

from gmpy2 import mpq

from rhythm.exact.frozen import changed, dataclass
from rhythm.exact.metre import Metre
from rhythm.score.sources import say_the_same

__all__ = [
    "Addition",
    "Bar",
    "Barline",
    "Event",
    "Mark",
    "Metronome",
    "Note",
    "Part",
    "Piece",
    "Pitch",
    "Remark",
    "Score",
    "Tuplet",
    "Voice",
]


def _shortened(text: str, most: int) -> str:
    return text if len(text) <= most else text[: most - 3] + "..."


@dataclass(frozen=True, slots=True)
class Pitch:
    """A written pitch: step ``C``..``B``, alteration in semitones, octave (4 has middle C)."""

    step: str
    alter: mpq
    octave: int

    def __repr__(self) -> str:
        signs = {mpq(0): "", mpq(1): "#", mpq(-1): "b", mpq(2): "##", mpq(-2): "bb"}
        sign = signs.get(self.alter, f"({self.alter})")
        return f"{self.step}{sign}{self.octave}"

    @property
    def midi(self) -> mpq:
        """Semitones above C of octave -1 (middle C is 60); fractional for microtones."""
        base = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}[self.step]
        return mpq(base) + self.alter + 12 * (self.octave + 1)


@dataclass(frozen=True, slots=True)
class Note:
    """One member of an event: a pitch, an unpitched stroke, or the silence of a rest.

    ``sources`` holds what the format read, one entry per written piece of the event (a note tied
    over two bar lines has three); around them may be said what a transformation made of the note
    (see :mod:`rhythm.score.sources`). ``tie_in``/``tie_out`` are ties that reach outside the event:
    partial ties of a chord, ties between voices, ties that lead nowhere. ``laden`` says that the
    source of a single note or rest carries signs of its own: such a rest is more than silence.
    """

    kind: str  # "pitched", "unpitched" or "rest"
    pitch: Pitch | None = None
    staff: str = ""
    sources: tuple[object, ...] = field(default=(), repr=False, compare=False)
    tie_in: bool = False
    tie_out: bool = False
    laden: bool = field(default=False, repr=False, compare=False)

    def __eq__(self, other: object) -> bool:
        """Equal are notes that sound alike and carry the same: lyrics, articulations, slurs."""
        if self is other:
            return True
        if not isinstance(other, Note):
            return NotImplemented
        return (
            self.kind == other.kind
            and self.pitch == other.pitch
            and self.staff == other.staff
            and self.tie_in == other.tie_in
            and self.tie_out == other.tie_out
            and say_the_same(self.sources, other.sources)
        )

    def replace(self, **changes: object) -> Note:
        """A copy with ``changes``."""
        return changed(self, changes)


@dataclass(frozen=True, slots=True)
class Tuplet:
    """A group of ``actual`` units in the time of ``normal``, over a span inside one bar.

    ``unit`` is the plain written value of one unit; ``offset`` and ``length`` are the sounding
    span from the bar's start. ``number`` is the nesting level, outermost 1.
    """

    actual: int
    normal: int
    unit: mpq
    offset: mpq
    length: mpq
    number: int = 1
    bracket: bool = True


@dataclass(frozen=True, slots=True)
class Piece:
    """One written symbol of an event. An event held over a beat or bar line has several, tied.

    ``type`` is the MusicXML type name ("" where the source gave none), ``ratio`` the cumulative
    (actual, normal) of all tuplets around it, ``beams`` one word per level from the eighth beam
    down: begin, continue, end, forward hook, backward hook. ``ticks`` is the duration that the
    source's ``duration`` element stands for, where it had one. ``whole_bar`` marks a whole-bar
    rest. ``tremolo`` is ``start`` or ``stop`` on the two notes of a double tremolo: their ratio
    holds its 2:1.
    """

    bar: int
    offset: mpq
    duration: mpq
    type: str
    dots: int = 0
    ratio: tuple[int, int] = (1, 1)
    tuplets: tuple[Tuplet, ...] = ()
    beams: tuple[str, ...] = ()
    ticks: mpq | None = None
    whole_bar: bool = False
    tremolo: str = ""

    @property
    def end(self) -> mpq:
        """Where the piece ends, from its bar's start."""
        return self.offset + self.duration

    def replace(self, **changes: object) -> Piece:
        """A copy with ``changes``."""
        return changed(self, changes)


@dataclass(frozen=True, slots=True)
class Addition:
    """Something a transformation adds to an event: an ``accent``, or a ``lyric`` of a verse.

    ``delay`` is how long after the event's onset it stands: of a note that is tied over, the piece
    that begins or sounds there carries it.
    """

    kind: str
    text: str = ""
    number: str = ""
    delay: mpq = field(default_factory=mpq)


@dataclass(frozen=True, slots=True)
class Event:
    """What one voice does from ``onset`` for ``duration``: a note, a chord or a rest.

    ``bar`` is the index of the bar it is written in first. ``graces`` stand before it, ``after``
    behind it (grace notes that close a bar); both are opaque to this layer. ``pieces`` is how it
    is written: as read, or as spelling wrote it; empty means "not spelled yet". An event of
    duration 0 only carries grace notes. ``verses`` are those that have a syllable on it; it is
    ``slurred`` where a slur begins on it, and ``unjoined`` where it was written without a beam to
    the note before, though one beat held both.
    """

    onset: mpq
    duration: mpq
    bar: int
    notes: tuple[Note, ...]
    pieces: tuple[Piece, ...] = ()
    graces: tuple[object, ...] = field(default=(), repr=False, compare=False)
    after: tuple[object, ...] = field(default=(), repr=False, compare=False)
    hidden: bool = False
    cue: bool = False
    additions: tuple[Addition, ...] = ()
    verses: tuple[str, ...] = ()
    slurred: bool = field(default=False, repr=False, compare=False)
    unjoined: bool = field(default=False, repr=False, compare=False)

    def __eq__(self, other: object) -> bool:
        """Equal are events that are written alike and carry the same, grace notes included."""
        if self is other:
            return True
        if not isinstance(other, Event):
            return NotImplemented
        return (
            self.onset == other.onset
            and self.duration == other.duration
            and self.bar == other.bar
            and self.hidden == other.hidden
            and self.cue == other.cue
            and self.additions == other.additions
            and self.verses == other.verses
            and self.pieces == other.pieces
            and self.notes == other.notes
            and say_the_same(self.graces, other.graces)
            and say_the_same(self.after, other.after)
        )

    @property
    def end(self) -> mpq:
        """Onset plus duration."""
        return self.onset + self.duration

    @property
    def is_rest(self) -> bool:
        """True for a rest (and for a bare group of grace notes)."""
        return not self.notes or self.notes[0].kind == "rest"

    @property
    def pitches(self) -> tuple[Pitch, ...]:
        """The written pitches, in the order of the source."""
        return tuple(note.pitch for note in self.notes if note.pitch is not None)

    @property
    def visible(self) -> bool:
        """Neither hidden nor a cue."""
        return not (self.hidden or self.cue)

    def additions_between(self, onset: mpq, end: mpq) -> tuple[Addition, ...]:
        """The additions of its stretch from ``onset`` to ``end``, delayed from there."""
        since = onset - self.onset
        return tuple(
            Addition(each.kind, each.text, each.number, each.delay - since)
            for each in self.additions
            if onset <= self.onset + each.delay < end
        )

    def replace(self, **changes: object) -> Event:
        """A copy with ``changes``."""
        return changed(self, changes)


@dataclass(frozen=True, slots=True)
class Metronome:
    """A metronome mark: ``unit`` (whole notes) beats ``per_minute`` times, or equals ``other``.

    ``per_minute`` is the text of the source ("96", "ca. 60"); ``other`` is the second value of a
    relation (quarter = dotted quarter), else None.
    """

    unit: mpq
    per_minute: str = ""
    other: mpq | None = None


@dataclass(frozen=True, slots=True)
class Mark:
    """Anything else at a position: direction, harmony, key or clef change, sound, print, barline.

    ``kind`` is the element's name in MusicXML, or for marks without a source one of the names that
    the writer knows (``heading``). ``order`` keeps the written order among marks and
    notes of a bar; ``stream`` is the voice in whose stream it stands ("" at the bar's head).
    ``reach`` is how far its ``offset`` moves it, ``length`` how long it lasts (figured bass).
    ``metronome`` and ``tempo`` (quarters per minute, from ``sound``) may be changed by a
    transformation. ``transpose`` says by how many semitones the part sounds above what is written
    from here on. ``text`` is used by marks without a source (``words``, ``rehearsal``), and names
    what the ``attributes`` of a source say (``key clef``). A ``source`` that is a tuple stands for
    several elements of one kind merged in order, the later winning (the clefs and keys in force
    where an excerpt begins).
    """

    onset: mpq
    bar: int
    kind: str
    order: int = 0
    stream: str = ""
    staff: str = ""
    reach: mpq = field(default_factory=mpq)
    length: mpq = field(default_factory=mpq)
    metronome: Metronome | None = None
    tempo: mpq | None = None
    transpose: mpq | None = None
    text: str = ""
    source: object = field(default=None, repr=False, compare=False)

    def __eq__(self, other: object) -> bool:
        """Equal are marks that stand at one place and say the same."""
        if self is other:
            return True
        if not isinstance(other, Mark):
            return NotImplemented
        return (
            self.onset == other.onset
            and self.bar == other.bar
            and self.kind == other.kind
            and self.order == other.order
            and self.stream == other.stream
            and self.staff == other.staff
            and self.reach == other.reach
            and self.length == other.length
            and self.metronome == other.metronome
            and self.tempo == other.tempo
            and self.transpose == other.transpose
            and self.text == other.text
            and say_the_same((self.source,), (other.source,))
        )

    def replace(self, **changes: object) -> Mark:
        """A copy with ``changes``."""
        return changed(self, changes)


@dataclass(frozen=True, slots=True)
class Barline:
    """What a bar line says: its style in MusicXML's words, repeat direction, ending numbers.

    ``times`` is how often a backward repeat says its stretch is played, None where it does not.
    """

    style: str = ""
    repeat: str = ""  # "forward", "backward" or ""
    ending: str = ""  # the numbers, "1, 2"
    ending_type: str = ""  # "start", "stop", "discontinue"
    times: int | None = None


@dataclass(frozen=True, slots=True)
class Remark:
    """Something the reader saw that the timeline alone cannot tell, kept for the checker.

    ``kind`` is one of

    - ``rounded``: ticks off their written value by rounding (those of a backup where there is no
      voice);
    - ``contradiction``: written value and ticks disagree by more;
    - ``negative`` or ``zero``: such a duration;
    - ``before-start`` or ``far-backup``: a backup past the bar's start, by more than two bars even;
    - ``overrun``: a ratio that is written on notes past the end of its tuplet, which are plain;
    - ``odd``: a rest without a type whose ticks no rest can be, read as what its bar leaves to it,
      or where that is nothing (``written`` 0) as not seen;
    - ``member``: a chord member with another duration than its head;
    - ``no-divisions``: nothing says yet how long a tick is;
    - ``bracket``: a tuplet mark without its other end;
    - ``reached``: a forward leads on to ``offset``, past all visible music;
    - ``grace-tie``: a tie stops on a grace note before what stands at ``offset``;
    - ``rings``: what stands at ``offset`` is let ring by a mark beside the start of a tie.

    ``written`` and ``ticks`` are the two values. Where they disagree the music follows the ticks,
    except where the remark is ``settled``: then the reader knows what the page shows in spite of
    it, and every position of the bar follows that. So the written value is believed where the bar
    adds up with it, and a backup past the bar's start moved nothing where a forward made it good.
    """

    kind: str
    voice: str
    offset: mpq
    written: mpq | None = None
    ticks: mpq | None = None
    settled: bool = False


@dataclass(frozen=True, slots=True)
class Bar:
    """One bar of one part.

    ``start`` and ``length`` are shared by all parts; ``filled`` is where this part's own visible
    music ends, from the bar's start. ``metre`` is the one in force (None where the score has none
    yet); ``shows_metre`` says that the signature is written here. ``shift`` is where in the metre
    the bar's content begins: an upbeat of 1/4 in 4/4 has shift 3/4. ``source`` is the bar as read:
    it is written out as it was for as long as everything in it is as it was read, and afresh
    otherwise, without anybody's saying so; to drop it asks for new notation of the same music.
    ``divisions`` are those in force at the bar's start (per quarter); ``grain`` is the largest
    length of which all ticks of the part are multiples, said where the bar has notes whose ticks
    alone tell their length, or remarks.
    """

    index: int
    number: str
    start: mpq
    length: mpq
    metre: Metre | None = None
    shows_metre: bool = False
    implicit: bool = False
    shift: mpq = field(default_factory=mpq)
    filled: mpq = field(default_factory=mpq)
    left: Barline | None = None
    right: Barline | None = None
    divisions: int | None = None
    remarks: tuple[Remark, ...] = ()
    grain: mpq | None = field(default=None, repr=False, compare=False)
    source: object = field(default=None, repr=False, compare=False)

    @property
    def end(self) -> mpq:
        """Start plus length."""
        return self.start + self.length

    def replace(self, **changes: object) -> Bar:
        """A copy with ``changes``."""
        return changed(self, changes)


@dataclass(frozen=True, slots=True)
class Voice:
    """One voice of a part: its name in the source and its events in order of writing.

    Well-behaved voices are contiguous inside what they fill; gaps and overlaps are carried.
    """

    name: str
    events: tuple[Event, ...]

    def replace(self, **changes: object) -> Voice:
        """A copy with ``changes``."""
        return changed(self, changes)


@dataclass(frozen=True, slots=True)
class Part:
    """One part: id and name, bars, voices, and marks in written order.

    ``program`` is the instrument that plays it in General MIDI, 1 to 128, where the source says.
    """

    id: str
    name: str
    bars: tuple[Bar, ...]
    voices: tuple[Voice, ...]
    marks: tuple[Mark, ...]
    program: int | None = None
    source: object = field(default=None, repr=False, compare=False)

    def replace(self, **changes: object) -> Part:
        """A copy with ``changes``."""
        return changed(self, changes)


@dataclass(frozen=True, slots=True)
class Score:
    """A whole score. ``path`` names the file it came from, ``source`` is opaque to this layer.

    ``excerpt`` says that music was cut away around it or put together from pieces: ends of slurs,
    hairpins and other spans whose partner is not in the same stretch are left out on writing.
    ``title`` is the one it is written with. ``relaid`` says that bar lines or the order of notes
    changed: accidentals are looked at again on writing. ``afresh`` says that the source's spelling
    is no model: tuplets whose numbers it left out get them. ``hand`` is whose manner what is
    written anew follows (:mod:`rhythm.notate.manner`; None: the house's).
    """

    parts: tuple[Part, ...]
    path: str = field(default="", compare=False)
    title: str = ""
    excerpt: bool = False
    relaid: bool = False
    afresh: bool = False
    hand: object = field(default=None, repr=False, compare=False)
    source: object = field(default=None, repr=False, compare=False)

    def __eq__(self, other: object) -> bool:
        """Equal are scores of the same music with the same around it, wherever they come from."""
        if self is other:
            return True
        if not isinstance(other, Score):
            return NotImplemented
        return (
            self.title == other.title
            and (self.excerpt, self.relaid, self.afresh)
            == (other.excerpt, other.relaid, other.afresh)
            and self.parts == other.parts
            and say_the_same((self.source,), (other.source,))
        )

    def __repr__(self) -> str:
        """What a musician asks first: the title, the parts, how long and in which metres."""
        names = ", ".join(_shortened(part.name or part.id, 20) for part in self.parts[:4])
        more = ", ..." if len(self.parts) > 4 else ""
        metres = list(dict.fromkeys(str(bar.metre) for bar in self.bars if bar.metre is not None))
        changing = f" in {', '.join(metres[:4])}{', ...' * (len(metres) > 4)}" if metres else ""
        notes = sum(not event.is_rest for _, _, event in self.events())
        count = len(self.bars)
        title = f" {_shortened(self.title, 60)!r}" if self.title else ""
        return (
            f"<Score{title}: {count} bar{'s' * (count != 1)}{changing}\n"
            f"  for {names}{more}: {notes} notes and chords>"
        )

    @property
    def bars(self) -> tuple[Bar, ...]:
        """The bars of the longest part: the timeline every part shares."""
        return max((part.bars for part in self.parts), key=len, default=())

    @property
    def length(self) -> mpq:
        """The length of the timeline, in whole notes."""
        return self.bars[-1].end if self.bars else mpq(0)

    def _repr_html_(self) -> str:
        """The score as a notebook shows it: engraved, and to be listened to."""
        from rhythm.score.display import displayed

        return displayed(self)

    def events(self) -> Iterator[tuple[Part, Voice, Event]]:
        """Every event with its part and voice, part by part."""
        for part in self.parts:
            for voice in part.voices:
                for event in voice.events:
                    yield part, voice, event

    def replace(self, **changes: object) -> Score:
        """A copy with ``changes``."""
        return changed(self, changes)

    def map_parts(self, others: Mapping[int, Part]) -> Score:
        """A copy in which the parts at these indices are replaced."""
        return self.replace(parts=tuple(others.get(i, part) for i, part in enumerate(self.parts)))
