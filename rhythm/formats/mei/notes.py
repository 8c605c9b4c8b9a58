"""Notes, chords and rests of MEI written as MusicXML notes."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence

from gmpy2 import mpq
from lxml import etree

from rhythm.exact.errors import FileError
from rhythm.formats.elements import Element, add
from rhythm.formats.mei.control import Spans
from rhythm.formats.mei.events import ID, Event, chosen, plain_tag

__all__ = ["NoteWriter"]

_ALTER = {
    "s": "1", "f": "-1", "n": "0", "x": "2", "ss": "2", "ff": "-2", "xs": "3", "tf": "-3",
    "nf": "-1", "ns": "1", "su": "1.5", "sd": "0.5", "fu": "-0.5", "fd": "-1.5", "nu": "0.5",
    "nd": "-0.5", "1qf": "-0.5", "3qf": "-1.5", "1qs": "0.5", "3qs": "1.5",
}  # fmt: skip
_SHOWN = {
    "s": "sharp", "f": "flat", "n": "natural", "x": "double-sharp", "ss": "sharp-sharp",
    "ff": "flat-flat", "nf": "natural-flat", "ns": "natural-sharp",
}  # fmt: skip
_ARTICULATIONS = {
    "stacc": "staccato", "acc": "accent", "ten": "tenuto", "marc": "strong-accent",
    "stacciss": "staccatissimo", "spicc": "spiccato", "ten-stacc": "detached-legato",
}  # fmt: skip
_TECHNICAL = {"dnbow": "down-bow", "upbow": "up-bow", "harm": "harmonic", "open": "open-string"}
_ORNAMENTS = {"trill": "trill-mark", "turn": "turn", "mordent": "mordent"}
_SYLLABIC = {"i": "begin", "m": "middle", "t": "end", "s": "single"}
_SHARPS, _FLATS = "fcgdaeb", "beadgcf"


class NoteWriter:
    """Writes the notes of one part; knows the key and the accidentals of the bar so far."""

    def __init__(self, spans: Spans, lost: Counter[str], staves: Sequence[str] = ()) -> None:
        self.spans = spans
        self.lost = lost
        self.divisions = 1
        self.staves = staves
        self._fifths = 0
        self._bar: dict[tuple[str, str], str] = {}
        self._gestural = False
        self._slurs: dict[int, Element | str] = {}
        self._syllables: set[str] = set()
        self._tied: set[tuple[str, str]] = set()

    def set_key(self, fifths: int) -> None:
        """A signature of so many sharps (above 0) or flats holds from here."""
        self._fifths = fifths

    def start_bar(self) -> None:
        """Accidentals hold no longer."""
        self._bar = {}

    def ticks(self, length: mpq) -> str:
        """A length in divisions."""
        return str(length * 4 * self.divisions)

    def whole_bar(self, measure: Element, event: Event, voice: str, staff: str, length: mpq) -> mpq:
        """A rest of a whole bar; return its length, 0 for a space that shows nothing."""
        if event.kind == "mSpace":
            return mpq(0)
        note = add(measure, "note")
        if event.element.get("visible") == "false":
            note.set("print-object", "no")
        add(note, "rest", measure="yes")
        add(note, "duration", self.ticks(length))
        add(note, "voice", voice)
        if staff:
            add(note, "staff", staff)
        if plain_tag(event.element) and self.spans.on_notes.get(event.element.get(ID) or ""):
            add(add(note, "notations"), "fermata")
        return length

    def write(self, measure: Element, event: Event, voice: str, staff: str) -> None:
        """A note, chord, rest or space."""
        if event.kind == "space":
            if event.length:
                forward = add(measure, "forward")
                add(forward, "duration", self.ticks(event.length))
            return
        members: list[Element | None] = [*event.notes] if event.notes else [None]
        for which, member in enumerate(members):
            self._note(measure, event, member, which, voice, staff)

    def _note(
        self,
        measure: Element,
        event: Event,
        member: Element | None,
        which: int,
        voice: str,
        staff: str,
    ) -> None:
        source = event.element if member is None else member
        note = add(measure, "note")
        if source.get("visible") == "false" or event.element.get("visible") == "false":
            note.set("print-object", "no")
        if event.grace:
            grace = add(note, "grace")
            if event.element.get("stem.mod") == "1slash":
                grace.set("slash", "yes")
        if event.element.get("cue") == "true" and not event.grace:
            add(note, "cue")
        if which:
            add(note, "chord")
        shown = ""
        key: tuple[str, str] = ("", "")
        if member is None:
            add(note, "rest")
        else:
            key, shown = self._pitch(note, member)
        if not event.grace:
            add(note, "duration", self.ticks(event.length))
        stops, starts = self._ties(event, source, key) if member is not None else (False, False)
        if event.element.get("cue") != "true":
            for tie in ["stop"] * stops + ["start"] * starts:
                add(note, "tie", type=tie)
        add(note, "voice", voice)
        add(note, "type", event.type)
        for _ in range(event.dots):
            add(note, "dot")
        if shown in _SHOWN:
            add(note, "accidental", _SHOWN[shown])
        ratio = event.ratio
        if event.tremolo in ("start", "stop"):
            ratio = (ratio[0] * 2, ratio[1])
        if ratio != (1, 1) and not event.grace:
            modified = add(note, "time-modification")
            add(modified, "actual-notes", str(ratio[0]))
            add(modified, "normal-notes", str(ratio[1]))
        stem = (
            (source.get("stem.dir") or event.element.get("stem.dir") or "")
            if member is not None
            else ""
        )
        if stem in ("up", "down"):
            add(note, "stem", stem)
        own = source.get("staff") or event.element.get("staff") or ""
        if staff:
            add(note, "staff", self._staff(own) or staff)
        if not which:
            for level, word in enumerate(event.beams, 1):
                add(note, "beam", word, number=str(level))
        self._notations(note, event, source, which, stops, starts)
        if not which:
            self._lyrics(note, event.element, *([source] if source is not event.element else []))

    def _staff(self, number: str) -> str:
        """A note that crosses to another staff of its part."""
        return str(self.staves.index(number) + 1) if number in self.staves else ""

    def _pitch(self, note: Element, source: Element) -> tuple[tuple[str, str], str]:
        """Write a pitch; return its place and the accidental that is shown."""
        step, octave = (source.get("pname") or "").lower(), source.get("oct") or ""
        if step not in ("a", "b", "c", "d", "e", "f", "g") or not octave.isdecimal():
            if source.get("loc") or source.get("pname") is None:
                add(note, "unpitched")
                return ("", ""), ""
            raise FileError(
                f"{(step + octave)[:12]!r} is no pitch", legal="steps a to g, octaves 0 to 9"
            )
        accid = next((each for each in chosen(source) if plain_tag(each) == "accid"), None)
        shown = source.get("accid") or ("" if accid is None else accid.get("accid") or "")
        sounds = source.get("accid.ges") or ("" if accid is None else accid.get("accid.ges") or "")
        place = (step, octave)
        if sounds:
            self._gestural = True
        if shown:
            self._bar[place] = shown
        sign = sounds or shown
        if not sign and not self._gestural:
            sign = self._bar.get(place) or self._of_key(step)
        alter = _ALTER.get(sign, "0")
        pitch = add(note, "pitch")
        add(pitch, "step", step.upper())
        if alter != "0":
            add(pitch, "alter", alter)
        add(pitch, "octave", octave[:2])
        return place, shown

    def _of_key(self, step: str) -> str:
        if self._fifths > 0 and step in _SHARPS[: self._fifths]:
            return "s"
        return "f" if self._fifths < 0 and step in _FLATS[: -self._fifths] else ""

    def _ties(self, event: Event, source: Element, key: tuple[str, str]) -> tuple[bool, bool]:
        said = (source.get("tie") or "") + (
            (event.element.get("tie") or "") if source is not event.element else ""
        )
        ids = [source.get(ID) or ""]
        starts = "i" in said or "m" in said or self._spanned(self.spans.starts, ids)
        stops = "t" in said or "m" in said or self._spanned(self.spans.ends, ids)
        return stops, starts

    @staticmethod
    def _spanned(spans: dict[str, list[Element]], ids: list[str]) -> bool:
        return any(plain_tag(each) == "tie" for id in ids for each in spans.get(id, ()))

    def _notations(
        self, note: Element, event: Event, source: Element, which: int, stops: bool, starts: bool
    ) -> None:
        made = etree.Element("notations")
        for tie in ["stop"] * stops + ["start"] * starts:
            add(made, "tied", type=tie)
        elements = [source] if which else [*dict.fromkeys([event.element, source])]
        for element in elements:
            self._slur_ends(made, element)
        if not which:
            for _ in range(event.opens):
                add(made, "tuplet", type="start")
            for _ in range(event.closes):
                add(made, "tuplet", type="stop")
            self._signs(made, event, elements)
        if len(made):
            note.append(made)

    def _slur_ends(self, made: Element, element: Element) -> None:
        id = element.get(ID) or ""
        for span in self.spans.ends.get(id, ()):
            if plain_tag(span) in ("slur", "phrase"):
                number = next((n for n, open_ in self._slurs.items() if open_ is span), None)
                if number is not None:
                    del self._slurs[number]
                    add(made, "slur", number=str(number), type="stop")
        said = re.findall(r"([imt])(\d)", element.get("slur") or "")
        for kind, name in said:
            number = next((n for n, open_ in self._slurs.items() if open_ == name), None)
            if kind == "t" and number is not None:
                del self._slurs[number]
                add(made, "slur", number=str(number), type="stop")
            elif kind == "i":
                self._open_slur(made, name)
        for span in self.spans.starts.get(id, ()):
            if plain_tag(span) in ("slur", "phrase"):
                self._open_slur(made, span)

    def _open_slur(self, made: Element, mark: Element | str) -> None:
        number = next((n for n in range(1, 17) if n not in self._slurs), None)
        if number is None:
            self.lost["slurs"] += 1
            return
        self._slurs[number] = mark
        add(made, "slur", number=str(number), type="start")

    def _signs(self, made: Element, event: Event, elements: list[Element]) -> None:
        words: list[str] = []
        fermata = False
        ornaments: list[Element] = []
        for element in elements:
            words += (element.get("artic") or "").split()
            for child in chosen(element):
                tag = plain_tag(child)
                if tag == "artic":
                    words += (child.get("artic") or "").split()
                elif tag not in ("accid", "verse", "syl", "note", "dot", "stem", "artic"):
                    self.lost[tag] += 1
            fermata = fermata or bool(element.get("fermata"))
            for control in self.spans.on_notes.get(element.get(ID) or "", ()):
                tag = plain_tag(control)
                if tag == "fermata":
                    fermata = True
                elif tag in _ORNAMENTS:
                    ornaments.append(etree.Element(_ORNAMENTS[tag]))
                elif tag == "breath":
                    words.append("breath")
                else:
                    self.lost[tag] += 1
        if event.tremolo in ("start", "stop"):
            tremolo = etree.Element("tremolo", type=event.tremolo)
            tremolo.text = "3"
            ornaments.append(tremolo)
        elif event.tremolo:
            tremolo = etree.Element("tremolo", type="single")
            strokes = re.match(r"([1-6])slash", event.element.get("stem.mod") or "")
            tremolo.text = strokes[1] if strokes else "3"
            ornaments.append(tremolo)
        if ornaments:
            add(made, "ornaments").extend(ornaments)
        technical = [_TECHNICAL[word] for word in words if word in _TECHNICAL]
        if technical:
            group = add(made, "technical")
            for name in technical:
                add(group, name)
        known = {**_ARTICULATIONS, "breath": "breath-mark"}
        found = [known[word] for word in words if word in known]
        if found:
            group = add(made, "articulations")
            for name in found:
                add(group, name)
        self.lost["signs"] += sum(word not in known and word not in _TECHNICAL for word in words)
        if fermata:
            add(made, "fermata")

    def _lyrics(self, note: Element, *elements: Element) -> None:
        for element in elements:
            verses = [each for each in chosen(element) if plain_tag(each) == "verse"]
            loose = [each for each in chosen(element) if plain_tag(each) == "syl"]
            for count, verse in enumerate([*verses, *loose], 1):
                syllables = (
                    [verse]
                    if plain_tag(verse) == "syl"
                    else [each for each in chosen(verse) if plain_tag(each) == "syl"]
                )
                number = verse.get("n") or str(count)
                for syllable in syllables[:1]:
                    text = " ".join("".join(map(str, syllable.itertext())).split())
                    if not text:
                        continue
                    lyric = add(note, "lyric", number=number)
                    add(lyric, "syllabic", self._syllabic(syllable, number))
                    add(lyric, "text", text)
                self.lost["further syllables on a note"] += max(len(syllables) - 1, 0)

    def _syllabic(self, syllable: Element, verse: str) -> str:
        """Where in its word a syllable stands; from hyphens alone where nothing says it."""
        said = _SYLLABIC.get(syllable.get("wordpos") or "")
        joined = verse in self._syllables
        goes_on = syllable.get("con") == "d" if said is None else said in ("begin", "middle")
        (self._syllables.add if goes_on else self._syllables.discard)(verse)
        if said is not None:
            return said
        return ("middle" if joined else "begin") if goes_on else ("end" if joined else "single")
