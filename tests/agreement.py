"""How far fair copies agree with professional editors: the measure behind docs/editors.md.

Scores that editors wrote are spelled afresh from onsets and durations alone, with no hints, and
compared bar by bar with what the editors had. Run it as ``python -m tests.agreement``.

Conventions
-----------
The unit is one bar of one voice of one part that holds at least one visible note; bars of rests
alone are not counted, hidden and cue notes are not looked at. *Values* agree where every note and
rest has the same place, type and dots and every note the same ties. *Tuplets* are counted over the
bars where the editor or we have one, and agree where every symbol has the same ratio. *Beams* are
counted over the bars whose values agree, in parts whose source has beams, and whole ones (some
exporters wrote beginnings without ends); they agree where the same notes are joined, *levels* where
every level is the same too, whichever way a hook points. *Joined* counts of these only the bars
that hold two short notes or more. Parts with lyrics are a class of their own there: syllabic
beaming is a style.

How far each editor's own hand can be learned is measured apart, by halves: see
:mod:`tests.halves`. Any folders and files may be named instead of the corpus.
"""

from __future__ import annotations

import argparse
import random
import sys
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from multiprocessing import Pool
from pathlib import Path

from gmpy2 import mpq

from rhythm.exact.errors import RemetreError
from rhythm.formats import read
from rhythm.notate.beams import FLAGS
from rhythm.notate.observation import has_whole_beams
from rhythm.notate.score_notation import spell_score
from rhythm.notate.values import symbol_of
from rhythm.score.model import Bar, Event, Part, Piece, Score
from tests.defects import Defect, defects
from tests.halves import Count, measured, table
from tests.remainder import kind_of

CHORALES = 60
"""How many of the 400 chorales are taken, spread evenly; of everything else, all."""

SUFFIXES = (".mxl", ".xml", ".musicxml")

COMMON = 30
"""Metres with fewer bars than this share a row."""

_LETTERS = {
    "maxima": "X", "long": "L", "breve": "B", "whole": "1", "half": "2", "quarter": "4",
    "eighth": "8", "16th": "16", "32nd": "32", "64th": "64", "128th": "128", "256th": "256",
}  # fmt: skip


@dataclass
class Tally:
    """Bars counted and bars agreed, by what is compared."""

    counted: Counter[str] = field(default_factory=Counter)
    agreed: Counter[str] = field(default_factory=Counter)

    def add(self, what: str, agrees: bool) -> None:
        self.counted[what] += 1
        self.agreed[what] += agrees

    def join(self, other: Tally) -> None:
        self.counted += other.counted
        self.agreed.update(other.agreed)

    def share(self, what: str) -> str:
        if not self.counted[what]:
            return "–"
        return f"{100 * self.agreed[what] / self.counted[what]:.1f}"


@dataclass(frozen=True)
class Difference:
    """One bar where we differ: what is compared, where, and both rhythms as text."""

    what: str
    kind: str
    score: str
    part: str
    bar: str
    voice: str
    metre: str
    theirs: str
    ours: str


@dataclass
class Result:
    """What one score came to."""

    path: str
    tallies: dict[str, Tally] = field(default_factory=lambda: defaultdict(Tally))
    differences: list[Difference] = field(default_factory=list)
    error: str = ""
    halves: Count = field(default_factory=Counter)


