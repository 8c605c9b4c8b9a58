"""Measure this project against plain scripts and bare parsing, on the largest scores at hand.

Each figure is a ratio of two times taken in this run: the smallest of several whole processes, so
that imports count. Run it on a quiet machine: ``python -m tests.benchmarks``, or some parts of it
alone: ``python -m tests.benchmarks check restate``. Every row is printed as soon as it is known.
"""

from __future__ import annotations

import argparse
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from functools import lru_cache
from pathlib import Path
from statistics import median

from rhythm.formats.musicxml.read.score_reader import read
from rhythm.formats.musicxml.write.score_writer import to_bytes
from rhythm.score.concatenation import concat, extract
from rhythm.score.model import Score
from tests.benchmarks.at_the_bench import changed_blank, first_page
from tests.benchmarks.installed import compile_modules
from tests.corpus import corpus_files, music21_folder

HERE = Path(__file__).parent
REMETRE = [sys.executable, "-m", "remetre_cli"]
AT_LEAST, AT_MOST = "at least {}", "at most {}"

Row = tuple[str, str, float]
"""What is measured, its goal, and how it came out."""


def fastest(work: Callable[[], object], times: int) -> float:
    """The smallest of ``times`` runs, in seconds."""
    best = float("inf")
    for _ in range(times):
        start = time.perf_counter()
        work()
        best = min(best, time.perf_counter() - start)
    return best


def process(*command: object, times: int = 5) -> float:
    """The time of a whole process; whatever it prints is thrown away."""

    def work() -> None:
        done = subprocess.run([str(part) for part in command], capture_output=True, check=False)
        if done.returncode not in (0, 1) or done.stderr:
            raise SystemExit(done.stderr.decode())

    return fastest(work, times)


def script(name: str, *files: Path, times: int = 1) -> float:
    """The time of a plain script beside this module."""
    return process(sys.executable, HERE / name, *files, times=times)


def way(which: str, file: Path, times: int = 5) -> tuple[float, float]:
    """The smallest times ``path.py`` takes for a file: as a whole process, and of it the way."""
    whole = inside = float("inf")
    for _ in range(times):
        start = time.perf_counter()
        said = subprocess.check_output([sys.executable, HERE / "path.py", which, file], text=True)
        whole = min(whole, time.perf_counter() - start)
        inside = min(inside, float(said))
    return whole, inside


def hand(which: str, file: Path, times: int = 5) -> float:
    """The smallest time that ``hand.py`` takes to learn from a file, or to spell it."""
    command = [sys.executable, HERE / "hand.py", which, file]
    return min(float(subprocess.check_output(command, text=True)) for _ in range(times))


@lru_cache(maxsize=1)
def largest() -> list[tuple[int, Path]]:
    """The six scores with the most events, and how many, among the largest files of the corpus."""
    files = sorted(corpus_files(), key=lambda path: -path.stat().st_size)
    compressed = [path for path in files if path.suffix == ".mxl"][:12]
    plain = [path for path in files if path.suffix != ".mxl"][:6]
    counted = [(sum(1 for _ in read(path).events()), path) for path in (*compressed, *plain)]
    return sorted(counted, reverse=True)[:6]


def keyboard() -> Score:
    """A long piece in four voices: C. P. E. Bach, Wq. 55/4, the slow movement, eighteen times."""
    piece = read(music21_folder() / "corpus" / "cpebach" / "h186.mxl")
    return concat([piece] * 18)


def song() -> Score:
    """A long song with piano, in five voices: Schubert, Der Lindenbaum, to about 10,000 notes."""
    piece = read(music21_folder() / "corpus" / "schubert" / "Lindenbaum.xml")
    return concat([piece] * round(10_000 / sum(1 for _ in piece.events())))


def _said(score: Score) -> str:
    return f"{sum(1 for _ in score.events())} events"


def _put(score: Score, folder: Path, name: str) -> Path:
    file = folder / f"{name}.musicxml"
    file.write_bytes(to_bytes(score))
    return file


def _largest_written(folder: Path) -> Path:
    return _put(read(largest()[0][1]), folder, "largest")


def _check(folder: Path) -> Iterator[Row]:
    file = _largest_written(folder)
    ours = process(*REMETRE, "check", "--quiet", file)
    theirs = script("plain_check.py", file, times=2)
    yield "check: a plain music21 script / ours", AT_LEAST.format(15), theirs / ours
    piece = keyboard()
    file = _put(piece, folder, "keyboard")
    ours = process(*REMETRE, "check", "--quiet", file)
    what = f"the same, keyboard music in four voices, {_said(piece)}"
    yield what, AT_LEAST.format(15), script("plain_check.py", file) / ours


