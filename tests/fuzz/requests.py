"""What is asked of a mutant: every command, with options that are legal and some that are not."""

from __future__ import annotations

from dataclasses import dataclass
from random import Random

__all__ = ["KEEPING", "Request", "request"]

_METRES = ("3/4", "4/4", "6/8", "12/8", "5/8", "7/8", "2+2+3/8", "2/2", "1/4", "11/16", "7/8 5/8")
_TARGETS = (*_METRES, "compound", "simple", "triplets", "duplets", "4/4:12/8,3/4:9/8")
_ODD = ("", "0/4", "4/0", "4/3", "-3/4", "1/999999999", "99999999/4", "x", "³/4", "4/4*0", "nan")
_VALUES = ("1/4", "1/8", "1/16", "1/12", "dotted quarter", "3/8", "1/7", "0", "-1/8", "1/100000")
_DEVICES = (
    "augmentation", "augmentation:3/2", "diminution:2", "diminution:7/5", "retrograde",
    "retrograde:rhythm", "retrograde:pitch", "palindrome", "displacement:1/8", "displacement:-1/16",
    "rotation", "rotation:3", "isorhythm:1/4,1/8,1/8", "isorhythm:1/4,3/8 full", "added-value:1/16",
    "hemiola", "dotting", "overdotting", "swing", "swing:3:2", "straightening", "syncopation",
    "embellishment", "embellishment:3", "reduction", "reduction:1/4", "resultant:3:2",
    "euclidean:3:8", "euclidean:5:16 1/16", "permutation:2,1", "grouping-shift:3+3+2",
    "augmentation:0", "augmentation:1/99991", "isorhythm:0", "euclidean:9:2", "nothing",
    "rotation:x",
)  # fmt: skip
_BARS = ("1", "2", "1-2", "2-3", "1-999", "3-1", "0", "X1", "", "1,2", "-1", "9" * 30)
_COUNTS = ("numbers", "takadimi", "gordon", "kodaly")

KEEPING = frozenset({"restate", "rebar", "faircopy", "mend", "group"})
"""Verbs that keep every note, with whatever options are asked for here, but for a passage alone."""

_WEIGHTS = {
    "restate": 20, "rebar": 11, "group": 7, "tuplet": 9, "vary": 16, "check": 10, "mend": 9,
    "faircopy": 8, "exercises": 5, "midi": 4, "manner": 2, "page": 3, "guises": 1, "follow": 2,
    "reckon": 1, "many": 3, "stdin": 2, "help": 1,
}  # fmt: skip

_CHAIN = '[[step]]\nverb = "restate"\nto = "compound"\n[[step]]\nverb = "rebar"\nto = "3/4"\n'


@dataclass(frozen=True, slots=True)
class Request:
    """The words of a command, and what it is expected to leave."""

    words: tuple[str, ...]
    out: str = ""
    extra: tuple[tuple[str, bytes], ...] = ()
    stdin: bool = False

    @property
    def verb(self) -> str:
        """The command's name."""
        return self.words[0]

    @property
    def keeps_notes(self) -> bool:
        """Whether every note must come out again."""
        return self.verb in KEEPING and "alone" not in self.words


def request(name: str, other: str, chance: Random) -> Request:
    """Something to ask of the score called ``name``; ``other`` is another score beside it."""
    verb = chance.choices(list(_WEIGHTS), list(_WEIGHTS.values()))[0]
    if verb == "many":
        return _many(name, other, chance)
    if verb == "stdin":
        told = _options("restate", chance)
        return Request(("restate", "-", *told, "-o", "out.musicxml"), "out.musicxml", stdin=True)
    if verb == "help":
        return Request((chance.choice((name, "help", "restat", "--", "-", "check\x1b[1m")), name))
    if verb == "reckon":
        return Request(("reckon", _sum(chance), *_pick(chance, ["--in", chance.choice(_METRES)])))
    if verb in ("check", "manner"):
        return Request((verb, name, *_options(verb, chance)))
    if verb == "follow":
        return Request(("follow", "chain.toml", name, "-o", "out.musicxml"), "out.musicxml",
                       (("chain.toml", _CHAIN.encode()),))  # fmt: skip
    ending = _ending(verb, chance)
    words = [verb, name, *_options(verb, chance)]
    if ending:
        words += ["-o", f"out{ending}"]
    return Request(tuple(words), f"out{ending}" if ending else "")


def _ending(verb: str, chance: Random) -> str:
    if verb == "midi":
        return ".mid"
    if verb == "page":
        return chance.choice((".svg", ".html", ".pdf"))
    if verb == "guises":
        return ".html"
    if verb == "exercises":
        return chance.choices((".musicxml", ".html"), (12, 1))[0]
    return chance.choices((".musicxml", ".mxl", ".mid", ".html", ".pdf", ""), (60, 8, 2, 1, 1, 2))[
        0
    ]


def _pick(chance: Random, *options: list[str], odds: float = 0.35) -> list[str]:
    return [word for option in options if chance.random() < odds for word in option]


