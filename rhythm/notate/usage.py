"""What handbooks leave open, and how one editor answers it.

Some questions of notation have two good answers: one rest or two on the first two eighths of a
compound beat, four eighths in 2/4 under one beam or two. An editor answers them alike throughout a
score (see docs/spelling.md). A :class:`Usage` holds such answers; notation asks it at named points.
``HOUSE``, the usage without any, gives the answers of this house. What handbooks reject (a rest
over the middle of a bar, a half rest in 3/4) is no question; nor is a value held over a compound
beat, but where a whole bar stands in plain beats (:mod:`rhythm.notate.plain_beats`).

Conventions
-----------
An answer stands for a question, a metre and a place; either may be open (``""``). Asked is first
the metre and the place, then the place in any metre, then the house. A question about the *bar* is
answered only in metres that the editor used; one about a *beat*, or about anything, in all. The
``memory`` of a usage knows the editor's bars by their rhythm: a rhythm that is written again is
written as it was, as far as handbooks allow it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple, Protocol

from gmpy2 import mpq

from rhythm.exact.metre import Metre

__all__ = [
    "HOUSE",
    "QUESTIONS",
    "Answer",
    "Answers",
    "BarRhythm",
    "Beams",
    "Cell",
    "Memory",
    "Question",
    "Remembered",
    "Symbol",
    "Usage",
]


class Question(NamedTuple):
    """A named point where notation asks: what it is about, and its answers, the house's first.

    ``about`` is ``bar``, ``simple`` or ``compound`` (the inside of such a beat), or ``anything``.
    An empty first answer means that the house looks at the rhythm. ``least`` and ``share`` (in
    100) are the votes that an answer needs.
    """

    name: str
    text: str
    answers: tuple[str, ...]
    about: str
    least: int = 2
    share: int = 60


_ROWS = (
    Question("silent beat", "a silent dotted beat", ("4.r", "4r 8r"), "compound"),
    Question("silent half", "two silent dotted beats", ("2.r", "4.r 4.r"), "bar"),
    Question("half rest", "two silent beats of half a bar", ("2r", "4r 4r"), "bar"),
    Question("first two", "silence before the last eighth", ("4r 8", "8r 8r 8"), "compound"),
    Question("dotted rest", "silence before the last sixteenth", ("8.r 16", "8r 16r 16"), "simple"),
    Question("plain beats", "plain beats across dotted ones", ("tied", "whole"), "bar"),
    Question("two for one", "one note as two tied halves", ("one", "two"), "bar"),
    Question("syncopation", "a plain note over a boundary", ("whole", "tied"), "bar"),
    Question("middle", "a quarter over the middle of the bar", ("tied", "whole"), "bar"),
    Question("dotted note", "a dotted note from a beat over the next", ("whole", "tied"), "bar"),
    Question("dotted syncopation", "a dotted note over a boundary", ("whole", "tied"), "bar"),
    Question("six in a beat", "six even notes in a beat", ("", "two 3:2", "one 6:4"), "simple"),
    Question("sixths", "notes on the sixths of a beat", ("", "two 3:2", "one 6:4"), "simple"),
    Question("duplet", "two even notes in a dotted beat", ("2:3", "dotted"), "compound"),
    Question("joined", "a stretch under one beam", ("", "joined", "parted"), "bar"),
    Question("over rests", "a beam over a rest", ("", "joined", "parted"), "anything"),
    Question("triplets", "neighbouring brackets in a beat", ("parted", "joined"), "simple"),
    Question("inner beams", "inner beams at a beat", ("parted", "through"), "bar"),
    Question("at the eighth", "inner beams at the eighth", ("through", "parted"), "anything"),
    Question("slurs", "a beam where a slur begins", ("through", "parted"), "anything", 4, 75),
    Question("syllables", "a beam where a syllable begins", ("through", "parted"), "anything"),
)

QUESTIONS: Mapping[str, Question] = {row.name: row for row in _ROWS}
"""Every question, by name."""


class Answer(NamedTuple):
    """One answer; ``metre`` and ``place`` are empty where it holds for any."""

    question: str
    metre: str
    place: str
    answer: str


Beams = tuple[tuple[str, ...], ...]
"""The words of the beams over a rhythm, stem by stem."""


class Cell(NamedTuple):
    """A stretch of a metre and the rhythm in it, from its start, as beams see it.

    Each stem is its start, end, flags, whether it is a rest, the bracket around it, whether a
    syllable begins there and, if that counts, whether a slur does. ``before`` and ``after`` say
    that notes with flags adjoin.
    """

    metre: str
    start: mpq
    length: mpq
    stems: tuple[tuple[object, ...], ...]
    before: bool
    after: bool


class BarRhythm(NamedTuple):
    """What a bar of one voice holds: start, duration, rest or note, and syllable, item by item."""

    metre: Metre | None
    length: mpq
    shift: mpq
    items: tuple[tuple[mpq, mpq, bool, bool], ...]


class Symbol(NamedTuple):
    """A symbol as an editor wrote it; ``tied`` says that a tie leads to it."""

    start: mpq
    end: mpq
    rest: bool
    type: str
    dots: int
    ratio: tuple[int, int]
    tied: bool


class Remembered(NamedTuple):
    """A bar as an editor wrote it: its symbols and, where its beams are whole, their words.

    ``metre`` is the one that it was written in: 3/4 where a bar of 6/8 has three plain beats.
    """

    symbols: tuple[Symbol, ...]
    beams: Beams | None
    metre: Metre | None


class Memory(Protocol):
    """What is remembered of an editor's bars."""

    @property
    def own(self) -> bool:
        """Are they bars of the score that is written?"""

    def beaming(self, cell: Cell, plain: Usage) -> Beams | None:
        """The words mostly written over this stretch, if not those that ``plain`` answers give."""

    def knows(self, metre: Metre | None) -> bool:
        """Are there bars of this metre?"""

    def bar(self, rhythm: BarRhythm, index: int) -> Remembered | None:
        """How the bar of this rhythm at ``index``, or those nearest to it, was written."""


