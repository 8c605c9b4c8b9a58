"""Measure this project against plain scripts and bare parsing, on the largest scores at hand.

Each figure is a ratio of two times taken in this run: the smallest of several whole processes, so
that imports count. Run it on a quiet machine: ``python -m tests.benchmarks``.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from statistics import median

from rhythm.formats.musicxml.read.score_reader import read
from rhythm.formats.musicxml.write.score_writer import to_bytes
from rhythm.score.concatenation import concat, extract
from rhythm.score.model import Score
from tests.benchmarks.at_the_bench import changed_blank, first_page
from tests.corpus import corpus_files, music21_folder

HERE = Path(__file__).parent
REMETRE = [sys.executable, "-m", "remetre_cli"]


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


def largest(count: int) -> list[tuple[int, Path]]:
    """The scores with the most events among the largest files of the corpus, with their number."""
    files = sorted(corpus_files(), key=lambda path: -path.stat().st_size)
    compressed = [path for path in files if path.suffix == ".mxl"][: 2 * count]
    plain = [path for path in files if path.suffix != ".mxl"][:count]
    counted = [(sum(1 for _ in read(path).events()), path) for path in (*compressed, *plain)]
    return sorted(counted, reverse=True)[:count]


def keyboard() -> Score:
    """A long piece in four voices: C. P. E. Bach, Wq. 55/4, the slow movement, eighteen times."""
    piece = read(music21_folder() / "corpus" / "cpebach" / "h186.mxl")
    return concat([piece] * 18)


def main() -> None:
    """Print the table of docs/performance.md."""
    scores = largest(6)
    notes, score = scores[0]
    rows: list[tuple[str, str, float]] = []
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        plain = folder / "plain.musicxml"
        plain.write_bytes(to_bytes(read(score)))

        ours = process(*REMETRE, "check", "--quiet", plain)
        theirs = process(sys.executable, HERE / "plain_check.py", plain, times=2)
        rows.append(("check: a plain music21 script / ours", ">= 15", theirs / ours))

        piano = folder / "piano.musicxml"
        piano.write_bytes(to_bytes(keyboard()))
        ours = process(*REMETRE, "check", "--quiet", piano)
        theirs = process(sys.executable, HERE / "plain_check.py", piano, times=1)
        rows.append(("the same, keyboard music in four voices", ">= 15", theirs / ours))

        out = folder / "out.musicxml"
        ours = process(*REMETRE, "restate", plain, "--to", "compound", "-o", out, "--force")
        theirs = process(
            sys.executable, HERE / "plain_restate.py", plain, folder / "m21.musicxml", times=2
        )
        rows.append(("restate: a plain music21 script / ours", ">= 15", theirs / ours))

        wholes: list[float] = []
        insides: list[float] = []
        for events, file in scores:
            same = folder / "same.musicxml"
            same.write_bytes(to_bytes(read(file)))
            (whole, inside), (bare_whole, bare) = way("ours", same), way("bare", same)
            wholes.append(whole / bare_whole)
            insides.append(inside / bare)
            what = f"read, restate, write / bare lxml: {file.stem}, {events} events"
            rows.append((what, "<= 12", wholes[-1]))
            rows.append(("the same without start-up and imports", "", insides[-1]))
        rows.append(("read, restate, write / bare lxml: median", "<= 12", median(wholes)))
        rows.append(("the same without start-up and imports", "", median(insides)))

        costs = [hand("learn", file) / hand("spell", file) for _, file in scores]
        rows.append(("learning a hand / spelling the same score: median", "<= 0.25", median(costs)))

        start = process(*REMETRE, "--help")
        click = process(sys.executable, "-c", "import click")
        rows.append(("remetre --help / import click", "<= 2.5", start / click))

        score_read = read(plain)
        tenth = extract(score_read, 0, len(score_read.bars) // 10)
        small, large = folder / "one.musicxml", folder / "ten.musicxml"
        small.write_bytes(to_bytes(tenth))
        large.write_bytes(to_bytes(concat([tenth] * 10)))
        longer = way("ours", large)[1] / way("ours", small)[1]
        rows.append(("ten times the notes: time", "<= 12", longer))

        many = folder / "scores"
        many.mkdir()
        for i in range(24):
            (many / f"{i:02}.musicxml").write_bytes(plain.read_bytes())
        double = process(*REMETRE, "check", "--quiet", many, times=2)
        cores = os.sched_getaffinity(0)
        os.sched_setaffinity(0, {min(cores)})
        single = process(*REMETRE, "check", "--quiet", many, times=2)
        os.sched_setaffinity(0, cores)
        rows.append(("a folder: one core / two", ">= 1.7", single / double))

    for what, bars in (("32 bars", 32), ("9,000 notes", 1800)):
        changed, engraver = changed_blank(bars)
        rows.append(
            (f"the bench: a changed blank / engraver alone, {what}", "<= 2", changed / engraver)
        )
    opened, plain_script = first_page()
    rows.append(("the bench: first page / a plain engraving script", "", opened / plain_script))

    print(f"Largest score: {score.name}, {notes} events.\n")
    print("| what | goal | measured |\n|---|---|---|")
    for what, goal, ratio in rows:
        print(f"| {what} | {goal} | {ratio:.1f} |")


if __name__ == "__main__":
    main()
