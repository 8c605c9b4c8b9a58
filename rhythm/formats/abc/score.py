"""From a tune that was read to MusicXML: bars, pitches in their key, signs, words and repeats."""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass, field

from gmpy2 import lcm, mpq
from lxml import etree

from rhythm.exact.values import NOTE_TYPES
from rhythm.formats.abc.book import Tune
from rhythm.formats.abc.music import Item, Music, metre_length, music_of
from rhythm.formats.abc.signs import add_harmony, add_note_signs, add_tempo, direction, key_of

__all__ = ["musicxml_of"]

_SHARPS, _FLATS = "FCGDAEB", "BEADGCF"
_ACCIDENTALS = {"^": 1, "_": -1, "=": 0, "^^": 2, "__": -2}
_NAMES = {1: "sharp", -1: "flat", 0: "natural", 2: "double-sharp", -2: "flat-flat"}
_SYMBOLS = sorted(
    (
        (value * (2 - mpq(1, 2**dots)), name, dots)
        for name, value in NOTE_TYPES.items()
        for dots in range(3)
        if mpq(1, 128) <= value <= 2
    ),
    reverse=True,
)
Element = etree._Element


@dataclass(slots=True)
class _Bar:
    """One bar of a voice: what stands in it, layer by layer, and the lines around it."""

    layers: list[list[Item]] = field(default_factory=lambda: [[]])
    left: str = ""
    right: str = ""
    opens: str = ""  # the numbers of an ending that begins here
    closes: bool = False  # an ending stops here

    @property
    def length(self) -> mpq:
        """How long its longest layer is."""
        return max(
            sum((_sounding(item) for item in layer if item.kind == "note"), mpq(0))
            for layer in self.layers
        )


@dataclass(slots=True)
class _Key:
    """The accidentals in force: of the signature, and of the bar so far."""

    fifths: int = 0
    bar: dict[str, int] = field(default_factory=dict)

    def alter(self, step: str) -> int:
        """The signature's accidental."""
        if self.fifths > 0:
            return int(step in _SHARPS[: self.fifths])
        return -int(step in _FLATS[: -self.fifths])


def musicxml_of(tune: Tune) -> tuple[bytes, Counter[str]]:
    """The tune as MusicXML, and what was left out, counted by kind.

    Raises FileError for a length that no note has.
    """
    music = music_of(tune)
    root = etree.Element("score-partwise", version="4.0")
    if tune.title:
        _add(_add(root, "work"), "work-title", tune.title)
    composers = [text for text in music.head.get("C", []) if text]
    if composers:
        creator = _add(_add(root, "identification"), "creator", "; ".join(composers))
        creator.set("type", "composer")
    listed = _add(root, "part-list")
    names = _names(music)
    voices = [each for each in music.voices.values() if any(i.kind == "note" for i in each.items)]
    common = list(music.voices[""].items) if "" in music.voices else []
    for number, voice in enumerate(voices, 1):
        part = _add(listed, "score-part")
        part.set("id", f"P{number}")
        fallback = "Voice" if len(voices) == 1 else f"Voice {number}"
        _add(part, "part-name", names.get(voice.name) or fallback)
        items = voice.items
        if voice.name and not any(item.kind == "note" for item in common):
            items = [*common, *items]
        element = _add(root, "part")
        element.set("id", f"P{number}")
        _PartWriter(music, element, number == 1).write(_bars(items, music.head.get("M", [""])[-1]))
    data: bytes = etree.tostring(root, xml_declaration=True, encoding="UTF-8")
    return data, +music.lost


def _names(music: Music) -> dict[str, str]:
    """What ``V:`` fields call the voices (7.1)."""
    found = {}
    for text in music.head.get("V", []):
        name = re.search(r'\b(?:name|nm)\s*=\s*(?:"([^"]*)"|(\S+))', text)
        if text.split() and name:
            found[text.split()[0]] = name[1] or name[2] or ""
    return found


def _add(parent: Element, tag: str, text: str = "") -> Element:
    element = etree.SubElement(parent, tag)
    if text:
        element.text = "".join(each for each in text if each >= " ")
    return element


def _sounding(item: Item) -> mpq:
    return item.length * item.ratio[1] / item.ratio[0]


