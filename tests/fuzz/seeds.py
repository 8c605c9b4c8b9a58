"""What is damaged: whole scores of each kind that is read, small enough to be many."""

from __future__ import annotations

import io
from copy import deepcopy
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import mido
from lxml import etree

from rhythm.formats.files import load
from tests.corpus import SUFFIXES, corpus_files, music21_folder
from tests.formats.test_features import FEATURES
from tests.formats.test_hostile_scores import SCORES
from tests.markup import backup, note, partwise

__all__ = ["Seed", "seeds"]

_MOST_BARS, _MOST_PARTS = 8, 3
_CORPUS, _SUITE, _OTHERS = 40, 60, 6


@dataclass(frozen=True, slots=True)
class Seed:
    """A score before anything is done to it; ``kind`` is musicxml, abc, krn, mei or mid."""

    name: str
    kind: str
    data: bytes


@cache
def seeds() -> dict[str, tuple[Seed, ...]]:
    """All seeds by their kind, in a stable order."""
    scores = [*_literal(), *_from_suite(), *_from_corpus()]
    found = {
        "musicxml": tuple(scores),
        "abc": (Seed("a song", "abc", _ABC), *_small("abc", ".abc")),
        "krn": (Seed("two spines", "krn", _KERN), *_small("krn", ".krn")),
        "mei": tuple(_small("mei", ".mei")) or (Seed("two bars", "mei", _MEI),),
        "mid": (Seed("a scale", "mid", _midi()),),
    }
    assert len(scores) >= 60
    return found


def _literal() -> list[Seed]:
    made = [Seed(name, "musicxml", partwise(bar, bar)) for name, bar in FEATURES.items()]
    made += [Seed(name, "musicxml", data) for name, data in SCORES.items() if len(data) < 4000]
    eighths = "".join(note("C4", 2, "eighth") for _ in range(8))
    triplets = "".join(
        note("E4", 4, "eighth", ratio="3:2", inside=f'<tuplet type="{end}"/>' if end else "")
        for end in ("start", "", "stop") * 4
    )
    held = note("G4", 8, "half") + note("G4", 8, "half", ties="start")
    ended = note("G4", 8, "half", ties="stop") + note("rest", 8, "half")
    below = note("C3", 16, "whole", voice="2", staff="2")
    made += [
        Seed("eighths", "musicxml", partwise(eighths, eighths, eighths)),
        Seed("triplets", "musicxml", partwise(triplets, triplets, divisions=12)),
        Seed("a tie over the bar", "musicxml", partwise(eighths, held, ended)),
        Seed("two voices", "musicxml", partwise(eighths + backup(16) + below, held, ended)),
        Seed(
            "a repeat in every bar",
            "musicxml",
            partwise(*(_repeated(eighths) for _ in range(4))),
        ),
    ]  # fmt: skip
    return made


def _repeated(bar: str) -> str:
    return (
        f'<barline location="left"><repeat direction="forward"/></barline>{bar}'
        '<barline location="right"><repeat direction="backward"/></barline>'
    )


def _from_suite() -> list[Seed]:
    """The test suite that the library carries, one feature a file, spread over its chapters."""
    folder = music21_folder() / "musicxml" / "lilypondTestSuite"
    files = sorted(path for path in folder.glob("*") if path.suffix in SUFFIXES)
    return [_seed(path) for path in _spread(files, _SUITE)]


def _from_corpus() -> list[Seed]:
    files = [path for path in corpus_files() if path.stat().st_size < 40_000]
    return [_shortened(_seed(path)) for path in _spread(files, _CORPUS)]


def _spread(files: list[Path], count: int) -> list[Path]:
    step = max(1, len(files) // count)
    return files[::step][:count]


def _seed(path: Path) -> Seed:
    return Seed(path.name, "musicxml", load(path)[0])


def _shortened(seed: Seed) -> Seed:
    """The first bars of the first parts: what goes wrong goes wrong there too, and sooner."""
    root = etree.fromstring(seed.data)
    parts = root.findall("part")
    listed = root.findall("part-list/score-part")
    if len(parts) != len(listed):
        return seed
    for part, entry in zip(parts[_MOST_PARTS:], listed[_MOST_PARTS:], strict=True):
        root.remove(part)
        parent = entry.getparent()
        if parent is not None:
            parent.remove(entry)
    for part in parts[:_MOST_PARTS]:
        for bar in part.findall("measure")[_MOST_BARS:]:
            part.remove(bar)
    for group in root.findall("part-list/part-group"):
        root[root.index(group.getparent())].remove(group)
    return Seed(seed.name, seed.kind, etree.tostring(deepcopy(root)))


def _small(kind: str, ending: str) -> list[Seed]:
    files = sorted((music21_folder() / "corpus").rglob(f"*{ending}"))
    files = [path for path in files if path.stat().st_size < 6_000]
    return [Seed(path.name, kind, path.read_bytes()) for path in _spread(files, _OTHERS)]


_ABC = b"""X:1
T:A song
M:3/4
L:1/8
Q:1/4=100
K:D
|: "D"D2 F2 A2 | (3def d>B A2- | A2 {g}f2 [DFA]2 |1 e6 :|2 d6 |]
w: one two three four five six se-ven eight nine ten
"""
_KERN = b"""**kern\t**kern
*clefF4\t*clefG2
*M3/4\t*M3/4
=1\t=1
4C\t8c
.\t8d
4E\t12e
.\t12f
.\t12g
4G\t4a[
=2\t=2
2.C\t4a]
.\t4b
.\t4r
==\t==
*-\t*-
"""
_MEI = b"""<mei xmlns="http://www.music-encoding.org/ns/mei" meiversion="5.0"><meiHead><fileDesc>
<titleStmt><title>Two bars</title></titleStmt><pubStmt/></fileDesc></meiHead><music><body><mdiv>
<score><scoreDef meter.count="3" meter.unit="4"><staffGrp><staffDef n="1" lines="5" clef.shape="G"
clef.line="2"/></staffGrp></scoreDef><section><measure n="1"><staff n="1"><layer n="1">
<note pname="c" oct="4" dur="4"/><beam><note pname="d" oct="4" dur="8"/><note pname="e" oct="4"
dur="8"/></beam><note xml:id="n1" pname="f" oct="4" dur="4"/></layer></staff><tie startid="#n1"
endid="#n2"/></measure><measure n="2"><staff n="1"><layer n="1"><note xml:id="n2" pname="f" oct="4"
dur="2" dots="1"/></layer></staff></measure></section></score></mdiv></body></music></mei>
"""


def _midi() -> bytes:
    file = mido.MidiFile(ticks_per_beat=480)
    track = mido.MidiTrack()
    file.tracks.append(track)
    track.append(mido.MetaMessage("time_signature", numerator=3, denominator=4))
    for key in (60, 62, 64, 65, 67, 65, 64, 62, 60):
        track.append(mido.Message("note_on", note=key, velocity=80, time=0))
        track.append(mido.Message("note_off", note=key, velocity=0, time=240))
    held = io.BytesIO()
    file.save(file=held)
    return held.getvalue()
