"""What sounds together stays together: torn and reversed instants, counted on real scores.

Every score with two or more visible voices is restated to every target under every lilt, and what
its voices struck together is looked up in the result. Run it as ``python -m tests.together``, or
with a folder of scores of your own; ``--every 5`` takes every fifth score, ``--symbols`` counts
also how many symbols more are written than if each voice had been fitted by itself; ``--most 40``
looks at the first forty bars of every score.

Conventions
-----------
An *instant* is an onset that visible notes of two or more voices share. It is *torn* where they
come apart. Two onsets of different voices are *reversed* where the later has become the earlier,
and *met* where they have come together; only a tuplet and a plain division may meet.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import pairwise
from multiprocessing import Pool
from pathlib import Path

from gmpy2 import mpq

from rhythm.exact.errors import MusicError, RequestError
from rhythm.formats import read
from rhythm.score.excerpt import excerpt
from rhythm.score.model import Event, Part, Score
from rhythm.score.select import Bars
from rhythm.verbs import restate
from tests.corpus import SUFFIXES, corpus_files

TARGETS = ("compound", "triplets", "simple", "duplets", "5/8", "7/8", "5/4", "3/4", "4/4")
LILTS = ("trochee", "iamb", "even", "2:1", "3:2")


@dataclass
class Count:
    """What was found in one restatement, or in several added up."""

    instants: int = 0
    torn: int = 0
    reversed: int = 0
    met: int = 0
    symbols: int = 0
    alone: int = 0

    def add(self, other: Count) -> None:
        """Take in what another restatement showed."""
        for name in self.__dataclass_fields__:
            setattr(self, name, getattr(self, name) + getattr(other, name))


def lines_of(score: Score) -> list[list[Event]]:
    """The visible notes of every voice that has some."""
    found = []
    for part in score.parts:
        for voice in part.voices:
            notes = [e for e in voice.events if not e.is_rest and e.duration > 0]
            if any(e.visible for e in notes):
                found.append(notes)
    return found


def together(source: Score, result: Score) -> Count:
    """Compare the onsets of a score with those of its restatement, bar by bar."""
    places: dict[mpq, set[mpq]] = {}
    shared: dict[mpq, int] = {}
    read, written = set[mpq](), set[mpq]()
    for before, after in zip(lines_of(source), lines_of(result), strict=True):
        for old, new in zip(before, after, strict=True):
            if old.visible:
                places.setdefault(old.onset, set()).add(new.onset)
                shared[old.onset] = shared.get(old.onset, 0) + 1
                if any(piece.tuplets for piece in old.pieces):
                    read.add(old.onset)
                if any(piece.tuplets for piece in new.pieces):
                    written.add(old.onset)
    count = Count(instants=sum(1 for n in shared.values() if n > 1))
    count.torn = sum(1 for found in places.values() if len(found) > 1)
    for (a, first), (b, second) in pairwise(sorted(places.items())):
        count.reversed += max(first) > min(second)
        alike = all((a in tuplets) == (b in tuplets) for tuplets in (read, read | written))
        count.met += max(first) == min(second) and alike
    return count


def symbols(score: Score) -> int:
    """How many written notes the visible voices have."""
    return sum(len(e.pieces) for line in lines_of(score) for e in line if e.visible)


def voices_apart(score: Score) -> Iterator[Score]:
    """The score once for each voice that shows notes, with that voice alone."""
    for part in score.parts:
        for voice in part.voices:
            if any(e.visible and not e.is_rest for e in voice.events):
                yield score.replace(parts=(part.replace(voices=(voice,)),))


def measure(score: Score, target: str, lilt: str, apart: bool = False) -> Count:
    """One restatement measured; nothing is counted where the music does not allow it."""
    try:
        result = restate(score, target, lilt=lilt)
    except (MusicError, RequestError):
        return Count()
    count = together(score, result)
    if apart:
        count.symbols = symbols(result)
        count.alone = sum(symbols(restate(one, target, lilt=lilt)) for one in voices_apart(score))
    return count


def has_voices(parts: Iterable[Part]) -> bool:
    """Two or more voices or parts?"""
    return sum(len(part.voices) for part in parts) > 1


def opening(score: Score, most: int) -> Score:
    """The first ``most`` bars of a score, all of it where it has no more."""
    return score if most >= len(score.bars) else excerpt(score, bars=Bars.run(0, most - 1))


def _job(job: tuple[Path, bool, int]) -> tuple[Path, dict[tuple[str, str], Count]]:
    path, apart, most = job
    found: dict[tuple[str, str], Count] = {}
    try:
        score = opening(read(path), most)
    except (MusicError, RequestError, OSError):
        return path, found
    if has_voices(score.parts):
        for target in TARGETS:
            for lilt in LILTS:
                found[target, lilt] = measure(score, target, lilt, apart)
    return path, found


def main() -> None:
    """Print one row a target and lilt, and name the scores with something torn or reversed."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", nargs="?", type=Path, help="default: the corpus of music21")
    parser.add_argument("--every", type=int, default=5, help="take every nth score (default 5)")
    parser.add_argument("--symbols", action="store_true", help="compare with voice by voice")
    parser.add_argument("--most", type=int, default=10**6, help="bars of a score (default: all)")
    parser.add_argument("--jobs", type=int, default=1, help="processes")
    options = parser.parse_args()
    if options.folder:
        files = sorted(p for p in options.folder.rglob("*") if p.suffix in SUFFIXES)
    else:
        files = list(corpus_files())
    files = files[:: options.every]
    rows: dict[tuple[str, str], Count] = {}
    scores = 0
    with Pool(options.jobs) as pool:
        jobs = ((path, options.symbols, options.most) for path in files)
        for path, found in pool.imap_unordered(_job, jobs):
            scores += bool(found)
            for key, count in found.items():
                rows.setdefault(key, Count()).add(count)
                if count.torn or count.reversed or count.met:
                    print(f"{path.name}, {' '.join(key)}: {count}", flush=True)
    print(f"\n{scores} scores\n")
    print("| target | lilt | shared instants | torn | reversed | met | symbols more |")
    print("|---|---|---|---|---|---|---|")
    for (target, lilt), c in sorted(rows.items()):
        more = f"{c.symbols - c.alone} of {c.alone}" if options.symbols else ""
        print(f"| {target} | {lilt} | {c.instants} | {c.torn} | {c.reversed} | {c.met} | {more} |")


if __name__ == "__main__":
    main()
