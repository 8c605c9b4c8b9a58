"""What stands about the notes of a tune: keys, tempo, chord symbols, signs by name or letter."""

from __future__ import annotations

import re
from collections import Counter

from gmpy2 import mpq
from lxml import etree

from rhythm.exact.values import NOTE_TYPES

__all__ = ["add_harmony", "add_note_signs", "add_tempo", "direction", "key_of"]

Element = etree._Element
_FIFTHS = {"C": 0, "G": 1, "D": 2, "A": 3, "E": 4, "B": 5, "F": -1}
_MODES = {
    "maj": (0, "major"), "ion": (0, "ionian"), "m": (-3, "minor"), "min": (-3, "minor"),
    "aeo": (-3, "aeolian"), "mix": (-1, "mixolydian"), "dor": (-2, "dorian"),
    "phr": (-4, "phrygian"), "lyd": (1, "lydian"), "loc": (-5, "locrian"),
}  # fmt: skip
_KINDS = {
    "": "major", "maj": "major", "m": "minor", "min": "minor", "-": "minor", "7": "dominant",
    "m7": "minor-seventh", "min7": "minor-seventh", "maj7": "major-seventh", "dim": "diminished",
    "o": "diminished", "dim7": "diminished-seventh", "aug": "augmented", "+": "augmented",
    "6": "major-sixth", "m6": "minor-sixth", "9": "dominant-ninth", "m9": "minor-ninth",
    "sus4": "suspended-fourth", "sus": "suspended-fourth", "sus2": "suspended-second",
}  # fmt: skip
_ARTICULATIONS = {
    "staccato": "staccato", "accent": "accent", ">": "accent", "emphasis": "accent",
    "tenuto": "tenuto", "wedge": "staccatissimo", "breath": "breath-mark",
    "marcato": "strong-accent", "^": "strong-accent",
}  # fmt: skip
_ORNAMENTS = {
    "trill": "trill-mark", "roll": "turn", "turn": "turn", "invertedturn": "inverted-turn",
    "lowermordent": "mordent", "mordent": "mordent", "uppermordent": "inverted-mordent",
    "pralltriller": "inverted-mordent",
}  # fmt: skip
_TECHNICAL = {
    "upbow": "up-bow",
    "downbow": "down-bow",
    "open": "open-string",
    "snap": "snap-pizzicato",
}
_DYNAMICS = frozenset(["p", "pp", "ppp", "pppp", "f", "ff", "fff", "ffff", "mp", "mf", "sfz"])
_WEDGES = {
    "crescendo(": "crescendo", "<(": "crescendo", "crescendo)": "stop", "<)": "stop",
    "diminuendo(": "diminuendo", ">(": "diminuendo", "diminuendo)": "stop", ">)": "stop",
}  # fmt: skip
_SAID = {
    "D.C.": "D.C.", "D.S.": "D.S.", "fine": "Fine", "dacapo": "D.C.", "dacoda": "To Coda",
    "D.C.alfine": "D.C. al Fine", "D.S.alfine": "D.S. al Fine", "D.C.alcoda": "D.C. al Coda",
    "D.S.alcoda": "D.S. al Coda",
}  # fmt: skip


def key_of(text: str) -> tuple[int, str]:
    """Sharps (above 0) or flats of a ``K:`` field, and the mode's name (3.1.14)."""
    text = text.strip()
    if text.startswith(("HP", "Hp")):
        return (2 if text.startswith("Hp") else 0), "major"
    found = re.match(r"([A-G])([#b]?)\s*([A-Za-z]*)", text)
    if found is None:
        return 0, "major"
    fifths = _FIFTHS[found[1]] + {"#": 7, "b": -7}.get(found[2], 0)
    word = found[3].lower()
    shift, mode = _MODES.get(word if word == "m" else word[:3], (0, "major"))
    fifths += shift
    return (fifths if -7 <= fifths <= 7 else fifths % 12 if fifths > 7 else -(-fifths % 12)), mode


def direction(measure: Element) -> Element:
    """A new direction above the staff; its direction-type, to be filled."""
    made = etree.SubElement(measure, "direction", placement="above")
    return etree.SubElement(made, "direction-type")


