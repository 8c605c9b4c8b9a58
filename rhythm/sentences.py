"""What each verb is told, as a sentence with blanks: ``Put all bars into 12/8, long first ...``.

One table says which blanks a verb has, what may stand in each and what it means. Whoever lets
people say what is to be done (a page, a saved chain) reads it here; a test holds it against the
verbs themselves, so that no new option can be forgotten.

Conventions
-----------
``text`` has each blank in braces; what is said seldom stands in ``more``. A blank's ``words`` are
pairs of what is handed on and how it is said; where ``free``, anything else may be written too.
``usual`` is what holds where nothing is said.
"""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["SENTENCES", "Blank", "Sentence"]


@dataclass(frozen=True, slots=True)
class Blank:
    """One thing to fill in: its name in Python, what may stand there, and what it means."""

    name: str
    means: str
    words: tuple[tuple[str, str], ...] = ()
    free: bool = False
    usual: str = ""
    kind: str = "text"  # text, whole or truth
    first: str = ""  # what a new sentence says, where that is not the usual
    example: str = ""


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


_BARS = Blank(
    "bars", "which bars, as printed: 5, 5-8 or 5-8, 12; empty for all", (("", "all bars"),),
    free=True, example="5-8",
)  # fmt: skip
_PART = Blank("part", "one part, by its name or id; empty for all", (("", "all parts"),), free=True)
_VOICE = Blank("voice", "one voice, by its name; empty for all", (("", "all voices"),), free=True)
_COUNT = Blank(
    "count", "syllables to write under the notes",
    (("", "no counting"), ("numbers", "numbers"), ("takadimi", "takadimi"), ("gordon", "gordon"),
     ("kodaly", "kodaly")),
)  # fmt: skip
_MANNER = Blank(
    "manner", "how what handbooks leave open is written: as this score's editor did, or our way",
    (("source", "as this edition does"), ("house", "our own way")), usual="source",
)  # fmt: skip
_VALUES = (("1/4", "quarter"), ("1/8", "eighth"), ("1/16", "sixteenth"), ("3/8", "dotted quarter"))
_UNIT = Blank("unit", "the note value that is counted", _VALUES, free=True, usual="1/8")
_METRES = tuple((each, each) for each in ("2/4", "3/4", "4/4", "6/8", "9/8", "12/8", "5/8", "7/8"))

