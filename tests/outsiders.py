"""What others make of a file: onsets for music21 and partitura, warnings of the engraver.

Conventions
-----------
Onsets are whole notes from the start of the score. A chord counts once for music21 (it is one
object there) and once a member for partitura. Grace notes and chord symbols are left out; a note
tied over is counted at each of its written pieces.
"""

from __future__ import annotations

import os
import re
import sys
import tempfile
import warnings
from collections import Counter
from collections.abc import Callable
from fractions import Fraction
from typing import Any

from rhythm.score.model import Score

Onsets = Counter[object]


def our_onsets(score: Score, *, members: bool) -> Onsets:
    """Where the written notes of ``score`` begin; with ``members`` each note of a chord counts."""
    found: Onsets = Counter()
    for part in score.parts:
        for voice in part.voices:
            for event in voice.events:
                if event.duration > 0 and not event.is_rest:
                    for piece in event.pieces:
                        at = part.bars[piece.bar].start + piece.offset
                        key = Fraction(int(at.numerator), int(at.denominator))
                        found[key] += len(event.notes) if members else 1
    return found


def music21_onsets(data: bytes) -> Onsets:
    """Where music21 has the notes."""
    import music21

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        try:
            theirs = music21.converter.parseData(data.decode(), format="musicxml")
        except Exception as error:  # it knows no such thing, whatever that may be
            return Counter({str(error): 1})
    found: Onsets = Counter()
    for part in theirs.parts:
        for bar in part.getElementsByClass(music21.stream.Measure):
            for note in bar.recurse().notes:
                if note.duration.isGrace or isinstance(note, music21.harmony.ChordSymbol):
                    continue
                at = Fraction(bar.offset) + Fraction(note.getOffsetInHierarchy(bar))
                found[at / 4] += 1
    return found


def partitura_onsets(data: bytes) -> Onsets:
    """Where partitura has the notes."""
    found: Onsets = Counter()
    with tempfile.TemporaryDirectory() as folder, warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import partitura
        from partitura import score as model

        path = os.path.join(folder, "score.musicxml")
        with open(path, "wb") as file:
            file.write(data)
        try:
            theirs = partitura.load_musicxml(path)
        except Exception as error:
            return Counter({str(error): 1})
        for part in theirs.parts:
            quarters = _quarters(part)
            for kind in (model.Note, model.UnpitchedNote):
                for note in part.iter_all(kind, include_subclasses=False):
                    found[quarters(note.start.t) / 4] += 1
    return found


def _quarters(part: Any) -> Callable[[int], Fraction]:
    """Quarters from the start at a tick, through every change of divisions."""
    steps = [(int(at), int(per)) for at, per in part.quarter_durations()]

    def quarters(tick: int) -> Fraction:
        total = Fraction(0)
        for i, (at, per) in enumerate(steps):
            end = steps[i + 1][0] if i + 1 < len(steps) else tick
            if tick > at:
                total += Fraction(min(int(tick), end) - at, per)
        return total

    return quarters


_NAMES = re.compile(r"'[^']*'|\"[^\"]*\"|\b[\w-]*\d[\w-]*\b")

_ROOM = re.compile(r"\t|Justification|Insufficient space")
TIES_LEFT_OPEN = "[Warning] MusicXML import: There are _ ties left open"
_SEVERAL = re.compile(r"There are (\d+)")


def engraver_warnings(data: bytes) -> Counter[str]:
    """What verovio warns of while it reads and engraves every page, names and numbers left out.

    What it says of the room on a page is left out. It names elements by lot, and in long scores a
    name comes up twice and sets off warnings of its own; so only what two lots agree on counts.
    """
    found = _warnings(data, 1)
    return found & _warnings(data, 2) if found else found


def _warnings(data: bytes, lot: int) -> Counter[str]:
    import verovio

    verovio.enableLog(verovio.LOG_WARNING)
    kept = os.dup(2)
    with tempfile.TemporaryFile() as heard:
        sys.stderr.flush()
        os.dup2(heard.fileno(), 2)
        try:
            toolkit = verovio.toolkit()
            toolkit.setOptions({"pageHeight": 60000})
            toolkit.resetXmlIdSeed(lot)
            loaded = toolkit.loadData(data.decode())
            if loaded:
                for page in range(1, toolkit.getPageCount() + 1):
                    toolkit.renderToSVG(page)
        finally:
            os.dup2(kept, 2)
            os.close(kept)
        heard.seek(0)
        lines = heard.read().decode(errors="replace").splitlines()
    found: Counter[str] = Counter()
    said = {line.strip() for line in lines if line.strip() and not _ROOM.search(line)}
    for line in sorted(said):  # each once, though it is said again at each page
        several = _SEVERAL.search(line)
        found[_NAMES.sub("_", line)] += int(several[1]) if several else 1
    if not loaded:
        found["not engraved at all"] += 1
    return found