def _bars(items: list[Item], metre: str) -> list[_Bar]:
    """The items between bar lines. Lines with nothing between them are one line.

    Where a line of the text ends with a full bar the bar line may be left out.
    """
    bars = [_Bar()]
    for item in items:
        bar = bars[-1]
        if item.kind == "M":
            metre = item.text
        if item.kind == "line":
            if metre.strip() not in ("", "none") and bar.length == metre_length(metre):
                bars.append(_Bar())
        elif item.kind == "overlay":
            bar.layers.append([])
        elif item.kind != "bar":
            bar.layers[-1].append(item)
        else:
            if any(each.kind == "note" for layer in bar.layers for each in layer):
                bar.right = item.text
                bars.append(_Bar())
            elif len(bars) > 1 and item.text.startswith(":"):
                bars[-2].right = item.text
            _begin(bars, item)
    last = bars[-1]
    if not any(each.kind == "note" for layer in last.layers for each in layer):
        bars.pop()
        if bars:
            bars[-1].layers[-1] += [each for layer in last.layers for each in layer]
    _close_endings(bars)
    return bars


def _begin(bars: list[_Bar], item: Item) -> None:
    """What a bar line says of the bar behind it."""
    bar = bars[-1]
    if item.text.endswith(":"):
        bar.left = "forward"
    if item.ending:
        bar.opens = ",".join(re.findall(r"\d+", item.ending.replace("-", ",")))


def _close_endings(bars: list[_Bar]) -> None:
    """An ending stops at a repeat, a double bar, before the next, or at the tune's end (4.9)."""
    inside = False
    for bar, after in zip(bars, [*bars[1:], None], strict=True):
        inside = inside or bool(bar.opens)
        strong = bar.right.startswith(":") or bar.right in ("||", "|]", "[|")
        if inside and (strong or after is None or after.opens):
            bar.closes, inside = True, False


