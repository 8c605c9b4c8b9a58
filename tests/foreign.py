"""Formats other than MusicXML against independent readers: is every note where it should be?

    python -m tests.foreign              200 tunes, 200 kern files, 60 scores made into MEI
    python -m tests.foreign kern --all   every kern file of the music21 package

Conventions
-----------
A note is its onset, its length (tied notes as one) and its key, as written. ABC is held against a
count of the tokens of the text and against music21's reader, kern against a reading of its tokens,
MEI (made by the engraver) against the MusicXML that it was made of. What another reader has against
a file is printed with it.
"""

from __future__ import annotations

import argparse
import sys
import warnings
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

from gmpy2 import mpq
from lxml import etree

from rhythm.exact.errors import RemetreError
from rhythm.formats.abc.book import Tune, tunes_of
from rhythm.formats.abc.score import musicxml_of as musicxml_of_abc
from rhythm.formats.bridge.humdrum import mei_of_humdrum
from rhythm.formats.files import load
from rhythm.formats.mei.score import movements_of, musicxml_of, parse
from rhythm.formats.musicxml.read.score_reader import read
from rhythm.formats.recognise import text_of
from rhythm.score.model import Score
from tests.abc_tokens import count_tune
from tests.corpus import corpus_files, music21_folder
from tests.kern_tokens import Sounding, kern_notes

__all__ = ["against", "kern_files", "mei_files", "sounding", "tunes"]


def sounding(score: Score) -> Sounding:
    """Every note by its onset, its length and its key; what is tied is one note."""
    found: Sounding = Counter()
    for part in score.parts:
        held: dict[tuple[mpq, int], list[mpq]] = {}  # (end, key) of what is tied on: its onsets
        notes = sorted(
            (event.onset, event.end, int(note.pitch.midi), note.tie_in, note.tie_out)
            for voice in part.voices
            for event in voice.events
            for note in event.notes
            if note.pitch is not None and event.duration
        )
        for onset, end, key, tie_in, tie_out in notes:
            waiting = held.get((onset, key)) if tie_in else None
            start = waiting.pop() if waiting else onset
            if tie_out:
                held.setdefault((end, key), []).append(start)
            else:
                found[start, end - start, key] += 1
        for (end, key), starts in held.items():
            for start in starts:
                found[start, end - start, key] += 1
    return found


