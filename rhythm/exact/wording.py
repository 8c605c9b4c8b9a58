"""The words and signs in which musicians speak of note values, and how they are told apart.

Conventions
-----------
A text becomes tokens: numbers, fractions and mixed numbers (``3``, ``1/32``, ``1 1/2``), words that
are parts of a value's name (one token a word), signatures (after ``bar of``, or additive ones),
and signs. Articles and ``note`` are left out. Note symbols (♩ ♪ 𝅗𝅥 with dots) read as names.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from difflib import get_close_matches

from rhythm.exact.errors import RequestError
from rhythm.exact.frozen import dataclass
from rhythm.exact.values import NOTE_VALUES, TUPLET_NAMES

__all__ = ["SIGNATURE", "WORD", "WORDS", "Token", "nearest", "tokens_of", "unclear", "with_words"]

_DIGITS = 12  # of one number

SIGNATURE = r"\d+(?:\s*\+\s*\d+)*\s*/\s*\d+(?:\s*\+\s*\d+(?:\s*\+\s*\d+)*\s*/\s*\d+)*"
"""A time signature with numbers, additive ones included: ``4/4``, ``3+3+2/8``, ``3/4+3/8``."""

_COUNTS = ("one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven",
           "twelve", "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen",
           "nineteen", "twenty")  # fmt: skip
_NUMBER_WORDS = {word: str(i) for i, word in enumerate(_COUNTS, 1)} | {
    "thirty": "30", "forty": "40", "fifty": "50", "sixty": "60", "hundred": "100",
    "twice": "2", "thrice": "3",
    "third": "1/3", "thirds": "1/3", "fifth": "1/5", "fifths": "1/5", "tenth": "1/10",
}  # fmt: skip
_PLURALS = {"halves": "half", "breves": "breve", "longs": "long", "maximas": "maxima"}
_SYMBOLS = {
    "\U0001d15c": "breve", "\U0001d15d": "whole", "\U0001d15e": "half", "\U0001d15f": "quarter",
    "\U0001d160": "eighth", "\U0001d161": "sixteenth", "\U0001d162": "thirty-second",
    "\U0001d163": "sixty-fourth", "♩": "quarter", "♪": "eighth",
}  # fmt: skip
_SYMBOL = re.compile(
    "(?P<body>[\U0001d157\U0001d158]\U0001d165[\U0001d16e-\U0001d172]?|["
    + "".join(_SYMBOLS)
    + "])(?P<dots>[.\U0001d16d]*)"
)
_COMPOSED = {  # heads with stems and flags, as some keyboards write them
    "\U0001d157\U0001d165": "half", "\U0001d158\U0001d165": "quarter",
    "\U0001d158\U0001d165\U0001d16e": "eighth", "\U0001d158\U0001d165\U0001d16f": "sixteenth",
    "\U0001d158\U0001d165\U0001d170": "thirty-second",
    "\U0001d158\U0001d165\U0001d171": "sixty-fourth",
}  # fmt: skip
_DOTTED = ("", "dotted ", "double dotted ", "triple dotted ")
_FIVE = "".join(["⅛", "¼", "⅜", "½", "⅝", "¾", "⅞", "⅓", "⅔"])
_VULGAR = dict(zip(_FIVE, ("1/8", "1/4", "3/8", "1/2", "5/8", "3/4", "7/8", "1/3", "2/3"),
                   strict=True))  # fmt: skip
_PART = {"half": "1/2", "third": "1/3", "quarter": "1/4", "fifth": "1/5", "eighth": "1/8"}
_MANY = "|".join(_COUNTS)
_REWRITTEN: tuple[tuple[re.Pattern[str], str | Callable[[re.Match[str]], str]], ...] = (
    (re.compile(r"\b(?:tied (?:on )?to|tied with|followed by|joined to|together with)\b"), "+"),
    (re.compile(r"\b(?:take away|less)\b"), "-"),
    (re.compile(r"\bmeasures?\b"), lambda found: found[0].replace("measure", "bar")),
    (re.compile(r"\bcrochet(?=s?\b)"), "crotchet"),
    (
        re.compile(rf"\b({_MANY}) (thirds|quarters|fifths|eighths) of\b"),
        lambda found: f"{_NUMBER_WORDS[found[1]]} * {_PART[found[2][:-1]]} of",
    ),
    (re.compile(r"\btwice as long as\b"), "2 *"),
    (re.compile(r"\bhalf as long as\b"), "1/2 *"),
    (re.compile(r"\b(\w+) times as long as\b"), r"\1 *"),
    (re.compile(r"\b(?:twice|double) (?=(?:an?|the|one)\b)"), "2 * "),
    (re.compile(r"\b(half|third) (?=(?:an?|the)\b)"), r"\1 of "),
    (re.compile(r"\b(thirty|sixty) (?=(?:seconds?|fourths?)\b)"), r"\1-"),
    (re.compile(r"\bdemi-semi-?quaver"), "demisemiquaver"),
    (re.compile(r"\bsemi-quaver"), "semiquaver"),
    (re.compile(r"\bhemi-demi-semi-?quaver"), "hemidemisemiquaver"),
    (re.compile(r"(?<=[a-z0-9])[- ](?:notes?|rests?)\b"), ""),
)
_AND_A_PART = re.compile(r"\b(\w+) and an? (half|third|quarter|fifth|eighth)(?= (?!of\b)[a-z])")
_BAR_OF = re.compile(rf"\bbars? (?:of|in) (?P<metre>{SIGNATURE})(?![\d/])", re.ASCII)
_ADDITIVE = re.compile(r"(?<![\d/+(*.<])\d+(?:\+\d+)+/\d+(?![\d/+])", re.ASCII)
_ARTICLES = frozenset({"a", "an", "the"})

_TOKEN = re.compile(
    r"\s*(?:(?P<number>\d+/\d+|\d+(?:\.\d+)?)|(?P<bar>bars?\s+of\b)"
    r"|(?P<word>[A-Za-z]+(?:-[A-Za-z]+)*)"
    r"|(?P<metre><[^>]*>)"
    r"|(?P<sign>[-+*/:×·()−,;]))",
    re.ASCII,
)
_ORDINAL = re.compile(r"\s*(?P<ordinal>\d+(?:st|nd|rd|th))s?\b", re.ASCII)
_SIGNS = {
    "plus": "+", "and": "+", "with": "+", "then": "+", ",": "+", ";": "+", "minus": "-",
    "without": "-", "−": "-", "times": "*", "x": "*", "×": "*", "·": "*", "of": "of",
}  # fmt: skip

WORD = "(?:" + "|".join(sorted(
    {re.escape(word) for row in NOTE_VALUES for name in (row.type, row.name, *row.others)
     for word in name.split()} | {"dotted", "double", "triple", *TUPLET_NAMES},
    key=len, reverse=True,
)) + ")"  # fmt: skip
"""One of those words, as a pattern."""

WORDS = tuple(
    sorted(
        {word for row in NOTE_VALUES for name in (row.type, row.name, *row.others)
         for word in name.split()}
        | {"dotted", "double", "triple", *TUPLET_NAMES}
    )
)  # fmt: skip
"""Every word that is part of a note value's name."""