class _PartWriter:
    """Writes the bars of one voice."""

    def __init__(self, music: Music, part: Element, leads: bool) -> None:
        self.music = music
        self.part = part
        self.leads = leads
        self.key = _Key()
        self.metre = music.head.get("M", [""])[-1]
        self.tied: dict[str, int] = {}
        self.slurs: list[int] = []
        self.divisions = 1

    def write(self, bars: list[_Bar]) -> None:
        """Write them all."""
        lengths = [_sounding(i) for bar in bars for layer in bar.layers for i in layer]
        self.divisions = int(lcm(1, *(int((length * 4).denominator) for length in lengths)))
        length = metre_length(self.metre)
        free = self.metre.strip() in ("", "none")
        number = 0
        for index, bar in enumerate(bars):
            short = not free and bar.length < length
            upbeat = short and index == 0 and len(bars) > 1
            number += 0 if upbeat else 1
            element = _add(self.part, "measure")
            element.set("number", "0" if upbeat else str(number))
            if upbeat:
                element.set("implicit", "yes")
            if index == 0:
                self._head(element)
            self._write_bar(element, bar)

    def _head(self, measure: Element) -> None:
        attributes = _add(measure, "attributes")
        _add(attributes, "divisions", str(self.divisions))
        self._key(attributes, self.music.head["K"][-1] if "K" in self.music.head else "")
        self._time(attributes, self.metre)
        clef = re.search(r"\b(bass|alto|tenor)\b", self.music.head.get("K", [""])[-1])
        sign, line = {"bass": ("F", "4"), "alto": ("C", "3"), "tenor": ("C", "4")}.get(
            clef[1] if clef else "", ("G", "2")
        )
        written = _add(attributes, "clef")
        _add(written, "sign", sign)
        _add(written, "line", line)
        for text in self.music.head.get("Q", [])[-1:] if self.leads else ():
            add_tempo(measure, text)

    def _key(self, attributes: Element, text: str) -> None:
        fifths, mode = key_of(text)
        self.key.fifths = fifths
        key = _add(attributes, "key")
        _add(key, "fifths", str(fifths))
        _add(key, "mode", mode)

    def _time(self, attributes: Element, text: str) -> None:
        text = text.strip()
        if text in ("", "none"):
            _add(_add(attributes, "time"), "senza-misura")
            return
        time = _add(attributes, "time")
        if text in ("C", "C|"):
            time.set("symbol", "common" if text == "C" else "cut")
            beats, unit = ("4", "4") if text == "C" else ("2", "2")
        else:
            found = re.search(r"\(?\s*([\d+ ]+?)\s*\)?\s*/\s*(\d+)", text)
            if found is None:
                etree.SubElement(time, "senza-misura")
                return
            beats, unit = found[1].replace(" ", ""), found[2]
        _add(time, "beats", beats)
        _add(time, "beat-type", unit)

    def _write_bar(self, measure: Element, bar: _Bar) -> None:
        self.key.bar = {}
        if bar.left or bar.opens:
            line = _add(measure, "barline")
            line.set("location", "left")
            if bar.left:
                _add(line, "bar-style", "heavy-light")
            if bar.opens:
                ending = _add(line, "ending")
                ending.set("number", bar.opens)
                ending.set("type", "start")
                self.opened = bar.opens
            if bar.left:
                _add(line, "repeat").set("direction", "forward")
        for which, layer in enumerate(bar.layers, 1):
            if which > 1:
                before = sum(
                    (_sounding(i) for i in bar.layers[which - 2] if i.kind == "note"), mpq(0)
                )
                if before:
                    _add(_add(measure, "backup"), "duration", str(before * 4 * self.divisions))
            self._write_layer(measure, layer, str(which))
        self._write_right(measure, bar)

    def _write_right(self, measure: Element, bar: _Bar) -> None:
        repeats = bar.right.startswith(":")
        style = "light-heavy" if repeats or bar.right == "|]" else ""
        style = style or ("light-light" if bar.right in ("||", "[|") else "")
        if not (style or bar.closes):
            return
        line = _add(measure, "barline")
        line.set("location", "right")
        if style:
            _add(line, "bar-style", style)
        if bar.closes:
            ending = _add(line, "ending")
            ending.set("number", self.opened)
            ending.set("type", "stop" if style else "discontinue")
        if repeats:
            _add(line, "repeat").set("direction", "backward")

    def _write_layer(self, measure: Element, layer: list[Item], voice: str) -> None:
        notes = [item for item in layer if item.kind == "note"]
        beams = _beams(notes)
        for item in layer:
            if item.kind in "KM":
                attributes = _add(measure, "attributes")
                if item.kind == "K":
                    self._key(attributes, item.text)
                else:
                    self.metre = item.text
                    self._time(attributes, item.text)
            elif item.kind == "Q":
                if self.leads:
                    add_tempo(measure, item.text)
            elif item.kind == "P":
                _add(direction(measure), "rehearsal", item.text)
            elif item.kind == "words":
                _add(direction(measure), "words", item.text)
            elif item.kind == "symbol":
                add_harmony(measure, item.text)
            elif item.kind == "note":
                self._write_note(measure, item, voice, beams.get(id(item), ()))

    def _write_note(self, measure: Element, item: Item, voice: str, beams: tuple[str, ...]) -> None:
        notes_signs = add_note_signs(measure, item.signs, self.music.lost)
        for grace in item.graces:
            note = _add(measure, "note")
            _add(note, "grace")
            self._pitch(note, grace)
            _add(note, "voice", voice)
            _add(note, "type", "eighth")
        pieces = _pieces(item.length) if not item.whole_bar else [(item.length, "", 0)]
        coming = dict.fromkeys(item.tied)
        arrived, self.tied = self.tied, {}
        for place, (value, type, dots) in enumerate(pieces):
            first, last = place == 0, place + 1 == len(pieces)
            for which, pitch in enumerate(item.pitches or ("",)):
                note = _add(measure, "note")
                if item.hidden:
                    note.set("print-object", "no")
                if which:
                    _add(note, "chord")
                altered = None
                if pitch:
                    held = arrived.get(_place(pitch)) if first else None
                    altered = self._pitch(note, pitch, held)
                else:
                    rest = _add(note, "rest")
                    if item.whole_bar:
                        rest.set("measure", "yes")
                ticks = value * item.ratio[1] / item.ratio[0] * 4 * self.divisions
                _add(note, "duration", str(ticks))
                stops = bool(pitch) and (not first or _place(pitch) in arrived)
                starts = bool(pitch) and (not last or pitch in coming)
                for tie in ["stop"] * stops + ["start"] * starts:
                    _add(note, "tie").set("type", tie)
                if pitch and last and pitch in coming:
                    self.tied[_place(pitch)] = altered[1] if altered else 0
                _add(note, "voice", voice)
                if type:
                    _add(note, "type", type)
                for _ in range(dots):
                    _add(note, "dot")
                if altered and altered[0] and first:
                    _add(note, "accidental", _NAMES[altered[1]])
                if item.ratio != (1, 1):
                    modified = _add(note, "time-modification")
                    _add(modified, "actual-notes", str(item.ratio[0]))
                    _add(modified, "normal-notes", str(item.ratio[1]))
                if len(pieces) == 1 and not which:
                    for level, word in enumerate(beams, 1):
                        _add(note, "beam", word).set("number", str(level))
                self._notations(note, item, first, last, which, stops, starts, notes_signs)
                if first and not which:
                    _lyrics(note, item)

    def _notations(
        self,
        note: Element,
        item: Item,
        first: bool,
        last: bool,
        which: int,
        stops: bool,
        starts: bool,
        signs: list[Element],
    ) -> None:
        made = etree.Element("notations")
        for tie in ["stop"] * stops + ["start"] * starts:
            _add(made, "tied").set("type", tie)
        if not which:
            if last:
                for _ in range(item.ends):
                    if self.slurs:
                        self._slur(made, self.slurs.pop(), "stop")
            if first:
                for _ in range(item.slurs):
                    number = next(n for n in range(1, 99) if n not in self.slurs)
                    self.slurs.append(number)
                    self._slur(made, number, "start")
                if item.opens:
                    _add(made, "tuplet").set("type", "start")
            if last and item.closes:
                _add(made, "tuplet").set("type", "stop")
            if first:
                made.extend(signs)
        if len(made):
            note.append(made)

    @staticmethod
    def _slur(notations: Element, number: int, type: str) -> None:
        slur = _add(notations, "slur")
        slur.set("number", str(min(number, 16)))
        slur.set("type", type)

    def _pitch(self, note: Element, text: str, held: int | None = None) -> tuple[bool, int]:
        """Write a pitch; return whether an accidental is shown, and the alteration."""
        signs, name = re.match(r"([_^=]*)(.*)", text).groups()  # type: ignore[union-attr]
        step = name[0].upper()
        octave = (4 if name[0].isupper() else 5) + name.count("'") - name.count(",")
        place = _place(text)
        if signs:
            alter = _ACCIDENTALS.get(signs[:2], 0)
            self.key.bar[place] = alter
        elif held is not None:
            alter = held
        else:
            alter = self.key.bar.get(place, self.key.alter(step))
        pitch = _add(note, "pitch")
        _add(pitch, "step", step)
        if alter:
            _add(pitch, "alter", str(alter))
        _add(pitch, "octave", str(octave))
        return bool(signs), alter