def spread(things: Sequence[object], count: int) -> Sequence[object]:
    """So many of them, evenly spread."""
    return things[:: max(1, len(things) // count)] if count else things


def tunes() -> list[tuple[Path, Tune]]:
    """Every tune of the ABC books."""
    files = sorted((music21_folder() / "corpus").rglob("*.abc"))
    return [(path, tune) for path in files for tune in tunes_of(text_of(path.read_bytes()))]


def kern_files() -> list[Path]:
    """Every kern file."""
    return sorted((music21_folder() / "corpus").rglob("*.krn"))


def mei_files() -> list[Path]:
    """Scores in MusicXML that the engraver can make into MEI in a moment."""
    return [path for path in corpus_files() if 2000 < path.stat().st_size < 60_000]


def abc_tokens(each: tuple[Path, Tune]) -> tuple[str, str]:
    """What is wrong with a tune by a count of its tokens, "" for nothing."""
    path, tune = each
    name = f"{path.name} {tune.number}"
    data, lost = musicxml_of_abc(tune)
    counted = count_tune("\n".join(tune.lines))
    pieces = [
        (event.is_rest, piece.duration)
        for _, _, event in read(data).events()
        for piece in event.pieces
        if event.duration
    ]
    # A length of two symbols is two pieces, tied; nothing else is written in more.
    split = len(pieces) - len(counted)
    if split < 0 or sum(d for _, d in pieces) != sum(d for _, d in counted):
        return name, f"{len(pieces)} pieces, {len(counted)} tokens"
    if not split and Counter(pieces) != Counter(counted):
        return name, "other lengths"
    notes = [kind for kind in lost if kind.startswith("note")]
    return name, f"lost {notes}" if notes else ""


def abc_music21(each: tuple[Path, Tune]) -> tuple[str, str]:
    """What is wrong with a tune by music21's reading of it, note after note."""
    from music21 import converter

    path, tune = each
    name = f"{path.name} {tune.number}"
    ours = sounding(read(musicxml_of_abc(tune)[0]))
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        text = f"X:{tune.number}\n" + "\n".join(tune.lines)
        try:
            theirs = converter.parseData(text, format="abc").stripTies()
        except Exception as error:  # whatever it may raise
            return name, f"music21 cannot read it: {' '.join(str(error).split())[:60]}"
        found: Sounding = Counter(
            (_whole(note.getOffsetInHierarchy(theirs)), _whole(note.quarterLength), p.midi)
            for note in theirs.recurse().notes
            if not note.duration.isGrace and not note.classSet & {"ChordSymbol", "NoChord"}
            for p in note.pitches
        )
    return name, difference(ours, found)


def _whole(quarters: object) -> mpq:
    return mpq(str(quarters)) / 4 if "/" in str(quarters) else mpq(quarters) / 4  # type: ignore[call-overload,no-any-return]


def kern(path: Path) -> tuple[str, str]:
    """What is wrong with a kern file by a reading of its tokens."""
    data = path.read_bytes()
    try:
        root = parse(mei_of_humdrum(data))
        ours = sounding(read(musicxml_of(root, movements_of(root)[0][0])[0]))
    except (RemetreError, ValueError) as error:
        return path.name, f"refused: {error}"
    return path.name, difference(ours, kern_notes(text_of(data)))


def mei(path: Path) -> tuple[str, str]:
    """What is wrong with MEI that the engraver makes of a score in MusicXML."""
    import verovio

    data, _ = load(path)
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        data = etree.tostring(etree.fromstring(data), encoding="UTF-8")
    score = read(data)
    verovio.enableLog(verovio.LOG_OFF)
    toolkit = verovio.toolkit()
    toolkit.setOptions({"inputFrom": "xml"})
    if not toolkit.loadData(data.decode()):
        return path.name, "not made"
    try:
        root = parse(toolkit.getMEI().encode())
        again = read(musicxml_of(root, movements_of(root)[0][0])[0])
    except RemetreError as error:
        return path.name, f"refused: {error}"
    if [bar.metre for bar in again.bars] != [bar.metre for bar in score.bars]:
        return path.name, "other metres"
    return path.name, difference(sounding(again), sounding(score))


def difference(ours: Sounding, theirs: Sounding) -> str:
    """What only one of two readers has, in a few words; "" for nothing."""
    mine, other = ours - theirs, theirs - ours
    if not mine and not other:
        return ""
    first = [f"{who} {min(these)}" for who, these in (("ours", mine), ("theirs", other)) if these]
    return f"{mine.total()} and {other.total()} of {theirs.total()} notes: " + ", ".join(first)


MEASURES: dict[str, tuple[Callable[[], Sequence[object]], Callable[..., tuple[str, str]], int]] = {
    "abc": (tunes, abc_tokens, 200),
    "abc-music21": (tunes, abc_music21, 200),
    "kern": (kern_files, kern, 200),
    "mei": (mei_files, mei, 60),
}


def against(kind: str, count: int = 0, small: int = 0) -> Iterator[tuple[str, str]]:
    """(name, what is wrong or "") of so many things of a kind; 0 is all of them.

    ``small`` leaves out files of more bytes.
    """
    listed, measure, _ = MEASURES[kind]
    things = listed()
    if small:
        things = [
            each for each in things if not isinstance(each, Path) or each.stat().st_size < small
        ]
    for each in spread(things, count):
        yield measure(each)


def main() -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.foreign")
    parser.add_argument("kinds", nargs="*", help=f"of {', '.join(MEASURES)}")
    parser.add_argument("--all", action="store_true", help="all there are")
    parser.add_argument("--count", type=int, help="so many of each")
    asked = parser.parse_args()
    wrong = 0
    for kind in asked.kinds or MEASURES:
        usual = MEASURES[kind][2]
        found = list(against(kind, 0 if asked.all else asked.count or usual))
        told = [(name, what) for name, what in found if what]
        for name, what in told:
            print(f"{kind} {name}: {what}")
        print(f"{kind}: {len(found) - len(told)} of {len(found)} agree")
        wrong += len(told)
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