@dataclass(frozen=True, slots=True)
class Token:
    """``kind`` is number, name, length (a signature), sign, ( or end."""

    kind: str
    text: str
    at: int


def unclear(text: str, what: str, legal: str = "") -> RequestError:
    """The error for a sum that cannot be read: one line that says what is wrong with it."""
    shown = text if len(text) <= 60 else text[:57] + "..."
    return RequestError(
        f"cannot reckon {shown!r}: {what}",
        legal=legal
        or "numbers, fractions, note values by name, + - * / and brackets are understood",
    )


def nearest(words: list[str], known: tuple[str, ...] = WORDS) -> str:
    """``did you mean ...`` for the first word that is none of those known, or nothing."""
    for word in words:
        if word not in known:
            close = get_close_matches(word, known, 1, cutoff=0.7)
            if close:
                return f"did you mean {close[0]}?"
    return ""


def with_words(text: str) -> str:
    """The text in lower case, with symbols, fractions as one sign and turns of speech spelled out.

    Signatures behind ``bar of`` and additive ones come out between angle brackets.
    """

    def named(match: re.Match[str]) -> str:
        body = match["body"]
        name = _SYMBOLS.get(body) or _COMPOSED[body]
        return f" {_DOTTED[min(len(match['dots']), 3)]}{name} "

    text = _SYMBOL.sub(named, text).lower().replace("<", " ").replace(">", " ")
    for sign, fraction in _VULGAR.items():
        text = text.replace(sign, f" {fraction} ")
    text = _BAR_OF.sub(lambda found: f"bar of <{found['metre'].replace(' ', '')}>", text)
    text = _ADDITIVE.sub(lambda found: f"<{found.group()}>", text)
    for pattern, instead in _REWRITTEN:
        text = pattern.sub(instead, text)
    return _AND_A_PART.sub(_mixed, text)


