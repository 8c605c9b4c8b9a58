"""What each verb is told, as a sentence with blanks: ``Put all bars into 12/8, long first ...``.

One table says which blanks a verb has, what may stand in each and what it means; another does the
same for what makes something else of a score: a sheet, sound, a page, a list of faults. Whoever
lets people say what is to be done (a page, a saved chain) reads it here; a test holds it against
the verbs themselves, so that no new option can be forgotten.

Conventions
-----------
``text`` has each blank in braces; what is said seldom stands in ``more``. A blank's ``words`` are
pairs of what is handed on and how it is said; where ``free``, anything else may be written too.
``usual`` is what holds where nothing is said. ``shown`` are words with a tiny example in note
values, ``1/8 1/8 to 1/4 1/8``, for whoever can draw them; a metre stands in brackets.
"""

from __future__ import annotations

from rhythm.exact.frozen import dataclass

__all__ = ["MADE", "SENTENCES", "Blank", "Sentence"]


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
    shown=(("numbers", "1/4 1/8 1/8: 1, 2 &"), ("takadimi", "1/4 1/8 1/8: ta, ta di"),
           ("gordon", "1/4 1/8 1/8: du, du de"), ("kodaly", "1/4 1/8 1/8: ta, ti ti")),
)  # fmt: skip
_MANNER = Blank(
    "manner", "how what handbooks leave open is written: as this score's editor did, or our way",
    (("source", "as this edition does"), ("house", "in our own way")), usual="source",
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
                    free=True, usual="compound", lead="into",
                    shown=(("compound", "1/8 1/8 to 1/4 1/8"), ("simple", "1/4 1/8 to 1/8 1/8"),
                           ("triplets", "1/8 1/8 to 1/6 1/12"),
                           ("duplets", "1/4 1/8 to 3/16 3/16")),
                ),
                Blank(
                    "lilt", "which note of an uneven pair is the long one, or a ratio such as 2:1",
                    (("trochee", "long first"), ("iamb", "short first"), ("even", "evenly"),
                     ("2:1", "swung 2:1"), ("3:2", "swung 3:2")),
                    free=True, usual="trochee",
                    shown=(("trochee", "1/8 1/8 to 1/4 1/8"), ("iamb", "1/8 1/8 to 1/8 1/4"),
                           ("even", "1/8 1/8 to 3/16 3/16"), ("2:1", "1/8 1/8 to 1/6 1/12")),
                ),
                Blank(
                    "by", "every bar stays a bar, or every beat a beat and bar lines move",
                    (("", "as suits the metre"), ("bar", "bar by bar"), ("beat", "beat by beat")),
                    shown=(("bar", "1/4 1/4 | to 3/8 3/8 |"), ("beat", "1/4 1/4 | to 3/8 | 3/8 |")),
                ),
                Blank(
                    "fit", "where a musician would write them, or exactly where the map sends them",
                    (("", "as the lilt asks"), ("idiomatic", "to be read at sight"),
                     ("exact", "exactly")),
                    lead="where notes go:",
                    shown=(("idiomatic", "3/16 1/16 to 1/4 1/8"),
                           ("exact", "3/16 1/16 to 5/16 1/16")),
                ),
                Blank(
                    "tempo", "what keeps its pace: the beat, or the note value",
                    (("beat", "the beat's pace"), ("value", "the value's pace")), usual="beat",
                    shown=(("beat", "1/4 = 96 to 3/8 = 96"), ("value", "1/4 = 96 to 1/4 = 96")),
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
                    shown=(("1/8=1/4", "1/8 1/8 to 1/4 1/8"),),
                ),
                _COUNT,
                _MANNER,
            ),
        ),
        Sentence(
            "rebar",
            "other bar lines",
            "Draw new bar lines through {bars}, in {to}.",
            "The last bar is {complete}. Double bars and repeats {strict}. Write it {manner}.",
            (
                Blank(
                    "to", "a metre, or metres in turn", _METRES, free=True, usual="3/4",
                    lead="into",
                    shown=(("3/4", "1/4 1/4 | 1/4 1/4 | 1/4 1/4 to 1/4 1/4 1/4 | 1/4 1/4 1/4"),),
                ),
                Blank(
                    "complete", "whether rests fill the last bar",
                    (("true", "filled with rests"), ("false", "left short")), usual="true",
                    kind="truth",
                ),
                Blank(
                    "strict", "what becomes of a bar that a double bar or a repeat falls into",
                    (("false", "split the bar that they fall into"),
                     ("true", "may not fall inside a bar")),
                    usual="false", kind="truth", lead="double bars and repeats may not fall inside",
                ),
                _BARS,
                _MANNER,
            ),
        ),
        Sentence(
            "group",
            "other groups",
            "Hear {bars} in groups of {groups} {unit} notes, shown by {show}.",
            "In {part}, {voice}. Write it {manner}.",
            (
                Blank(
                    "groups", "numbers of notes that belong together",
                    tuple((each, each) for each in ("3+3+2", "3", "5", "2+3", "3+2+2", "7")),
                    free=True, usual="3+3+2",
                    shown=(("3+3+2", "1/8 1/8 1/8, 1/8 1/8 1/8, 1/8 1/8"),
                           ("3", "1/8 1/8 1/8, 1/8 1/8 1/8"), ("2+3", "1/8 1/8, 1/8 1/8 1/8")),
                ),
                _UNIT,
                Blank(
                    "show", "how the groups are seen",
                    (("beams", "beams"), ("accents", "accents"), ("metre", "the metre itself")),
                    usual="beams",
                ),
                _BARS, _PART, _VOICE, _MANNER,
            ),
        ),
        Sentence(
            "tuplet",
            "tuplets",
            "In {bars}: {ratio}, {split}, {dissolve}.",
            "Where notes are squeezed, {unit} notes are; {span} are split. Write it {manner}.",
            (
                Blank(
                    "ratio", "so many notes in the time of so many, such as 5:4",
                    (("", "squeeze nothing"), ("3:2", "play 3 notes in the time of 2"),
                     ("5:4", "play 5 notes in the time of 4"),
                     ("7:4", "play 7 notes in the time of 4"),
                     ("2:3", "play 2 notes in the time of 3")),
                    free=True, first="3:2",
                    shown=(("3:2", "1/8 1/8 1/8 to 1/12 1/12 1/12"),
                           ("5:4", "1/16 1/16 1/16 1/16 1/16 to 1/20 1/20 1/20 1/20 1/20")),
                ),
                _UNIT,
                Blank(
                    "split", "into how many equal notes",
                    (("", "split nothing"), ("3", "split notes into 3"),
                     ("5", "split notes into 5"), ("7", "split notes into 7")),
                    free=True, kind="whole",
                    shown=(("3", "1/4 to 1/12 1/12 1/12"),
                           ("5", "1/4 to 1/20 1/20 1/20 1/20 1/20")),
                ),
                Blank(
                    "span", "how long the notes are that are split",
                    (("", "no notes"), ("1/4", "quarters"), ("1/8", "eighths"), ("1/2", "halves")),
                    free=True,
                ),
                Blank(
                    "dissolve", "tuplets made plain: as long as they look, or half as long",
                    (("", "release nothing"), ("written", "let tuplets be as long as they look"),
                     ("halved", "let tuplets be half as long as they look")),
                    shown=(("written", "1/12 1/12 1/12 to 1/8 1/8 1/8"),
                           ("halved", "1/12 1/12 1/12 to 1/16 1/16 1/16")),
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
            "And {remarks}. Write it {manner}.",
            (
                Blank(
                    "how", "what is changed to make bars add up",
                    (("least", "the least change first"), ("rests", "no new signatures"),
                     ("metre", "the signature follows the notes")),
                    usual="least",
                    shown=(("rests", "[4/4] 1/4 1/4 1/4 to [4/4] 1/4 1/4 1/4 rest 1/4"),
                           ("metre", "[4/4] 1/4 1/4 1/4 to [3/4] 1/4 1/4 1/4")),
                ),
                _BARS,
                Blank(
                    "remarks", "whether what is no fault but odd is put right too",
                    (("false", "leave what is only odd"), ("true", "put right what is only odd")),
                    usual="false", kind="truth",
                ),
                _MANNER,
            ),
        ),
        Sentence(
            "faircopy",
            "a fair copy",
            "Write {bars} out afresh, {manner}, {keep}.",
            "In {part}, {voice}.",
            (
                _BARS, _PART, _VOICE,
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
            "Keep {bars}, {part}, {voice}, and leave out the rest.",
            "",
            (_BARS, _PART, _VOICE),
        ),
    )
}  # fmt: skip
"""Every verb that makes a score of a score, by its name."""

_SYSTEMS = _COUNT.words[1:]
_SPEEDS = tuple((f"{each}%", f"{each}% of its speed") for each in (50, 60, 75, 90, 110, 125, 150))

MADE: dict[str, Sentence] = {
    each.verb: each
    for each in (
        Sentence(
            "exercises",
            "a lesson",
            "Make {most} exercises of {bars}, {instrument}, {levels}, {count}, {only}.",
            "Print {beats}. Instead: {steps}, {listen}, {players}. Take {part}, {voice}."
            " What is drawn by lot is lot {seed}. Call it {title}. Made {plan}, {manner}.",
            (
                Blank(
                    "most", "so many at most, from easy to hard",
                    (("", "eight"), ("4", "4"), ("6", "6"), ("12", "12"), ("16", "16")),
                    free=True, kind="whole", lead="how many",
                ),
                Blank(
                    "bars", "which bars of the theme, as printed: 5-8; empty for its first phrase",
                    (("", "the first phrase"),), free=True, example="5-8",
                ),
                Blank(
                    "levels", "from which level to which, such as 2-6.5",
                    (("", "at all levels"), ("1-3", "at levels 1 to 3"),
                     ("2-5", "at levels 2 to 5"), ("4-8", "at levels 4 to 8")),
                    free=True, example="2-6.5",
                ),
                Blank(
                    "instrument", "whose clef, compass and transposition the sheet is written in",
                    (("", "for any instrument"),), free=True, example="clarinet",
                ),
                _COUNT,
                Blank(
                    "only", "with the pitches of the theme, or on one line",
                    (("", "with its notes"), ("rhythm", "rhythm alone")),
                ),
                _PART, _VOICE,
                Blank(
                    "seed", "another number draws other exercises",
                    (("", "0"), ("1", "1"), ("2", "2")), free=True, kind="whole",
                ),
                Blank("title", "the title of the sheet", (("", "after the theme"),), free=True),
                Blank(
                    "steps", "exercises that lead to the hardest bar, one new thing at a time",
                    (("", "no steps to the hardest bar"), ("4", "four steps to the hardest bar"),
                     ("5", "five steps to the hardest bar"), ("6", "six steps to the hardest bar")),
                    kind="whole",
                ),
                Blank(
                    "listen", "tasks for the ear, to be played from the track",
                    (("", "no tasks for the ear"), ("4", "four tasks for the ear"),
                     ("8", "eight tasks for the ear")),
                    free=True, kind="whole",
                ),
                Blank(
                    "beats", "a bar of count-in before each exercise, and the beat under it",
                    (("", "no beats"), ("true", "a count-in and the beat"),
                     ("false", "no beats, whatever the plan says")),
                    kind="truth",
                ),
                Blank(
                    "players", "one score for a mixed class, a part for each player on a level",
                    (("", "no score for a mixed class"),
                     ("flute, clarinet, cello, clapping",
                      "a score for flute, clarinet, cello, clapping"),
                     ("violin, violin: division, cello: ostinato",
                      "a score for two violins and cello")),
                    free=True, example="flute, clarinet: division, clapping",
                ),
                _MANNER,
                Blank("plan", "a plan of exercises, in a file of its own",
                      (("", "without a plan"),)),
            ),
        ),
        Sentence(
            "guises",
            "in every metre",
            "Hear the first {first} bars in at most {most} guises.",
            "",
            (
                Blank("first", "so many bars from the beginning, 1 to 64",
                      (("4", "4"), ("8", "8"), ("12", "12"), ("16", "16")),
                      free=True, usual="8", kind="whole"),
                Blank("most", "no more than so many, 1 to 200",
                      (("20", "20"), ("40", "40"), ("60", "60"), ("100", "100")),
                      free=True, usual="60", kind="whole"),
            ),
        ),
        Sentence(
            "midi",
            "sound",
            "Play {bars} at {speed}, {repeats}, {click}, with {count_in} counted in.",
            "Play {part}, {voice}.",
            (
                _BARS,
                Blank("speed", "how much of the score's own speed, 10% to 400%",
                      (("100%", "its own speed"), *_SPEEDS), free=True, usual="100%"),
                Blank("repeats", "whether repeats and endings are played out",
                      (("true", "with its repeats"), ("false", "once through")),
                      usual="true", kind="truth"),
                Blank("click", "whether the beats are clicked",
                      (("false", "without a click"), ("true", "with a click")),
                      usual="false", kind="truth"),
                Blank("count_in", "how many bars are counted before the music, up to 8",
                      (("0", "no bar"), ("1", "one bar"), ("2", "two bars")),
                      free=True, usual="0", kind="whole"),
                _PART, _VOICE,
            ),
        ),
        Sentence(
            "page",
            "a page",
            "Show {bars} and name places in {count}.",
            "Show {part}, {voice}. Call the page {title}.",
            (
                _BARS,
                Blank("count", "the way of counting in which places are named",
                      _SYSTEMS, usual="numbers"),
                _PART, _VOICE,
                Blank("title", "the title of the page", (("", "after the score"),), free=True),
            ),
        ),
        Sentence(
            "check",
            "bars that add up",
            "Hold {bars} against {against}.",
            "Look at {part}, {voice}.",
            (
                _BARS,
                Blank("against", "the metres that were planned, in turn, such as 7/8 7/8 5/8",
                      (("", "their signatures"),), free=True, example="7/8 7/8 5/8"),
                _PART, _VOICE,
            ),
        ),
    )
}  # fmt: skip
"""What makes something else of a score: a sheet, guises, sound, a page, a list of faults."""