def _restate(folder: Path) -> Iterator[Row]:
    out, other = folder / "out.musicxml", folder / "other.musicxml"

    def ours(file: Path) -> float:
        return process(*REMETRE, "restate", file, "--to", "compound", "-o", out, "--force")

    file = _largest_written(folder)
    mine, theirs = ours(file), script("plain_restate.py", file, other, times=2)
    yield "restate: a plain music21 script / ours", AT_LEAST.format(15), theirs / mine
    piece = song()
    file = _put(piece, folder, "song")
    mine, theirs = ours(file), script("plain_restate.py", file, other)
    what = f"the same, a song with piano in five voices, {_said(piece)}"
    yield what, AT_LEAST.format(15), theirs / mine


def _way(folder: Path) -> Iterator[Row]:
    wholes: list[float] = []
    insides: list[float] = []
    inside_only = "the same without start-up and imports"
    for events, score in largest():
        file = _put(read(score), folder, "same")
        (whole, inside), (bare_whole, bare) = way("ours", file), way("bare", file)
        wholes.append(whole / bare_whole)
        insides.append(inside / bare)
        what = f"read, restate, write / bare lxml: {score.stem}, {events} events"
        yield what, AT_MOST.format(12), wholes[-1]
        yield inside_only, "", insides[-1]
    yield "read, restate, write / bare lxml: median", AT_MOST.format(12), median(wholes)
    yield inside_only, "", median(insides)


def _hand(folder: Path) -> Iterator[Row]:
    costs = [hand("learn", file) / hand("spell", file) for _, file in largest()]
    what = "learning a hand / spelling the same score: median"
    yield what, AT_MOST.format(0.25), median(costs)


def _start(folder: Path) -> Iterator[Row]:
    ours = process(*REMETRE, "--help")
    click = process(sys.executable, "-c", "import click")
    yield "remetre --help / import click", AT_MOST.format(2.5), ours / click


def _longer(folder: Path) -> Iterator[Row]:
    score = read(largest()[0][1])
    tenth = extract(score, 0, len(score.bars) // 10)
    small, large = _put(tenth, folder, "one"), _put(concat([tenth] * 10), folder, "ten")
    yield (
        "ten times the notes: time",
        AT_MOST.format(12),
        way("ours", large)[1] / way("ours", small)[1],
    )


def _folder(folder: Path) -> Iterator[Row]:
    data = _largest_written(folder).read_bytes()
    many = folder / "scores"
    many.mkdir()
    for i in range(24):
        (many / f"{i:02}.musicxml").write_bytes(data)
    double = process(*REMETRE, "check", "--quiet", many, times=2)
    cores = os.sched_getaffinity(0)
    os.sched_setaffinity(0, {min(cores)})
    single = process(*REMETRE, "check", "--quiet", many, times=2)
    os.sched_setaffinity(0, cores)
    yield "a folder: one core / two", AT_LEAST.format(1.7), single / double


def _bench(folder: Path) -> Iterator[Row]:
    for what, bars in (("32 bars", 32), ("9,000 notes", 1800)):
        changed, engraver = changed_blank(bars)
        name = f"the bench: a changed blank / engraver alone, {what}"
        yield name, AT_MOST.format(2), changed / engraver
    opened, plain_script = first_page()
    yield "the bench: first page / a plain engraving script", "", opened / plain_script


PARTS: dict[str, Callable[[Path], Iterator[Row]]] = {
    "check": _check,
    "restate": _restate,
    "way": _way,
    "hand": _hand,
    "start": _start,
    "longer": _longer,
    "folder": _folder,
    "bench": _bench,
}


def main() -> None:
    """Print the table of docs/performance.md, row by row, or some parts of it."""
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks", description=__doc__)
    known = ", ".join(PARTS)
    parser.add_argument(
        "parts", nargs="*", metavar="PART", help=f"one of {known}; all where none is named"
    )
    wanted = parser.parse_args().parts or list(PARTS)
    if strange := [name for name in wanted if name not in PARTS]:
        parser.error(f"no part is called {strange[0]}; there are {known}")
    compile_modules()
    print("| what | goal | measured |\n|---|---|---|", flush=True)
    for name in wanted:
        with tempfile.TemporaryDirectory() as folder:
            for what, goal, ratio in PARTS[name](Path(folder)):
                measured = f"{ratio:.1f}" if ratio >= 1 else f"{ratio:.2f}"
                print(f"| {what} | {goal} | {measured} |", flush=True)


if __name__ == "__main__":
    main()