def _mixed(match: re.Match[str]) -> str:
    """``one and a half quarters``: one number."""
    whole = _NUMBER_WORDS.get(match[1], match[1])
    if not whole.isdigit():
        return match.group()
    return f"{whole} {_PART[match[2]]}"


def tokens_of(text: str) -> list[Token]:
    """The tokens of a sum, closed by one of kind ``end``.

    Raises RequestError for a sign that is none, and for numbers of too many digits.
    """
    spoken = with_words(text)
    found: list[Token] = []
    at = 0
    end = len(spoken.rstrip())
    while at < end:
        match = _ORDINAL.match(spoken, at) or _TOKEN.match(spoken, at)
        if match is None:
            raise unclear(text, f"{spoken[at:].split()[0]!r}")
        token = _token(text, match)
        if token is not None:
            found.append(token)
        at = match.end()
    found.append(Token("end", "", end))
    return _with_mixed_numbers(found)


def _token(text: str, match: re.Match[str]) -> Token | None:
    said = match.group().strip()
    start = match.start()
    groups = match.groupdict()
    if groups.get("ordinal"):
        return Token("name", groups["ordinal"], start)
    if groups["number"]:
        if sum(map(str.isdigit, said)) > 2 * _DIGITS:
            raise unclear(text, f"a number of more than {_DIGITS} digits")
        return Token("number", said, start)
    if groups["bar"]:
        return Token("bar", "bar of", start)
    if groups["metre"]:
        return Token("length", said[1:-1], start)
    if said in _NUMBER_WORDS:
        return Token("number", _NUMBER_WORDS[said], start)
    if said in _ARTICLES:
        return None
    if said == "(":
        return Token("(", said, start)
    if said in _SIGNS or groups["sign"]:
        return Token("sign", _SIGNS.get(said, said), start)
    return Token("name", _singular(said), start)


def _singular(word: str) -> str:
    if word in _PLURALS:
        return _PLURALS[word]
    return word[:-1] if word.endswith("s") and len(word) > 2 else word


def _with_mixed_numbers(tokens: list[Token]) -> list[Token]:
    """``1 1/2`` before a value is one number; ``bar of`` multiplies by the number before it."""
    found: list[Token] = []
    for i, token in enumerate(tokens):
        last = found[-1] if found else None
        if token.kind == "bar":
            if last is not None and last.kind == "number":
                found.append(Token("sign", "*", token.at))
        elif (
            last is not None
            and last.kind == token.kind == "number"
            and last.text.isdigit()
            and _below_one(token.text)
            and tokens[i + 1].kind in ("name", "bar", "(")
        ):
            found[-1] = Token("number", f"{last.text} {token.text}", last.at)
        else:
            found.append(token)
    return found


def _below_one(text: str) -> bool:
    top, slash, bottom = text.partition("/")
    return bool(slash) and int(top) < int(bottom)