def add_tempo(measure: Element, text: str) -> None:
    """The tempo of a ``Q:`` field: words in quotes, ``1/4=120``, or the older ``120`` (3.1.8)."""
    words = " ".join(re.findall(r'"([^"]*)"', text)).strip()
    rest = re.sub(r'"[^"]*"', "", text)
    found = re.search(r"([\d/ ]+?)\s*=\s*(\d{1,4}(?:\.\d+)?)", rest)
    plain = re.fullmatch(r"\s*(\d{1,4})\s*", rest)
    values = re.findall(r"(\d{1,3})/(\d{1,3})", found[1]) if found else []
    unit = sum((mpq(int(a), int(b) or 1) for a, b in values), mpq(0)) if values else mpq(1, 4)
    symbol = next(
        (
            (name, dots)
            for name, value in NOTE_TYPES.items()
            for dots in range(2)
            if value * (2 - mpq(1, 2**dots)) == unit
        ),
        None,
    )
    number = found[2] if found else plain[1] if plain else ""
    if not words and not (number and symbol):
        return
    made = etree.SubElement(measure, "direction", placement="above")
    if words:
        etree.SubElement(etree.SubElement(made, "direction-type"), "words").text = words
    if number and symbol and mpq(number):
        mark = etree.SubElement(etree.SubElement(made, "direction-type"), "metronome")
        etree.SubElement(mark, "beat-unit").text = symbol[0]
        for _ in range(symbol[1]):
            etree.SubElement(mark, "beat-unit-dot")
        etree.SubElement(mark, "per-minute").text = number
        quarters = mpq(number) * unit * 4
        if (quarters * 1000).denominator == 1:
            thousands = int(quarters * 1000)
            whole, part = divmod(thousands, 1000)
            shown = f"{whole}.{part:03}".rstrip("0").rstrip(".")
            etree.SubElement(made, "sound", tempo=shown)


def add_harmony(measure: Element, text: str) -> None:
    """A chord symbol such as ``Am7`` or ``D/F#`` (4.18)."""
    found = re.match(r"([A-G])([#b]?)([^/]*)(?:/([A-G])([#b]?))?", text)
    assert found is not None
    harmony = etree.SubElement(measure, "harmony")
    alters = {"#": "1", "b": "-1"}
    root = etree.SubElement(harmony, "root")
    etree.SubElement(root, "root-step").text = found[1]
    if found[2]:
        etree.SubElement(root, "root-alter").text = alters[found[2]]
    suffix = found[3].strip()
    kind = etree.SubElement(harmony, "kind", text=suffix) if suffix else None
    if kind is None:
        kind = etree.SubElement(harmony, "kind")
    kind.text = _KINDS.get(suffix, "other")
    if found[4]:
        bass = etree.SubElement(harmony, "bass")
        etree.SubElement(bass, "bass-step").text = found[4]
        if found[5]:
            etree.SubElement(bass, "bass-alter").text = alters[found[5]]


def add_note_signs(measure: Element, names: list[str], lost: Counter[str]) -> list[Element]:
    """Write what stands before a note; return what goes into its notations, in order.

    Signs that MusicXML has no place for here are counted in ``lost``.
    """
    groups: dict[str, list[str]] = {}
    fermata = False
    for name in names:
        if name in _DYNAMICS:
            etree.SubElement(etree.SubElement(direction(measure), "dynamics"), name)
        elif name in _WEDGES:
            etree.SubElement(direction(measure), "wedge", type=_WEDGES[name])
        elif name in ("segno", "coda"):
            etree.SubElement(direction(measure), name)
        elif name in _SAID:
            etree.SubElement(direction(measure), "words").text = _SAID[name]
        elif name == "fermata":
            fermata = True
        elif name in _ORNAMENTS:
            groups.setdefault("ornaments", []).append(_ORNAMENTS[name])
        elif name in _TECHNICAL:
            groups.setdefault("technical", []).append(_TECHNICAL[name])
        elif name in _ARTICULATIONS:
            groups.setdefault("articulations", []).append(_ARTICULATIONS[name])
        elif len(name) == 1 and name in "012345":
            groups.setdefault("technical", []).append(f"fingering {name}")
        else:
            lost["signs"] += 1
    made = []
    for tag in ("ornaments", "technical", "articulations"):
        if tag in groups:
            group = etree.Element(tag)
            for name in groups[tag]:
                kind, _, text = name.partition(" ")
                etree.SubElement(group, kind).text = text or None
            made.append(group)
    if fermata:
        made.append(etree.Element("fermata"))
    return made