class Answers(Protocol):
    """Who is asked: a usage, or somebody who listens to what is asked."""

    @property
    def memory(self) -> Memory | None:
        """What is remembered beside the answers."""

    def answer(self, question: str, metre: str, place: str = "") -> str:
        """The answer to a question at a place of a metre."""

    def beaming(self, cell: Cell) -> Beams | None:
        """The words remembered for this rhythm, where there are some."""


@dataclass(frozen=True, eq=True)
class Usage:
    """The answers of one editor; ``metres`` are those that the editor was seen to write in.

    ``memory`` holds the bars that the editor wrote, for what no answer says.
    """

    answers: tuple[Answer, ...] = ()
    memory: Memory | None = None
    metres: frozenset[str] = frozenset()

    def __hash__(self) -> int:
        return self._hash

    @cached_property
    def _hash(self) -> int:
        return hash((self.answers, self.memory, self.metres))

    @cached_property
    def _table(self) -> dict[tuple[str, str, str], str]:
        return {(each.question, each.metre, each.place): each.answer for each in self.answers}

    def answer(self, question: str, metre: str, place: str = "") -> str:
        """The answer to a question here: this editor's, or the first of :data:`QUESTIONS`."""
        asked = QUESTIONS[question]
        if self.answers:
            found = self._table.get((question, metre, place))
            if found is None and (asked.about != "bar" or metre in self.metres):
                found = self._table.get((question, "", place))
            if found is not None:
                return found
        return asked.answers[0]

    def beaming(self, cell: Cell) -> Beams | None:
        """The words remembered for this rhythm, where there are some."""
        return None if self.memory is None else self.memory.beaming(cell, self._plain)

    @cached_property
    def _plain(self) -> Usage:
        """The answers without the memory."""
        return Usage(self.answers, None, self.metres)

    def bar(self, rhythm: BarRhythm, index: int) -> Remembered | None:
        """How the editor wrote this very rhythm, in the bar at ``index`` or near it."""
        return None if self.memory is None else self.memory.bar(rhythm, index)


HOUSE = Usage()
"""No editor's answers: the house's own everywhere."""
