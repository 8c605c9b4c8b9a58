"""What the engraver is given for some rows of a score: their bars and what reaches into them.

Laying a long score out takes the engraver long, and mostly one row is looked at. It is given that
row with its neighbours, and with every row in which something begins or ends that reaches into it
(a slur, a tied note, a hairpin), so that it draws the row as it would among all others.

Conventions
-----------
Rows are numbered from 0; ``opened`` are the bars that open one, the first among them. A *key* is a
digest of all that the drawing of a row depends on.
"""

from __future__ import annotations

import hashlib
from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from copy import copy, deepcopy
from itertools import islice

from lxml import etree

from rhythm.formats.musicxml.labelled import named, unnamed
from rhythm.score.model import Score

__all__ = ["RowTexts"]

_SPANNERS = frozenset({
    "bracket", "dashes", "ending", "glissando", "octave-shift", "pedal", "slide", "slur", "tied",
    "tuplet", "wavy-line", "wedge",
})  # fmt: skip
_HELD = ("divisions", "key", "time", "staves", "part-symbol", "clef", "staff-details", "transpose")
"""What holds until it is said anew, in the order in which a bar says it."""
_WHOLE = 4  # bars more or less: then all are given

Sign = tuple[str, str]


class RowTexts:
    """A score in rows that begin with the bars ``opened``; ``prefix`` goes before its names."""

    def __init__(self, score: Score, prefix: str, opened: Sequence[int], width: int) -> None:
        self._score, self._prefix, self._opened = score, prefix, tuple(opened)
        self._root = unnamed(score, prefix=prefix, breaks=self._opened[1:])
        self._ends = [*self._opened[1:], len(score.bars)]
        self._held: list[list[dict[Sign, etree._Element]]] = []
        self._reaches: set[tuple[int, int]] = set()
        """Of everything that lasts: the row where it begins and the one where it ends."""
        self.keys = self._read(width)

    def _read(self, width: int) -> list[str]:
        """Walk through all bars once: the keys of the rows, what holds, what lasts."""
        head = b"".join(etree.tostring(each) for each in self._root.iterchildren("part-list"))
        made = [hashlib.sha256(b"%d" % width + head) for _ in self._opened]
        names = self._first_events()
        for index, part in enumerate(self._root.iterchildren("part")):
            measures = list(part.iterchildren("measure"))
            held: dict[Sign, etree._Element] = {}
            begun: dict[Sign, tuple[int, bytes]] = {}
            self._held.append([])
            for row, (start, end) in enumerate(zip(self._opened, self._ends, strict=True)):
                digest = made[row]
                self._held[-1].append(dict(held))
                for key, element in sorted(held.items()):
                    digest.update(repr(key).encode() + etree.tostring(element))
                for key, (_, said) in sorted(begun.items()):
                    digest.update(repr(key).encode() + said)
                digest.update(repr(names[index][row]).encode())
                if row == len(self._opened) - 1:
                    digest.update(b"last")
                for measure in measures[start:end]:
                    digest.update(etree.tostring(measure))
                    self._go_on(measure, row, held, begun)
            self._reaches |= {
                (since, len(made) - 1) for (tag, _), (since, _) in begun.items() if tag == "lyric"
            }
        return [each.hexdigest()[:24] for each in made]

    def _first_events(self) -> list[list[tuple[int, ...]]]:
        """Part by part and row by row the number of each voice's first event: names go on.

        Along the way, the notes that are tied from row to row.
        """
        found: list[list[tuple[int, ...]]] = []
        for part in self._score.parts:
            voices = []
            for voice in part.voices:
                bars = [event.bar for event in voice.events]
                firsts = [bisect_left(bars, start) for start in self._opened]
                for event in voice.events:
                    if len(event.pieces) > 1 and event.pieces[-1].bar != event.bar:
                        since, until = self._row(event.bar), self._row(event.pieces[-1].bar)
                        self._reaches |= {(since, until)} if since != until else set()
                voices.append(firsts)
            found.append(list(zip(*voices, strict=True)) or [()] * len(self._opened))
        return found

    def _row(self, bar: int) -> int:
        return bisect_right(self._opened, bar) - 1

    def _go_on(
        self,
        measure: etree._Element,
        row: int,
        held: dict[Sign, etree._Element],
        begun: dict[Sign, tuple[int, bytes]],
    ) -> None:
        """What holds, and what has begun and not ended, after a bar."""
        for element in measure.iter("lyric", *_HELD, *_SPANNERS):
            tag = str(element.tag)
            if tag == "lyric":
                self._sing(element, row, begun)
                continue
            key = tag, element.get("number", "")
            if tag in _HELD:
                held[key] = element
                continue
            kind = element.get("type", "")
            voiced = tag, f"{key[1]} {_voice(element)}" if tag == "slur" else key[1]
            if kind in ("stop", "discontinue"):
                since, _ = begun.pop(voiced, (row, b""))
                if since != row and tag != "tied":  # how long notes are tied their events say
                    self._reaches.add((since, row))
            elif kind != "continue":
                begun[voiced] = row, etree.tostring(element)

    def _sing(self, lyric: etree._Element, row: int, begun: dict[Sign, tuple[int, bytes]]) -> None:
        """A syllable ends the hyphens or the line of the one before it, and may have its own."""
        key = "lyric", f"{lyric.get('number', '')} {_voice(lyric)}"
        since, _ = begun.pop(key, (row, b""))
        if since != row:
            self._reaches.add((since, row))
        if lyric.find("extend") is not None or lyric.findtext("syllabic") in ("begin", "middle"):
            begun[key] = row, etree.tostring(lyric)

    def text(self, first: int, last: int) -> tuple[bytes, int]:
        """What to draw these rows from, and the number of the row with which it begins."""
        low, high = max(0, first - 1), min(len(self._opened), last + 2) - 1
        for since, until in self._reaches:
            if since <= last and until >= first:
                low, high = min(low, since), max(high, until)
        start, end = self._opened[low], self._ends[high]
        if end - start + _WHOLE >= len(self._score.bars):
            return named(self._score, self._root, prefix=self._prefix), 0
        return named(
            self._score, self._bars(low, start, end), prefix=self._prefix, first=start
        ), low

    def _bars(self, row: int, start: int, end: int) -> etree._Element:
        """These bars in a tree of their own, with what holds where they begin."""
        root = _empty(self._root)
        part = -1
        for child in self._root:
            if child.tag != "part":
                root.append(copy(child))
                continue
            part += 1
            some = _empty(child)
            root.append(some)
            some.extend(copy(bar) for bar in islice(child.iterchildren("measure"), start, end))
            held = self._held[part][row]
            if held and len(some):
                said = etree.Element("attributes")
                for name in _HELD:
                    said.extend(deepcopy(held[sign]) for sign in sorted(held) if sign[0] == name)
                some[0].insert(0, said)
            for line in some[0].findall("print[@new-page]") if len(some) else ():
                some[0].remove(line)  # no empty page before the first row
        return root


def _empty(element: etree._Element) -> etree._Element:
    """The element with its attributes alone."""
    made = etree.Element(element.tag)
    for name, text in element.attrib.items():
        made.set(name, text)
    return made


def _voice(sign: etree._Element) -> str:
    """The voice of the note that a sign stands at."""
    note = next(sign.iterancestors("note"), None)
    return "" if note is None else note.findtext("voice") or ""
