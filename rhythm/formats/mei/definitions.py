"""What ``scoreDef`` and ``staffDef`` say of staves, clefs, keys and metres."""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from gmpy2 import mpq

from rhythm.formats.elements import Element, add
from rhythm.formats.mei.events import plain_tag

__all__ = ["Signature", "StaffPart", "signature_of", "staff_parts", "write_clef", "write_key"]

_SIGNS = {"s": 1, "f": -1}


@dataclass(slots=True)
class StaffPart:
    """Staves that make one part: their numbers in the file, and its name."""

    staves: list[str]
    name: str = ""


@dataclass(slots=True)
class Signature:
    """A metre: pairs of beats and unit as text, and its sign; ``length`` is its bar's."""

    pairs: list[tuple[str, str]] = field(default_factory=list)
    symbol: str = ""

    @property
    def length(self) -> mpq:
        """The length of a bar, 0 where there is no metre."""
        total = mpq(0)
        for beats, unit in self.pairs:
            total += mpq(sum(map(int, re.findall(r"\d+", beats))), int(unit))
        return total

    def write(self, attributes: Element) -> None:
        """Add a ``time`` element."""
        time = add(attributes, "time")
        if self.symbol:
            time.set("symbol", self.symbol)
        if not self.pairs:
            add(time, "senza-misura")
        for beats, unit in self.pairs:
            add(time, "beats", beats)
            add(time, "beat-type", unit)


def _child(definition: Element, tag: str) -> Element | None:
    return next((each for each in definition if plain_tag(each) == tag), None)


def staff_parts(score_def: Element) -> list[StaffPart]:
    """The parts: a brace makes one part of its staves, every other staff is a part of its own."""
    found: list[StaffPart] = []

    def walk(group: Element) -> None:
        sign = _child(group, "grpSym")
        symbol = group.get("symbol") or ("" if sign is None else sign.get("symbol") or "")
        own = [each for each in group if plain_tag(each) == "staffDef"]
        if symbol == "brace" and len(own) > 1:
            label = _label(group) or next(filter(None, map(_label, own)), "")
            found.append(StaffPart([each.get("n") or "" for each in own], label))
        for each in group:
            if plain_tag(each) == "staffGrp":
                walk(each)
            elif plain_tag(each) == "staffDef" and not (symbol == "brace" and len(own) > 1):
                found.append(StaffPart([each.get("n") or ""], _label(each)))

    for each in score_def:
        if plain_tag(each) == "staffGrp":
            walk(each)
    return found


def _label(element: Element) -> str:
    child = _child(element, "label")
    text = "".join(map(str, child.itertext())) if child is not None else element.get("label") or ""
    return " ".join(text.split())


def signature_of(definition: Element) -> Signature | None:
    """The metre that a definition or ``meterSig`` gives, None where it gives none."""
    group = _child(definition, "meterSigGrp")
    if group is not None:
        parts = [signature_of(each) for each in group if plain_tag(each) == "meterSig"]
        pairs = [pair for each in parts if each for pair in each.pairs]
        return Signature(pairs)
    own = plain_tag(definition) == "meterSig"
    sign = definition if own else _child(definition, "meterSig")
    prefix = "" if sign is not None else "meter."
    holder = definition if sign is None else sign
    symbol = holder.get(prefix + "sym") or ""
    beats = "".join((holder.get(prefix + "count") or "").split())
    unit = holder.get(prefix + "unit") or ""
    if holder.get("form") == "invis" or holder.get("meter.form") == "invis":
        symbol = ""
    if symbol in ("common", "cut") and not (beats and unit):
        beats, unit = ("4", "4") if symbol == "common" else ("2", "2")
    if not re.fullmatch(r"\d{1,3}(\+\d{1,3})*", beats) or not re.fullmatch(r"[1-9]\d{0,3}", unit):
        return None
    return Signature([(beats, unit)], symbol if symbol in ("common", "cut") else "")


def fifths_of(definition: Element) -> int | None:
    """The sharps (above 0) or flats of a key, None where none is given."""
    sign = definition if plain_tag(definition) == "keySig" else _child(definition, "keySig")
    if sign is not None:
        text = sign.get("sig") or ""
    else:
        text = definition.get("key.sig") or definition.get("keysig") or ""
    found = re.fullmatch(r"(\d{1,2})([sf]?)", text)
    if found is None:
        return None
    return int(found[1]) * _SIGNS.get(found[2], 0)


def write_key(attributes: Element, definition: Element) -> int | None:
    """Add a ``key`` where a definition gives one; return its fifths."""
    fifths = fifths_of(definition)
    if fifths is not None and -7 <= fifths <= 7:
        key = add(attributes, "key")
        add(key, "fifths", str(fifths))
        sign = definition if plain_tag(definition) == "keySig" else _child(definition, "keySig")
        mode = (sign.get("mode") if sign is not None else definition.get("key.mode")) or ""
        if mode in ("major", "minor", "dorian", "phrygian", "lydian", "mixolydian", "aeolian"):
            add(key, "mode", mode)
    return fifths


def write_clef(attributes: Element, definition: Element, number: str = "") -> None:
    """Add a ``clef`` where a definition gives one."""
    own = plain_tag(definition) == "clef"
    sign = definition if own else _child(definition, "clef")
    prefix = "" if sign is not None else "clef."
    holder = definition if sign is None else sign
    shape = holder.get(prefix + "shape") or ""
    if shape not in ("G", "F", "C", "perc", "GG"):
        return
    clef = add(attributes, "clef")
    if number:
        clef.set("number", number)
    add(clef, "sign", {"perc": "percussion", "GG": "G"}.get(shape, shape))
    line = holder.get(prefix + "line") or ""
    if line in ("1", "2", "3", "4", "5") and shape != "perc":
        add(clef, "line", line)
    octaves = {"8": 1, "15": 2}.get(holder.get(prefix + "dis") or "", 0)
    if octaves:
        below = holder.get(prefix + "dis.place") == "below"
        add(clef, "clef-octave-change", str(-octaves if below else octaves))
