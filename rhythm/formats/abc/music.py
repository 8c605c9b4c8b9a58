"""From the lines of a tune to what its voices hold: notes, rests, bar lines, changes, signs."""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass, field

from gmpy2 import mpq

from rhythm.exact.errors import FileError
from rhythm.formats.abc.book import Tune

__all__ = ["Item", "Music", "Voice", "metre_length", "music_of"]

_LENGTH = r"(\d*)(/*)(\d*)"
_PITCH = r"[_^=]*[A-Ga-g][,']*"
_TOKEN = re.compile(
    r'(?P<quoted>"[^"]*"?)'
    r"|(?P<sign>![^!\s]*!|\+[a-zA-Z(),.\d]+\+)"
    r"|(?P<grace>\{[^}]*\}?)"
    r"|\[(?P<field>[A-Za-z]:[^\]]*)\]"
    r"|(?P<bar>:*\|[|\]:]*|::+|\[\||\[(?=\s*\d))(?P<ending>\s*\d[\d,-]*)?"
    r"|(?P<tuplet>\(\d(?::\d?){0,2})"
    rf"|(?P<letters>[.~HLMOPSTuv]*)(?:\[(?P<chord>[^\]|]*)\]|(?P<note>{_PITCH}|[zx])){_LENGTH}"
    r"|(?P<bars>[ZX])(?P<count>\d*)"
    r"|(?P<broken>[<>]+)|(?P<tie>-)|(?P<open>\()|(?P<close>\))|(?P<overlay>&)"
    r"|(?P<space>\s+|y\d*|`)"
)
_MEMBER = re.compile(rf"({_PITCH}){_LENGTH}(-?)")
_FIELD = re.compile(r"([A-Za-z]):\s*(.*)")
_LONGEST = mpq(256)  # whole notes; no note or rest is longer
_MOST_BARS = 999  # of rest in one sign
_TUPLETS = {2: 3, 3: 2, 4: 3, 6: 2, 8: 3}  # in the time of how many (4.13); others by the metre
_LETTERS = {
    ".": "staccato", "~": "roll", "H": "fermata", "L": "accent", "M": "lowermordent",
    "O": "coda", "P": "uppermordent", "S": "segno", "T": "trill", "u": "upbow", "v": "downbow",
}  # fmt: skip


@dataclass(slots=True)
class Item:
    """Something in a voice.

    ``kind`` is ``note`` (``pitches`` as written; none makes a rest), ``bar``, ``K``, ``M``, ``Q``,
    ``words``, ``symbol``, ``sign`` (between notes), ``overlay`` or ``line``. ``length`` is the
    written length in whole notes, which ``ratio`` shortens where the note stands in a tuplet.
    """

    kind: str
    text: str = ""
    pitches: tuple[str, ...] = ()
    length: mpq = field(default_factory=mpq)
    ratio: tuple[int, int] = (1, 1)
    opens: bool = False  # a tuplet begins
    closes: bool = False  # a tuplet ends
    hidden: bool = False
    whole_bar: bool = False
    graces: tuple[str, ...] = ()
    signs: list[str] = field(default_factory=list)
    tied: list[str] = field(default_factory=list)  # pitches that a tie leads on from
    slurs: int = 0  # that begin
    ends: int = 0  # that end
    beamed: bool = False  # no space before the next note
    ending: str = ""
    syllables: list[tuple[str, str, str]] = field(default_factory=list)  # verse, how, text


@dataclass(slots=True)
class Voice:
    """One voice: its name and its items."""

    name: str
    items: list[Item] = field(default_factory=list)
    # What the next note takes along, and where reading stands.
    signs: list[str] = field(default_factory=list)
    graces: tuple[str, ...] = ()
    slurs: int = 0
    left: int = 0
    ratio: tuple[int, int] = (1, 1)
    opening: bool = False
    waiting: mpq | None = None
    line: list[Item] = field(default_factory=list)  # the notes of the latest line of music
    verse: int = 0


@dataclass(slots=True)
class Music:
    """A tune read: its head (field letter to values), its voices, what was left out."""

    head: dict[str, list[str]]
    voices: dict[str, Voice]
    lost: Counter[str]
    metre: mpq
    unit: mpq


def metre_length(text: str) -> mpq:
    """The length of a bar (3.1.6); a whole note where no metre is given."""
    found = re.search(r"(\d[\d+() ]{0,20}?)/\s*(\d{1,4})(?!\d)", text)
    if found is None or not int(found[2]):
        return mpq(1)
    counts = [int(each) for each in re.findall(r"\d{1,4}", found[1])]
    return mpq(sum(counts), int(found[2])) or mpq(1)


