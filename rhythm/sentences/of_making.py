"""The sentences of what else is made of a score: a sheet, sound, a page, a list of faults."""

from __future__ import annotations

from rhythm.sentences.blank import BARS, COUNT, MANNER, PART, VOICE, Blank, Sentence

__all__ = ["MADE"]

_SYSTEMS = COUNT.words[1:]
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
                COUNT,
                Blank(
                    "only", "with the pitches of the theme, or on one line",
                    (("", "with its notes"), ("rhythm", "rhythm alone")),
                ),
                PART, VOICE,
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
                MANNER,
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
                BARS,
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
                PART, VOICE,
            ),
        ),
        Sentence(
            "page",
            "a page",
            "Show {bars} and name places in {count}.",
            "Show {part}, {voice}. Call the page {title}.",
            (
                BARS,
                Blank("count", "the way of counting in which places are named",
                      _SYSTEMS, usual="numbers"),
                PART, VOICE,
                Blank("title", "the title of the page", (("", "after the score"),), free=True),
            ),
        ),
        Sentence(
            "check",
            "bars that add up",
            "Hold {bars} against {against}.",
            "Look at {part}, {voice}.",
            (
                BARS,
                Blank("against", "the metres that were planned, in turn, such as 7/8 7/8 5/8",
                      (("", "their signatures"),), free=True, example="7/8 7/8 5/8"),
                PART, VOICE,
            ),
        ),
    )
}  # fmt: skip
"""What makes something else of a score: a sheet, guises, sound, a page, a list of faults."""