def _place(pitch: str) -> str:
    """The line or space of a pitch: its letter and octave without accidentals."""
    return pitch.lstrip("_^=")


def _pieces(length: mpq) -> list[tuple[mpq, str, int]]:
    """The symbols for a length, longest first: one where there is one; untyped if none fits."""
    found = []
    left = length
    while left:
        symbol = next((each for each in _SYMBOLS if each[0] <= left), None)
        if symbol is None:
            return [(length, "", 0)]
        found.append(symbol)
        left -= symbol[0]
    return found


def _beams(notes: list[Item]) -> dict[int, tuple[str, ...]]:
    """The beams over notes that are written without a space between them (4.7)."""
    found: dict[int, tuple[str, ...]] = {}
    group: list[Item] = []
    for item in notes:
        pieces = _pieces(item.length)
        short = bool(item.pitches) and len(pieces) == 1 and _levels(item) > 0
        if short:
            group.append(item)
        if not short or not item.beamed:
            _beam(group, found)
            group = []
    _beam(group, found)
    return found


def _levels(item: Item) -> int:
    type = _pieces(item.length)[0][1]
    return {"eighth": 1, "16th": 2, "32nd": 3, "64th": 4, "128th": 5}.get(type, 0)


def _beam(group: list[Item], found: dict[int, tuple[str, ...]]) -> None:
    if len(group) < 2:
        return
    levels = [_levels(item) for item in group]
    for place, item in enumerate(group):
        words = []
        for level in range(1, levels[place] + 1):
            before = place > 0 and levels[place - 1] >= level
            after = place + 1 < len(group) and levels[place + 1] >= level
            lone = "backward hook" if place else "forward hook"
            words.append(
                "continue" if before and after else "end" if before else "begin" if after else lone
            )
        found[id(item)] = tuple(words)


def _lyrics(note: Element, item: Item) -> None:
    for verse, how, text in item.syllables:
        lyric = _add(note, "lyric")
        lyric.set("number", verse)
        _add(lyric, "syllabic", how)
        _add(lyric, "text", text)
