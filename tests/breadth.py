"""Any metre to any other, on real scores: the measure behind docs/measurements.md.

Every score is restated into every target, written and proven; then others look at what was
written: the MusicXML schema, our own checker, music21, partitura and verovio. Run it as
``python -m tests.breadth --scores 100``.

Conventions
-----------
A result is *written* where the proof holds and *refused* where the music does not allow it, with
the bar and the reason; anything else is a failure. What a reader or the engraver has against the
source itself is not held against the result: then it is counted as *not asked*.
"""

from __future__ import annotations

import argparse
import random
import sys
import traceback
from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from multiprocessing import Pool
from pathlib import Path

from rhythm.check.ledger import check
from rhythm.check.ledger_rows import Ledger
from rhythm.exact.errors import MusicError, ProofError, RequestError
from rhythm.formats import read
from rhythm.formats.musicxml.read.score_reader import read as read_musicxml
from rhythm.formats.musicxml.saving import proven
from rhythm.formats.musicxml.write.score_writer import to_bytes
from rhythm.score.model import Score
from rhythm.verbs import restate
from tests import schema
from tests.corpus import SUFFIXES, music21_folder
from tests.outsiders import (
    TIES_LEFT_OPEN,
    Onsets,
    engraver_warnings,
    music21_onsets,
    our_onsets,
    partitura_onsets,
)

KINDS = {
    "chorales": ("corpus/bach", 24),
    "folk tunes": ("corpus/ryansMammoth", 16),
    "quartets": ("corpus/beethoven corpus/haydn corpus/mozart", 16),
    "keyboard, songs": (
        "corpus/schumann_robert corpus/schumann_clara corpus/schubert corpus/joplin"
        " corpus/leadSheet corpus/cpebach corpus/johnson_j_r corpus/liliuokalani corpus/beach"
        " corpus/weber corpus/verdi corpus/handel corpus/corelli corpus/webern"
        " corpus/schoenberg corpus/demos",
        14,
    ),
    "madrigals": ("corpus/monteverdi corpus/luca corpus/lusitano", 9),
    "trecento": ("corpus/trecento corpus/ciconia", 9),
    "test files": ("musicxml", 12),
}
"""Kinds of score, the folders of the music21 package they lie in, and the share of each in 100."""

Job = Callable[[Score], Score]


def _to(target: str, **options: str) -> Job:
    return lambda score: restate(score, target, **options)  # type: ignore[arg-type]


TARGETS: dict[str, Job] = {
    name: _to(name) for name in ("compound", "triplets", "5/4", "2+2+3/8", "3/4", "7/8 7/8 5/8")
}
"""The six targets that every score goes to."""


def _third(score: Score) -> str:
    """A passage: the second third of the bars, by its printed numbers."""
    bars = score.bars
    first, last = len(bars) // 3, max(len(bars) // 3, 2 * len(bars) // 3)
    return f"{bars[first].number}-{bars[last].number}"


def _on_a_third(target: str, **options: str) -> Job:
    return lambda score: restate(score, target, bars=_third(score), **options)  # type: ignore[arg-type]


def _there_and_back(score: Score) -> Score:
    return restate(read_musicxml(proven(restate(score, "compound"))), "simple")


MORE: dict[str, Job] = {
    "9/8 by beat": _to("9/8", by="beat"),
    "5/8 by beat": _to("5/8", by="beat"),
    "iamb to compound": _to("compound", lilt="iamb"),
    "even to 5/4": _to("5/4", lilt="even"),
    "3:2 to triplets": _to("triplets", lilt="3:2"),
    "2:1 to 4/4": _to("4/4", lilt="2:1"),
    "exact to 7/4": _to("7/4", fit="exact"),
    "3/2, value": _to("3/2", tempo="value"),
    "duplets": _to("duplets"),
    "simple": _to("simple"),
    "table": _to("4/4:12/8, 3/4:9/8, 2/2:5/4, 6/8:2/4"),
    "compound here": _on_a_third("compound"),
    "5/4 alone": _on_a_third("5/4", place="alone"),
    "7/8 append": _on_a_third("7/8", place="append"),
    "there and back": _there_and_back,
}
"""Other ways of asking, for samples."""