SENTENCES: dict[str, Sentence] = {
    each.verb: each
    for each in (
        Sentence(
            "restate",
            "another metre or feel",
            "Put {bars} into {to}, {lilt}, {by}, keeping {tempo}.",
            "Where notes go: {fit}. The result stands {place}. Own map: {mapping}."
            " Write {count} under it, {manner}.",
            (
                Blank(
                    "to", "a metre, metres in turn, or a feel",
                    (("compound", "compound time"), ("simple", "simple time"),
                     ("triplets", "triplets"), ("duplets", "duplets"), *_METRES,
                     ("5/4", "5/4"), ("7/8 7/8 5/8", "7/8 7/8 5/8"), ("2+2+3/8", "2+2+3/8")),
                    free=True, usual="compound", example="quarters to dotted quarters",
                ),
                Blank(
                    "lilt", "which note of an uneven pair is the long one, or a ratio such as 2:1",
                    (("trochee", "long first"), ("iamb", "short first"), ("even", "evenly"),
                     ("2:1", "swung 2:1"), ("3:2", "swung 3:2")),
                    free=True, usual="trochee",
                ),
                Blank(
                    "by", "every bar stays a bar, or every beat a beat and bar lines move",
                    (("", "as fits the target"), ("bar", "bar by bar"), ("beat", "beat by beat")),
                ),
                Blank(
                    "fit", "where a musician would write them, or exactly where the map sends them",
                    (("", "as the lilt asks"), ("idiomatic", "to be read at sight"),
                     ("exact", "exactly")),
                ),
                Blank(
                    "tempo", "what keeps its pace: the beat, or the note value",
                    (("beat", "the beat's pace"), ("value", "the value's pace")), usual="beat",
                ),
                _BARS,
                Blank(
                    "place", "where chosen bars go: where they were, alone, or after the end",
                    (("here", "where it was"), ("alone", "alone"), ("append", "after the end")),
                    usual="here",
                ),
                Blank(
                    "mapping", "pairs of positions of a beat, such as 1/8=1/4; empty for none",
                    (("", "none"),), free=True, example="1/8=1/4",
                ),
                _COUNT,
                _MANNER,
            ),
        ),
        Sentence(
            "rebar",
            "other bar lines",
            "Draw the bar lines of {bars} in {to}.",
            "The last bar is {complete}; bar lines that were double {strict}. Write it {manner}.",
            (
                Blank("to", "a metre, or metres in turn", _METRES, free=True, usual="3/4"),
                Blank(
                    "complete", "whether rests fill the last bar",
                    (("true", "filled with rests"), ("false", "left short")), usual="true",
                    kind="truth",
                ),
                Blank(
                    "strict", "whether double bars and repeats may stand inside a bar",
                    (("false", "break the row of bars"), ("true", "do not")), usual="false",
                    kind="truth",
                ),
                _BARS,
                _MANNER,
            ),
        ),
        Sentence(
            "group",
            "other groups",
            "Hear {bars} in groups of {groups} {unit} notes, shown by {show}.",
            "Write it {manner}.",
            (
                Blank(
                    "groups", "numbers of notes that belong together",
                    tuple((each, each) for each in ("3+3+2", "3", "5", "2+3", "3+2+2", "7")),
                    free=True, usual="3+3+2",
                ),
                _UNIT,
                Blank(
                    "show", "how the groups are seen",
                    (("beams", "beams"), ("accents", "accents"), ("metre", "the metre itself")),
                    usual="beams",
                ),
                _BARS,
                _MANNER,
            ),
        ),
        Sentence(
            "tuplet",
            "tuplets",
            "In {bars}, squeeze notes {ratio}, or part them into {split}, or release {dissolve}.",
            "Squeezed notes are {unit} notes; divided ones last {span}. Write it {manner}.",
            (
                Blank(
                    "ratio", "so many notes in the time of so many",
                    (("", "not"), ("3:2", "3 in the time of 2"), ("5:4", "5 in the time of 4"),
                     ("7:4", "7 in the time of 4"), ("2:3", "2 in the time of 3")),
                    free=True, first="3:2",
                ),
                _UNIT,
                Blank(
                    "split", "into how many equal notes",
                    (("", "no parts"), ("3", "3"), ("5", "5"), ("7", "7")),
                    free=True, kind="whole",
                ),
                Blank("span", "the notes that are parted", (("", "no value"), *_VALUES), free=True),
                Blank(
                    "dissolve", "tuplets made plain: as long as they look, or half as long",
                    (("", "no tuplets"), ("written", "tuplets as long as they look"),
                     ("halved", "tuplets at half the length they look")),
                ),
                _BARS,
                _MANNER,
            ),
        ),
        Sentence(
            "vary",
            "a device",
            "Put {bars} through {devices}.",
            "In {part}, {voice}; write {count} under it, {manner}.",
            (
                Blank("devices", "a device with its argument, such as augmentation:2", free=True,
                      usual="augmentation:2"),
                _BARS, _PART, _VOICE, _COUNT, _MANNER,
            ),
        ),
        Sentence(
            "count",
            "counting under the notes",
            "Write {system} under the notes of {bars}.",
            "In {part}, {voice}.",
            (
                Blank("system", "the way of counting", _COUNT.words[1:], usual="numbers"),
                _PART, _VOICE, _BARS,
            ),
        ),
        Sentence(
            "mend",
            "bars mended",
            "Mend {bars} that do not add up: {how}.",
            "Also {remarks}.",
            (
                Blank(
                    "how", "what is changed to make bars add up",
                    (("least", "the least change first"), ("rests", "no new signatures"),
                     ("metre", "the signature follows the notes")),
                    usual="least",
                ),
                _BARS,
                Blank(
                    "remarks", "whether what is no fault but odd is put right too",
                    (("false", "leave what is only odd"), ("true", "put right what is only odd")),
                    usual="false", kind="truth",
                ),
            ),
        ),
        Sentence(
            "faircopy",
            "a fair copy",
            "Write everything out afresh, {manner}, {keep}.",
            "",
            (
                Blank("manner", _MANNER.means, tuple(reversed(_MANNER.words)), usual="house"),
                Blank(
                    "keep", "whether written tuplets and beams are honoured",
                    (("false", "tuplets and beams chosen anew"),
                     ("true", "tuplets and beams kept")),
                    usual="false", kind="truth",
                ),
            ),
        ),
        Sentence(
            "excerpt",
            "an excerpt",
            "Keep only {bars} of {part}, {voice}.",
            "",
            (_BARS, _PART, _VOICE),
        ),
    )
}  # fmt: skip
"""Every verb that makes a score of a score, by its name."""