def music_of(tune: Tune) -> Music:
    """What a tune holds. Raises FileError for a length that no note has."""
    music = Music({}, {}, Counter(), mpq(1), mpq(1, 8))
    voice: Voice | None = None
    in_body = False
    for raw in tune.lines:
        line = re.sub(r"(?<!\\)%.*", "", raw).rstrip()
        found = _FIELD.match(line) if line[1:2] == ":" else None
        if found and line[0] not in "|[":
            name, value = found[1], found[2].strip()
            if not in_body:
                music.head.setdefault(name, []).append(value)
                if name == "K":
                    in_body = True
                    music.metre = metre_length(music.head.get("M", [""])[-1])
                    music.unit = _unit(music.head.get("L", [""])[-1], music.metre)
                continue
            voice = _field(music, voice, name, value)
        elif in_body and line.strip():
            voice = _line(music, voice, line.rstrip("\\"))
            if voice is not None and not line.endswith("\\"):
                voice.items.append(Item("line"))
    for each in music.voices.values():
        _settle_ties([item for item in each.items if item.kind == "note"])
    return music


def _settle_ties(notes: list[Item]) -> None:
    """A tie to the same pitch stays one; to another it is meant as a slur, as old books write."""
    for note, after in zip(notes, [*notes[1:], Item("note")], strict=True):
        if not note.tied:
            continue
        places = {pitch.lstrip("_^=") for pitch in after.pitches}
        held = [pitch for pitch in note.tied if pitch.lstrip("_^=") in places]
        if not held and after.pitches:
            note.slurs += 1
            after.ends += 1
        note.tied = held


def _unit(text: str, metre: mpq) -> mpq:
    """The unit length said, or else the usual one for the metre (3.1.7)."""
    found = re.match(r"\s*1\s*/\s*(\d{1,4})\s*$", text)
    if found and int(found[1]):
        return mpq(1, int(found[1]))
    return mpq(1) if text.strip() == "1" else mpq(1, 16) if metre < mpq(3, 4) else mpq(1, 8)


def _voice(music: Music, name: str) -> Voice:
    return music.voices.setdefault(name, Voice(name))


def _field(music: Music, voice: Voice | None, name: str, value: str) -> Voice | None:
    """A field in the body, on a line of its own or in brackets (3.2)."""
    if name == "V":
        return _voice(music, value.split()[0] if value.split() else "")
    if name == "L":
        music.unit = _unit(value, music.metre)
    elif name == "w":
        if voice is not None:
            _align(voice, value)
    elif name in "KMQP":
        if name == "M":
            music.metre = metre_length(value)
        # Before any note of any voice a change is meant for all; later for its own voice.
        voice = voice or _voice(music, "")
        voice.items.append(Item(name, value))
    elif name == "W":
        music.lost["words below the tune"] += 1
    elif name == "s":
        music.lost["signs"] += 1
    return voice


def _line(music: Music, voice: Voice | None, line: str) -> Voice | None:
    """A line of music; fields in it may lead to another voice."""
    at = 0
    fresh: set[str] = set()
    while at < len(line):
        found = _TOKEN.match(line, at)
        if found is None:
            at += 1  # what means nothing
            continue
        at = found.end()
        if found["field"]:
            name, value = found["field"].split(":", 1)
            voice = _field(music, voice, name, value.strip())
            continue
        voice = voice or _voice(music, "")
        if voice.name not in fresh:
            fresh.add(voice.name)
            voice.line, voice.verse = [], 0
            _unbeam(voice)
        _take(music, voice, found)
    return voice


def _unbeam(voice: Voice) -> None:
    last = _last_note(voice)
    if last is not None:
        last.beamed = False


def _last_note(voice: Voice) -> Item | None:
    return next((each for each in reversed(voice.items) if each.kind == "note"), None)


def _take(music: Music, voice: Voice, found: re.Match[str]) -> None:
    text = found[0]
    if found["note"] or found["chord"] is not None:
        _note(music, voice, found)
    elif found["quoted"]:
        inner = text.strip('"').strip()
        if inner[:1] in ("^", "_", "<", ">", "@"):
            voice.items.append(Item("words", inner.lstrip("^_<>@ 0123456789.,-") or inner))
        elif re.match(r"[A-G]", inner):
            voice.items.append(Item("symbol", inner))
        elif inner:
            voice.items.append(Item("words", inner))
    elif found["sign"]:
        voice.signs.append(text.strip("!+"))
    elif found["grace"]:
        voice.graces = tuple(member[1] for member in _MEMBER.finditer(text))
    elif found["bar"]:
        _unbeam(voice)
        voice.items.append(Item("bar", found["bar"], ending=(found["ending"] or "").strip()))
    elif found["tuplet"]:
        _tuplet(music, voice, text)
    elif found["bars"]:
        count = min(int(found["count"] or 1), _MOST_BARS) if len(found["count"]) < 9 else _MOST_BARS
        for index in range(count):
            hidden = found["bars"] == "X"
            rest = Item("note", length=music.metre, hidden=hidden, whole_bar=True)
            voice.items.append(rest)
            if index + 1 < count:
                voice.items.append(Item("bar", "|"))
    elif found["broken"]:
        _break(voice, text)
    elif found["tie"]:
        last = _last_note(voice)
        if last is not None and last.pitches:
            last.tied = list(last.pitches)
    elif found["open"]:
        voice.slurs += 1
    elif found["close"]:
        last = _last_note(voice)
        if last is not None:
            last.ends += 1
    elif found["overlay"]:
        _unbeam(voice)
        voice.items.append(Item("overlay"))
    elif text != "`":
        _unbeam(voice)