def _metre(chance: Random, choices: tuple[str, ...] = _METRES) -> str:
    return chance.choice(_ODD) if chance.random() < 0.05 else chance.choice(choices)


def _options(verb: str, chance: Random) -> list[str]:
    bars = _pick(chance, ["--bars", chance.choice(_BARS)], odds=0.15)
    part = _pick(
        chance,
        ["--part", chance.choice(("P1", "P2", "Music", "nobody", "\x1b"))],
        ["--voice", chance.choice(("1", "2", "9"))],
        odds=0.08,
    )
    said = _pick(chance, ["--json"], ["-q"], odds=0.08)
    count = _pick(chance, ["--count", chance.choice(_COUNTS)], odds=0.15)
    manner = _pick(chance, ["--manner", chance.choice(("house", "source"))], odds=0.1)
    if verb == "restate":
        more = _pick(
            chance,
            ["--by", chance.choice(("bar", "beat"))],
            ["--lilt", chance.choice(("iamb", "even", "3:2", "trochee", "1:0", "7:1"))],
            ["--fit", chance.choice(("exact", "idiomatic"))],
            ["--tempo", "value"],
            odds=0.2,
        )
        if bars and chance.random() < 0.5:
            bars += ["--place", chance.choice(("alone", "append", "here"))]
        if chance.random() < 0.05:
            more += ["--map", chance.choice(("1/8=1/4, 1/4=3/8", "0=0", "1/4=1/8,1/8=1/4", "x"))]
        return ["--to", _metre(chance, _TARGETS), *more, *bars, *said, *count, *manner]
    if verb == "rebar":
        more = _pick(chance, ["--strict"], ["--no-complete"], odds=0.2)
        return ["--to", _metre(chance), *more, *bars, *said, *manner]
    if verb == "group":
        groups = ["--groups", chance.choice(("3+3+2", "5", "3", "2+3", "0", "99999", "1+1"))]
        unit = ["--unit", chance.choice(_VALUES)]
        show = ["--show", chance.choice(("beams", "accents", "metre"))]
        return [*_pick(chance, groups, unit, odds=0.5), *show, *bars, *said, *manner]
    if verb == "tuplet":
        return [*_tuplet(chance), *bars, *said, *manner]
    if verb == "vary":
        devices = chance.choices(_DEVICES, k=chance.choice((1, 1, 1, 2, 3)))
        told = [word for device in devices for word in ("--device", device)]
        return [*told, *bars, *part, *said, *count, *manner]
    if verb == "check":
        more = _pick(chance, ["--rows"], ["--remarks"], ["--against", _metre(chance)], odds=0.2)
        return [*more, *bars, *part, *said]
    if verb == "mend":
        way = _pick(chance, ["--rests"], odds=0.3) or _pick(chance, ["--metre"], odds=0.4)
        return [*way, *_pick(chance, ["--remarks"], ["--all"], odds=0.2), *bars, *said]
    if verb == "faircopy":
        return [*_pick(chance, ["--keep"]), *manner, *said]
    if verb == "exercises":
        more = ["--most", chance.choice(("2", "4"))]
        more += _pick(
            chance,
            ["--only", "rhythm"],
            ["--key", "key.musicxml"],
            ["--levels", chance.choice(("2-4", "9-1", "x"))],
            odds=0.2,
        )
        return [*more, *bars, *part, *count, *said]
    if verb == "midi":
        more = _pick(
            chance,
            ["--click"],
            ["--count-in", chance.choice(("1", "8", "-1"))],
            ["--speed", chance.choice(("10%", "400%", "0%"))],
            ["--no-repeats"],
        )
        return [*more, *bars, *part]
    if verb == "page":
        return [*bars, *part, *_pick(chance, ["--title", "a<b>&\x07"], odds=0.2)]
    if verb == "guises":
        return ["--most", "4", *said]
    return []


def _tuplet(chance: Random) -> list[str]:
    way = chance.randrange(3)
    if way == 0:
        ratio = chance.choice(("3:2", "5:4", "7:8", "2:3", "13:11", "99991:99989", "0:1", "1:1"))
        return ["--ratio", ratio, *_pick(chance, ["--unit", chance.choice(_VALUES)])]
    if way == 1:
        parts = chance.choice(("2", "3", "5", "0", "100000"))
        return ["--split", parts, "--span", chance.choice(_VALUES)]
    return ["--dissolve", chance.choice(("written", "halved"))]


def _sum(chance: Random) -> str:
    bits = ("1/4", "24*1/32", "dotted quarter", "(", ")", "+", "-", "*", "/", "7", "how many", "in",
            "9" * 400, "eighths", "**", "1/0", "3/4", "does", "fit")  # fmt: skip
    return " ".join(chance.choices(bits, k=chance.randint(1, 8)))


def _many(name: str, other: str, chance: Random) -> Request:
    verb = chance.choice(("restate", "check", "faircopy", "vary", "mend"))
    words = [verb, name, other, *_options(verb, chance)]
    if verb != "check":
        words += ["-o", "made/"]
    return Request(tuple(words))
