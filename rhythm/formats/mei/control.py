"""Control events of MEI: what stands in a measure beside its staves, and where it belongs."""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass, field

from gmpy2 import mpq

from rhythm.exact.values import NOTE_TYPES
from rhythm.formats.elements import Element, add, direction
from rhythm.formats.mei.events import plain_tag

__all__ = ["Spans", "collect", "write_direction"]

_DYNAMICS = frozenset({
    "p", "pp", "ppp", "pppp", "f", "ff", "fff", "ffff", "mp", "mf", "sf", "sfz", "fp", "rf", "rfz",
    "sffz", "fz", "n", "pf", "sfp", "sfpp",
})  # fmt: skip
_ON_NOTES = frozenset({"fermata", "trill", "mordent", "turn", "arpeg", "breath"})
_WRITTEN = frozenset({"dynam", "dir", "tempo", "harm", "reh", "hairpin", "pedal"})
_NUMBER = re.compile(r"\d{1,4}(\.\d{1,6})?")
_DURATIONS = {"1": "whole", "2": "half", "4": "quarter", "8": "eighth", "16": "16th", "32": "32nd"}


@dataclass(slots=True)
class Spans:
    """Control events sorted by what they hang on.

    ``starts`` and ``ends`` hold ties, slurs and tuplet spans by the note's id, ``on_notes`` signs
    by the note's id, ``before`` directions by the note's id, ``at`` directions by staff with their
    place in the bar (in beats of the signature's unit, counted from 1).
    """

    starts: dict[str, list[Element]] = field(default_factory=dict)
    ends: dict[str, list[Element]] = field(default_factory=dict)
    on_notes: dict[str, list[Element]] = field(default_factory=dict)
    before: dict[str, list[tuple[Element, str]]] = field(default_factory=dict)


def collect(
    measures: list[Element], spans: Spans, lost: Counter[str]
) -> list[dict[str, list[tuple[mpq, Element, str]]]]:
    """Sort the control events of all measures; those placed by time, measure by measure.

    Each of these is (beat, element, ``start`` or ``stop``) under its staff's number.
    """
    timed: list[dict[str, list[tuple[mpq, Element, str]]]] = [{} for _ in measures]
    for index, measure in enumerate(measures):
        for element in measure:
            tag = plain_tag(element)
            if tag in ("", "staff", "mNum", "sb", "pb", "expansion", "scoreDef", "staffDef"):
                continue
            start, end = _id(element, "startid"), _id(element, "endid")
            if tag in ("tie", "slur", "lv", "phrase"):
                if start and end and tag != "lv":
                    spans.starts.setdefault(start, []).append(element)
                    spans.ends.setdefault(end, []).append(element)
                else:
                    lost[f"{tag}s without ends"] += 1
            elif tag == "tupletSpan" and start and end:
                spans.starts.setdefault(start, []).append(element)
                spans.ends.setdefault(end, []).append(element)
            elif tag in _ON_NOTES and start:
                spans.on_notes.setdefault(start, []).append(element)
            elif tag in _WRITTEN:
                _place(element, index, timed, spans, start, end)
            elif tag not in ("beamSpan",):
                lost[tag] += 1
    return timed


def _id(element: Element, name: str) -> str:
    return (element.get(name) or "").strip().lstrip("#")


def _place(
    element: Element,
    index: int,
    timed: list[dict[str, list[tuple[mpq, Element, str]]]],
    spans: Spans,
    start: str,
    end: str,
) -> None:
    staff = (element.get("staff") or "1").split()[0]
    begin = _beat(element.get("tstamp") or "")
    if start:
        spans.before.setdefault(start, []).append((element, "start"))
    else:
        timed[index].setdefault(staff, []).append((begin or mpq(1), element, "start"))
    if plain_tag(element) != "hairpin":
        return
    found = re.fullmatch(
        r"(?:(\d{1,4})m\s*\+\s*)?(\d{1,4}(?:\.\d{1,9})?)", element.get("tstamp2") or ""
    )
    if end:
        spans.before.setdefault(end, []).append((element, "stop"))
    elif found:
        last = min(index + int(found[1] or 0), len(timed) - 1)
        timed[last].setdefault(staff, []).append((mpq(found[2]), element, "stop"))


def _beat(text: str) -> mpq | None:
    return mpq(text) if re.fullmatch(r"\d{1,4}(\.\d{1,9})?", text.strip()) else None


def write_direction(measure: Element, element: Element, which: str, staff: str) -> bool:
    """Write a direction, tempo, dynamic, hairpin or pedal; False where it is empty."""
    tag = plain_tag(element)
    text = " ".join("".join(map(str, element.itertext())).split())
    placement = (
        "below" if element.get("place") == "below" or tag in ("dynam", "hairpin") else "above"
    )
    if tag == "hairpin":
        kind = "crescendo" if element.get("form") == "cres" else "diminuendo"
        add(
            direction(measure, staff, placement), "wedge", type=kind if which == "start" else "stop"
        )
        return True
    if tag == "pedal":
        kind = {"down": "start", "up": "stop", "bounce": "change"}.get(element.get("dir") or "", "")
        if kind:
            add(direction(measure, staff, "below"), "pedal", type=kind)
        return bool(kind)
    if tag == "tempo":
        return _tempo(measure, element, text, staff)
    if not text:
        return False
    inner = direction(measure, staff, placement)
    if tag == "dynam" and text in _DYNAMICS:
        add(add(inner, "dynamics"), text)
    elif tag == "reh":
        add(inner, "rehearsal", text)
    else:
        add(inner, "words", text)
    return True


def _tempo(measure: Element, element: Element, text: str, staff: str) -> bool:
    unit = _DURATIONS.get(element.get("mm.unit") or "", "")
    number = element.get("mm") or ""
    bpm = element.get("midi.bpm") or ""
    if not text and not (unit and _NUMBER.fullmatch(number)) and not _NUMBER.fullmatch(bpm):
        return False
    made = add(measure, "direction", placement="above")
    if text:
        add(add(made, "direction-type"), "words", text)
    quarters = mpq(bpm) if _NUMBER.fullmatch(bpm) else None
    if unit and _NUMBER.fullmatch(number):
        dots = (
            int(element.get("mm.dots") or 0) if (element.get("mm.dots") or "0").isdecimal() else 0
        )
        dots = min(dots, 2)
        if "=" not in text:
            mark = add(add(made, "direction-type"), "metronome")
            add(mark, "beat-unit", unit)
            for _ in range(dots):
                add(mark, "beat-unit-dot")
            add(mark, "per-minute", number)
        quarters = mpq(number) * 4 * NOTE_TYPES[unit] * (2 - mpq(1, 2**dots))
    if not len(made):
        add(add(made, "direction-type"), "words", "")
    if staff:
        add(made, "staff", staff)
    if quarters is not None and quarters > 0:
        whole, part = divmod(int(quarters * 1000), 1000)
        add(made, "sound", tempo=f"{whole}.{part:03}".rstrip("0").rstrip("."))
    return True