def _tuplet(music: Music, voice: Voice, text: str) -> None:
    """``(p:q:r``: p notes in the time of q for the next r (4.13)."""
    numbers = [int(each) if each else 0 for each in text[1:].split(":")] + [0, 0]
    p, q, r = numbers[:3]
    if not p:
        return
    compound = music.metre.denominator <= 8 and music.metre in (
        mpq(3, 8), mpq(6, 8), mpq(9, 8), mpq(12, 8)
    )  # fmt: skip
    q = q or _TUPLETS.get(p) or (3 if compound else 2)
    voice.ratio, voice.left, voice.opening = (p, q), r or p, True


def _break(voice: Voice, text: str) -> None:
    """Broken rhythm: the note before takes from the one behind, or the reverse (4.4)."""
    last = _last_note(voice)
    if last is None:
        return
    short = mpq(1, 2 ** min(len(text), 4))
    own, voice.waiting = (2 - short, short) if text[0] == ">" else (short, 2 - short)
    last.length *= own
    last.beamed = True


def _note(music: Music, voice: Voice, found: re.Match[str]) -> None:
    at = found.re.groupindex["note"]
    length = _length(*found.groups()[at : at + 3]) * music.unit
    item = Item("note")
    if found["chord"] is not None:
        members = list(_MEMBER.finditer(found["chord"]))
        if not members:
            if re.search("[zx]", found["chord"]):
                members = []
            else:
                return
        item.pitches = tuple(member[1] for member in members)
        item.tied = [member[1] for member in members if member[5]]
        if members:
            length *= _length(*members[0].groups()[1:4])
    elif found["note"] in ("z", "x"):
        item.hidden = found["note"] == "x"
    else:
        item.pitches = (found["note"],)
    if voice.waiting is not None:
        length *= voice.waiting
        voice.waiting = None
    if not 0 < length <= _LONGEST:
        raise FileError(
            f"a note or rest of {length} whole notes", legal=f"above 0 and at most {_LONGEST}"
        )
    item.length = length
    item.signs = [*voice.signs, *(_LETTERS[letter] for letter in found["letters"] or "")]
    item.graces, item.slurs = voice.graces, voice.slurs
    voice.signs, voice.graces, voice.slurs = [], (), 0
    if voice.left:
        item.ratio, item.opens = voice.ratio, voice.opening
        voice.left -= 1
        voice.opening, item.closes = False, not voice.left
    item.beamed = True  # until a space or a bar line parts it from the next
    voice.items.append(item)
    voice.line.append(item)


def _length(number: str, strokes: str, below: str) -> mpq:
    """A length in units (4.3): ``3``, ``/``, ``//``, ``3/2``."""
    if max(len(number), len(below), len(strokes)) > 9:
        raise FileError(
            f"a length of {(number + strokes + below)[:20]}", legal="at most nine digits"
        )
    top = mpq(int(number)) if number else mpq(1)
    if not strokes:
        return top
    return top / ((int(below) or 1) if below else 2 ** len(strokes))


def _align(voice: Voice, text: str) -> None:
    """Give a line of words to the notes of the line of music before it (5.1)."""
    voice.verse += 1
    verse = str(voice.verse)
    notes = iter([item for item in voice.line if item.pitches])
    parts = re.findall(r"\\-|[^\s\-_*|]+|[-_*|]|\s+", text.replace("\\-", "\u2011"))
    joined = False
    for index, part in enumerate(parts):
        if part.isspace() or part == "|":
            continue
        if part == "-":
            if index and parts[index - 1] in ("-",):
                next(notes, None)
            continue
        note = next(notes, None)
        if note is None:
            return
        if part in ("_", "*"):
            continue
        follows = next((each for each in parts[index + 1 :] if not each.isspace()), "")
        goes_on = follows == "-" and index + 1 < len(parts) and parts[index + 1] == "-"
        how = {(False, False): "single", (False, True): "begin", (True, True): "middle"}.get(
            (joined, goes_on), "end"
        )
        note.syllables.append((verse, how, part.replace("~", " ").replace("\u2011", "-")))
        joined = goes_on