@dataclass
class Outcome:
    """What one score came to in one target: ``written``, ``refused`` or a failure's name."""

    score: str
    kind: str
    target: str
    verdict: str
    detail: str = ""


@dataclass
class Source:
    """A score and what others make of it before anything was done; looked at when asked for."""

    score: Score
    data: bytes
    views: dict[str, object] = field(default_factory=dict)

    @classmethod
    def of(cls, path: Path) -> Source:
        score = read(path)
        return cls(score, to_bytes(score))

    def _view(self, name: str, look: Callable[[], object]) -> object:
        if name not in self.views:
            self.views[name] = look()
        return self.views[name]

    @property
    def is_valid(self) -> bool:
        return bool(self._view("schema", lambda: not schema.errors(self.data)))

    @property
    def _ledger(self) -> Ledger:
        found = self._view("ledger", lambda: check(self.score))
        assert isinstance(found, Ledger)
        return found

    def new_fault(self, result: Score) -> str:
        """A fault of the result in a bar that had none, where there are more than before; or ""."""
        old, new = self._ledger.faults, check(result).faults
        times = -(-len(result.bars) // len(self.score.bars))  # a return says everything twice
        if len(new) <= times * len(old):
            return ""
        known = {each.index for each in old}
        if len(result.bars) != len(self.score.bars):
            known = set()
        return next((str(each) for each in new if each.index not in known), "")

    @property
    def warnings(self) -> Counter[str]:
        """What the engraver warns of; a tie that lacks its end it sees only in some layouts."""
        found = self._view("warnings", lambda: engraver_warnings(self.data))
        assert isinstance(found, Counter)
        loose = sum(each.kind.startswith("tie") for each in self._ledger.findings)
        return found | Counter({TIES_LEFT_OPEN: loose})

    def is_read_alike(self, reader: str) -> bool:
        """Does this reader have the notes of the source itself where we have them?"""
        return bool(self._view(reader, lambda: agrees(reader, self.score, self.data)))


READERS: Mapping[str, tuple[Callable[[bytes], Onsets], bool]] = {
    "music21": (music21_onsets, False),
    "partitura": (partitura_onsets, True),
}


def agrees(reader: str, score: Score, data: bytes) -> bool:
    """Does the reader have every note of ``data`` where ``score`` has it?"""
    onsets, members = READERS[reader]
    return onsets(data) == our_onsets(score, members=members)


def examine(source: Source, job: Job) -> tuple[str, str]:
    """Verdict and detail of one restatement: ``written``, ``refused``, or what is wrong."""
    try:
        result = job(source.score)
        data = proven(result)
    except ProofError as error:
        return "not proven", str(error)
    except (MusicError, RequestError) as error:
        return "refused", str(error)
    except Exception as error:
        last = traceback.extract_tb(error.__traceback__)[-1]
        return "crashed", f"{type(error).__name__}: {error} ({last.name}, {last.lineno})"
    if (wrong := schema.errors(data)) and source.is_valid:
        return "not valid", wrong[0]
    if fault := source.new_fault(read_musicxml(data)):
        return "new fault", fault
    unasked = []
    for reader in READERS:
        if not agrees(reader, result, data):
            if source.is_read_alike(reader):
                return f"{reader} differs", ""
            unasked.append(reader)
    if heard := engraver_warnings(data):
        times = -(-len(result.bars) // len(source.score.bars))  # a return says everything twice
        heard -= Counter({text: n * times for text, n in source.warnings.items()})
    if heard:
        return "engraver warns", "; ".join(f"{n} x {text}" for text, n in heard.items())
    return "written", ", ".join(unasked)


def paths_of(kind: str) -> list[Path]:
    """The files of one kind, in a stable order that mixes long and short, early and late."""
    root = music21_folder()
    suffixes = (*SUFFIXES, ".abc") if kind == "folk tunes" else SUFFIXES
    found = sorted(
        path
        for folder in KINDS[kind][0].split()
        for path in (root / folder).rglob("*")
        if path.suffix in suffixes
    )
    random.Random(kind).shuffle(found)
    return found


def weight(path: Path) -> int:
    """The size of a file in bytes, as if it were compressed MusicXML."""
    size = path.stat().st_size
    return size * 8 if path.suffix == ".abc" else size // (1 if path.suffix == ".mxl" else 16)


def choose(count: int, most_bytes: int) -> list[tuple[str, Path]]:
    """``count`` scores with notes and bars in them, every kind by its share."""
    total = sum(share for _, share in KINDS.values())
    chosen: list[tuple[str, Path]] = []
    for kind, (_, share) in KINDS.items():
        wanted = max(1, round(count * share / total))
        taken = (path for path in paths_of(kind) if weight(path) <= most_bytes)
        chosen += [(kind, path) for path in _readable(taken, wanted)]
    return chosen[:count] if count < len(KINDS) else chosen


def _readable(paths: Iterable[Path], wanted: int) -> list[Path]:
    found: list[Path] = []
    for path in paths:
        if len(found) == wanted:
            break
        try:
            score = read(path)
        except Exception:  # several tunes in a file, a file that is no score on purpose
            continue
        if any(not event.is_rest for _, _, event in score.events()):
            found.append(path)
    return found


def measure(task: tuple[str, Path, bool]) -> list[Outcome]:
    """All outcomes of one score."""
    kind, path, more = task
    source = Source.of(path)
    name = f"{path.parent.name}/{path.stem}"
    jobs = {**TARGETS, **MORE} if more else TARGETS
    return [Outcome(name, kind, target, *examine(source, job)) for target, job in jobs.items()]


def table(outcomes: Iterable[Outcome]) -> str:
    """One row a target: what became of the scores."""
    rows: dict[str, Counter[str]] = defaultdict(Counter)
    unasked: dict[str, int] = defaultdict(int)
    for each in outcomes:
        rows[each.target][each.verdict] += 1
        unasked[each.target] += each.verdict == "written" and bool(each.detail)
    verdicts = ["written", "refused"]
    verdicts += sorted({v for row in rows.values() for v in row} - set(verdicts))
    lines = [f"{'target':18}" + "".join(f"{v:>18}" for v in verdicts) + f"{'not asked':>12}"]
    for target, row in rows.items():
        counts = "".join(f"{row[v]:>18}" for v in verdicts)
        lines.append(f"{target:18}{counts}{unasked[target]:>12}")
    return "\n".join(lines)


def main(arguments: list[str] | None = None) -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.breadth", description=__doc__)
    parser.add_argument("--scores", type=int, default=100)
    parser.add_argument("--most-bytes", type=int, default=30_000)
    parser.add_argument("--more", type=int, default=0, help="so many scores go to all other jobs")
    parser.add_argument("--only", default="", help="scores with this in their path, or a kind")
    parser.add_argument("--jobs", type=int, default=2)
    asked = parser.parse_args(arguments)
    chosen = choose(asked.scores, asked.most_bytes)
    if asked.only:
        chosen = [(kind, path) for kind, path in chosen if asked.only in (kind, *path.parts[-2:])]
    every = max(1, len(chosen) // asked.more) if asked.more else 0
    tasks = [(kind, path, bool(every) and i % every == 0) for i, (kind, path) in enumerate(chosen)]
    outcomes: list[Outcome] = []
    with Pool(asked.jobs) as pool:
        for found in pool.imap_unordered(measure, tasks):
            outcomes += found
            for each in found:
                if each.verdict != "written":
                    print(f"{each.score}, {each.target}: {each.verdict}: {each.detail}", flush=True)
    print(
        f"\n{len(chosen)} scores:",
        *(f"{n} {kind}" for kind, n in Counter(kind for kind, _ in chosen).items()),
    )
    print(table(sorted(outcomes, key=lambda o: list({**TARGETS, **MORE}).index(o.target))))
    readers = Counter(
        (each.score, reader)
        for each in outcomes
        if each.verdict == "written"
        for reader in filter(None, each.detail.split(", "))
    )
    for (score, reader), times in sorted(readers.items()):
        print(f"{reader} reads the source of {score} otherwise ({times} results not asked)")
    return int(any(each.verdict not in ("written", "refused") for each in outcomes))


if __name__ == "__main__":
    sys.exit(main())
