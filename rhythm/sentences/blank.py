"""A blank to fill in, a sentence of blanks, and the blanks that several sentences have."""

from __future__ import annotations

from rhythm.exact.frozen import dataclass

__all__ = ["BARS", "COUNT", "MANNER", "METRES", "PART", "UNIT", "VOICE", "Blank", "Sentence"]


@dataclass(frozen=True, slots=True)
class Blank:
    """One thing to fill in: its name in Python, what may stand there, and what it means."""

    name: str
    means: str
    words: tuple[tuple[str, str], ...] = ()
    free: bool = False
    usual: str = ""
    kind: str = "text"  # text, whole, truth, or score: one of the words or a score's file
    first: str = ""  # what a new sentence says, where that is not the usual
    example: str = ""
    shown: tuple[tuple[str, str], ...] = ()
    lead: str = ""  # what stands before the blank in its sentence, for messages

    @property
    def called(self) -> str:
        """What to call the blank in a message."""
        return self.lead or self.means.partition(",")[0].partition(";")[0]


@dataclass(frozen=True, slots=True)
class Sentence:
    """What a verb does, to be filled in."""

    verb: str
    title: str
    text: str
    more: str
    blanks: tuple[Blank, ...]

    def blank(self, name: str) -> Blank:
        """The blank of this name."""
        return next(each for each in self.blanks if each.name == name)


BARS = Blank(
    "bars", "which bars, as printed: 5, 5-8 or 5-8, 12; empty for all", (("", "all bars"),),
    free=True, example="5-8",
)  # fmt: skip
PART = Blank("part", "one part, by its name or id; empty for all", (("", "all parts"),), free=True)
VOICE = Blank("voice", "one voice, by its name; empty for all", (("", "all voices"),), free=True)
COUNT = Blank(
    "count", "syllables to write under the notes",
    (("", "no counting"), ("numbers", "numbers"), ("takadimi", "takadimi"), ("gordon", "gordon"),
     ("kodaly", "kodaly")),
    shown=(("numbers", "1/4 1/8 1/8: 1, 2 &"), ("takadimi", "1/4 1/8 1/8: ta, ta di"),
           ("gordon", "1/4 1/8 1/8: du, du de"), ("kodaly", "1/4 1/8 1/8: ta, ti ti")),
)  # fmt: skip
MANNER = Blank(
    "manner", "how what handbooks leave open is written: as this score's editor did, our way, or as"
    " the editor of another score, by its file", (("source", "as this edition does"),
    ("house", "in our own way")), free=True, usual="source", kind="score", lead="written",
)  # fmt: skip
VALUES = (("1/4", "quarter"), ("1/8", "eighth"), ("1/16", "sixteenth"), ("3/8", "dotted quarter"))
UNIT = Blank("unit", "the note value that is counted", VALUES, free=True, usual="1/8")
METRES = tuple((each, each) for each in ("2/4", "3/4", "4/4", "6/8", "9/8", "12/8", "5/8", "7/8"))
