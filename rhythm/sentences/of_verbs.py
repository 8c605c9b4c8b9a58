"""The sentences of the verbs that make a score of a score."""

from __future__ import annotations

from dataclasses import replace

from rhythm.sentences.blank import BARS, COUNT, MANNER, METRES, PART, UNIT, VOICE, Blank, Sentence

__all__ = ["SENTENCES"]

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
                     ("triplets", "triplets"), ("duplets", "duplets"), *METRES,
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
                BARS,
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
                COUNT,
                MANNER,
            ),
        ),
        Sentence(
            "rebar",
            "other bar lines",
            "Draw new bar lines through {bars}, in {to}.",
            "The last bar is {complete}. Double bars and repeats {strict}. Write it {manner}.",
            (
                Blank(
                    "to", "a metre, or metres in turn", METRES, free=True, usual="3/4",
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
                BARS,
                MANNER,
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
                UNIT,
                Blank(
                    "show", "how the groups are seen",
                    (("beams", "beams"), ("accents", "accents"), ("metre", "the metre itself")),
                    usual="beams",
                ),
                BARS, PART, VOICE, MANNER,
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
                UNIT,
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
                BARS,
                MANNER,
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
                BARS, PART, VOICE, COUNT, MANNER,
            ),
        ),
        Sentence(
            "count",
            "counting under the notes",
            "Write {system} under the notes of {bars}.",
            "In {part}, {voice}.",
            (
                Blank("system", "the way of counting", COUNT.words[1:], usual="numbers"),
                PART, VOICE, BARS,
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
                BARS,
                Blank(
                    "remarks", "whether what is no fault but odd is put right too",
                    (("false", "leave what is only odd"), ("true", "put right what is only odd")),
                    usual="false", kind="truth",
                ),
                MANNER,
            ),
        ),
        Sentence(
            "faircopy",
            "a fair copy",
            "Write {bars} out afresh, {manner}, {keep}.",
            "In {part}, {voice}.",
            (
                BARS, PART, VOICE,
                replace(MANNER, words=tuple(reversed(MANNER.words)), usual="house"),
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
            (BARS, PART, VOICE),
        ),
    )
}  # fmt: skip
"""Every verb that makes a score of a score, by its name."""