def corpus_paths(everything: bool = False) -> list[Path]:
    """The scores measured: all of the corpus that is MusicXML, of the chorales every so many."""
    import music21

    root = Path(music21.__file__).parent / "corpus"
    paths = sorted(
        p for p in root.rglob("*") if p.suffix in (".mxl", ".xml", ".musicxml") and p.is_file()
    )
    chorales = [p for p in paths if p.parent.name == "bach" and p.name.startswith("bwv")]
    others = [p for p in paths if p not in set(chorales) and "theoryExercises" not in p.parts]
    if everything:
        return paths
    step = max(1, len(chorales) // CHORALES)
    return others + chorales[::step]


def found_in(paths: Iterable[Path]) -> list[Path]:
    """The files named, and the scores in the folders named, in order."""
    found: list[Path] = []
    for path in paths:
        inside = sorted(p for p in path.rglob("*") if p.suffix in SUFFIXES) if path.is_dir() else []
        found += inside or [path]
    return found


def _written(event: Event, bar: Bar) -> Iterator[Piece]:
    return (piece for piece in event.pieces if piece.bar == bar.index)


Row = list[tuple[Event, Piece]]


def _rows(part: Part) -> dict[tuple[str, int], Row]:
    """The visible pieces of each voice in each bar, in order of time."""
    rows: dict[tuple[str, int], Row] = defaultdict(list)
    for voice in part.voices:
        for event in voice.events:
            if event.visible:
                for piece in event.pieces:
                    rows[voice.name, piece.bar].append((event, piece))
    for row in rows.values():
        row.sort(key=lambda pair: pair[1].offset)
    return rows


def _named(piece: Piece) -> tuple[str, int]:
    if piece.whole_bar:
        return ("bar", 0)
    if piece.type:
        return (piece.type, piece.dots)
    return symbol_of(piece.duration, 3) or ("?", 0)


def _values(row: Row) -> list[object]:
    return [
        (piece.offset, event.is_rest, _named(piece), event.pieces[0] is piece or event.is_rest)
        for event, piece in row
    ]


def _ratios(row: Row) -> list[object]:
    return [(piece.offset, piece.ratio) for _, piece in row]


def _beam_groups(row: Row) -> list[tuple[mpq, ...]]:
    groups: list[tuple[mpq, ...]] = []
    run: list[mpq] = []
    for event, piece in row:
        if event.is_rest or not piece.beams:
            continue
        if piece.beams[0] in ("begin", "continue", "end"):
            run.append(piece.offset)
        if piece.beams[0] == "end":
            groups.append(tuple(run))
            run = []
    if run:
        groups.append(tuple(run))
    return groups


def _all_beams(row: Row) -> list[object]:
    return [
        (piece.offset, tuple("hook" if "hook" in word else word for word in piece.beams))
        for event, piece in row
        if not event.is_rest
    ]


def rhythm_text(row: Row) -> str:
    """A rhythm on one line: 8. dotted eighth, r rest, ~ tied on, (- ) beams, 3:2 ratio."""
    words: list[str] = []
    ratio: tuple[int, int] = (1, 1)
    for event, piece in row:
        if piece.ratio != ratio:
            ratio = piece.ratio
            words.append(f"[{ratio[0]}:{ratio[1]}]" if ratio != (1, 1) else "[]")
        kind, dots = _named(piece)
        word = ("r" if event.is_rest else "") + _LETTERS.get(kind, kind) + "." * dots
        if not event.is_rest and event.pieces[-1] is not piece:
            word += "~"
        beam = piece.beams[0] if piece.beams else ""
        if beam == "begin":
            word = "(" + word
        elif beam == "end":
            word += ")"
        words.append(word)
    return " ".join(words)


def compare(score: Score, name: str) -> Result:
    """Compare a score with its own fair copy."""
    result = Result(name)
    copy = spell_score(score, hints=False)
    for theirs, ours in zip(score.parts, copy.parts, strict=True):
        _compare_part(result, theirs, ours)
    return result


def _compare_part(result: Result, theirs: Part, ours: Part) -> None:
    mine, yours = _rows(ours), _rows(theirs)
    has_beams = has_whole_beams(theirs)
    sung = any(event.verses for voice in theirs.voices for event in voice.events)
    for (voice, index), row in yours.items():
        if all(event.is_rest for event, _ in row):
            continue
        bar = theirs.bars[index]
        other = mine[voice, index]
        metre = str(bar.metre) if bar.metre else "none"
        compared = {"values": _values(row) == _values(other)}
        if any(piece.ratio != (1, 1) for _, piece in row + other):
            compared["tuplets"] = _ratios(row) == _ratios(other)
        short = sum(1 for event, piece in other if not event.is_rest and piece.type in FLAGS)
        if has_beams and compared["values"]:
            style = "sung " if sung else ""
            joined = compared[f"{style}beams"] = _beam_groups(row) == _beam_groups(other)
            compared[f"{style}levels"] = _all_beams(row) == _all_beams(other)
            if short > 1:
                compared[f"{style}joined"] = joined
        for what, agrees in compared.items():
            result.tallies[metre].add(what, agrees)
            if not agrees:
                result.differences.append(
                    Difference(
                        what,
                        kind_of(what, bar.metre, row, other),
                        result.path,
                        theirs.id,
                        bar.number,
                        voice,
                        metre,
                        rhythm_text(row),
                        rhythm_text(other),
                    )
                )


def measure(path: Path) -> Result:
    """Compare one file; a file that cannot be read is said, not skipped."""
    name = f"{path.parent.name}/{path.name}"
    try:
        score = read(str(path))
        result = compare(score, name)
        result.halves = measured(score)
        return result
    except RemetreError as error:
        return Result(name, error=str(error))


_COLUMNS = (
    "values", "tuplets", "beams", "levels", "joined", "sung beams", "sung levels", "sung joined",
)  # fmt: skip


def _table(title: str, rows: Iterable[tuple[str, int, Tally]]) -> Iterator[str]:
    heads = (title, "scores", "bars", *_COLUMNS)
    yield "| " + " | ".join(heads) + " |"
    yield "|" + "---|" * len(heads)
    for name, scores, tally in rows:
        cells = (name, str(scores), str(tally.counted["values"]), *map(tally.share, _COLUMNS))
        yield "| " + " | ".join(cells) + " |"


def report(results: list[Result]) -> Iterator[str]:
    """The tables: by metre, by collection, and all together."""
    by_metre: dict[str, Tally] = defaultdict(Tally)
    by_folder: dict[str, Tally] = defaultdict(Tally)
    metre_scores: Counter[str] = Counter()
    folder_scores: Counter[str] = Counter()
    total = Tally()
    for result in results:
        folder = result.path.split("/")[0]
        folder_scores[folder] += 1
        for metre, tally in result.tallies.items():
            metre_scores[metre] += 1
            by_metre[metre].join(tally)
            by_folder[folder].join(tally)
            total.join(tally)
    ranked = sorted(by_metre, key=lambda m: -by_metre[m].counted["values"])
    rows = [(m, metre_scores[m], by_metre[m]) for m in ranked]
    common = [row for row in rows if row[2].counted["values"] >= COMMON]
    rare = Tally()
    for _, _, tally in rows[len(common) :]:
        rare.join(tally)
    named = f"{len(rows) - len(common)} others"
    among = sum(count for _, count, _ in rows[len(common) :])
    yield from _table("metre", [*common, (named, among, rare)] if among else common)
    yield ""
    yield from _table("from", ((f, folder_scores[f], by_folder[f]) for f in sorted(by_folder)))
    yield ""
    yield from _table("all", [("all", len(results), total)])
    yield ""
    base = ", ".join(f"{what} {total.counted[what]}" for what in _COLUMNS)
    yield f"Bars counted: {base}."


def remainder(differences: Sequence[Difference]) -> Iterator[str]:
    """The differences counted by kind."""
    counts = Counter((d.what, d.kind) for d in differences if not d.what.endswith("joined"))
    scores: dict[tuple[str, str], set[str]] = defaultdict(set)
    for d in differences:
        scores[d.what, d.kind].add(d.score)
    yield ""
    yield "| compared | kind | bars | scores |"
    yield "|---|---|---|---|"
    for (what, kind), count in sorted(counts.items(), key=lambda pair: (pair[0][0], -pair[1])):
        yield f"| {what} | {kind} | {count} | {len(scores[what, kind])} |"
    yield ""


def _shuffled(differences: list[Difference], count: int, order: int) -> Iterator[str]:
    chosen = list(differences)
    random.Random(order).shuffle(chosen)
    for d in chosen[:count]:
        yield f"{d.what} ({d.kind}): {d.score} part {d.part} bar {d.bar} voice {d.voice}, {d.metre}"
        yield f"    editor  {d.theirs}"
        yield f"    ours    {d.ours}"


def _equal(differences: list[Difference], count: int, order: int) -> Iterator[str]:
    kinds = Counter((d.what, d.kind, d.metre, d.theirs, d.ours) for d in differences)
    for (what, kind, metre, theirs, ours), times in kinds.most_common(count):
        yield f"{times} times {what} ({kind}), {metre}"
        yield f"    editor  {theirs}"
        yield f"    ours    {ours}"


def faults(path: Path) -> tuple[str, list[Defect]]:
    """The defects of a file's fair copy; a file that cannot be read or written has none to show."""
    try:
        return str(path), defects(read(str(path)))
    except RemetreError:
        return str(path), []


def sweep(paths: Sequence[Path]) -> int:
    """Print every defect of every fair copy; exit code 1 where there is one."""
    found = 0
    with Pool(2) as pool:
        for name, here in pool.imap(faults, paths, chunksize=4):
            found += len(here)
            for kind, part, bar, bracket in here:
                sys.stdout.write(f"{kind}: {name} part {part} bar {bar}: {bracket}\n")
    sys.stdout.write(f"{len(paths)} scores, {found} defects\n")
    return 1 if found else 0


def main(arguments: list[str] | None = None) -> int:
    """Print the tables and, if asked, differing bars."""
    parser = argparse.ArgumentParser(prog="python -m tests.agreement", description=__doc__)
    parser.add_argument("paths", nargs="*", type=Path, help="files and folders; none: the corpus")
    parser.add_argument("--differences", type=int, default=0, metavar="N")
    parser.add_argument("--what", default="", help="only differences of this kind")
    parser.add_argument("--order", type=int, default=1, help="which shuffle of the differences")
    parser.add_argument("--every", type=int, default=1, metavar="N", help="only every Nth score")
    parser.add_argument("--everything", action="store_true", help="all chorales too")
    parser.add_argument("--kind", default="", help="only differences of this kind")
    parser.add_argument("--defects", action="store_true", help="look for plain defects alone")
    parser.add_argument("--equal", action="store_true", help="count equal differences instead")
    options = parser.parse_args(arguments)
    paths = found_in(options.paths) or corpus_paths(options.everything)
    paths = paths[:: options.every]
    if options.defects:
        return sweep(paths)
    with Pool(2) as pool:
        results = pool.map(measure, paths, chunksize=4)
    write = sys.stdout.write
    for line in report([r for r in results if not r.error]):
        write(line + "\n")
    halves: Count = sum((r.halves for r in results), Counter())
    for line in ("", *table(halves)):
        write(line + "\n")
    for result in results:
        if result.error:
            write(f"not read: {result.path}: {result.error}\n")
    differences = [d for r in results for d in r.differences]
    for line in remainder(differences):
        write(line + "\n")
    wanted = [
        d for d in differences if options.what in ("", d.what) and options.kind in ("", d.kind)
    ]
    lines = _equal if options.equal else _shuffled
    for line in lines(wanted, options.differences, options.order):
        write(line + "\n")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
