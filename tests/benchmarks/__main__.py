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

from lxml import etree

from rhythm.formats.musicxml.reader import read
from rhythm.formats.musicxml.writer import to_bytes
from rhythm.score.splice import concat, extract
from rhythm.transform.restate import restate
from tests.corpus import corpus_files

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


def process(*command: object, times: int = 3) -> float:
    """The time of a whole process; whatever it prints is thrown away."""

    def work() -> None:
        done = subprocess.run([str(part) for part in command], capture_output=True, check=False)
        if done.returncode not in (0, 1) or done.stderr:
            raise SystemExit(done.stderr.decode())

    return fastest(work, times)


def largest() -> tuple[Path, int]:
    """The score with the most events among the largest files of the corpus, and their number."""
    files = sorted(corpus_files(), key=lambda path: -path.stat().st_size)
    compressed = [path for path in files if path.suffix == ".mxl"][:6]
    plain = [path for path in files if path.suffix != ".mxl"][:6]
    counted = [(sum(1 for _ in read(path).events()), path) for path in (*compressed, *plain)]
    notes, path = max(counted)
    return path, notes


def main() -> None:
    """Print the table of docs/performance.md."""
    score, notes = largest()
    rows: list[tuple[str, str, float]] = []
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        plain = folder / "plain.musicxml"
        plain.write_bytes(to_bytes(read(score)))

        ours = process(*REMETRE, "check", "--quiet", plain)
        theirs = process(sys.executable, HERE / "plain_check.py", plain, times=1)
        rows.append(("check: a plain music21 script / ours", ">= 15", theirs / ours))

        out = folder / "out.musicxml"
        ours = process(*REMETRE, "restate", plain, "--to", "compound", "-o", out, "--force")
        theirs = process(
            sys.executable, HERE / "plain_restate.py", plain, folder / "m21.musicxml", times=1
        )
        rows.append(("restate: a plain music21 script / ours", ">= 15", theirs / ours))

        data = plain.read_bytes()
        bare = fastest(lambda: etree.tostring(etree.fromstring(data)), 5)
        path = fastest(lambda: to_bytes(restate(read(data), "compound")), 3)
        rows.append(("read, restate, write / bare lxml", "<= 12", path / bare))

        start = process(*REMETRE, "--help", times=5)
        click = process(sys.executable, "-c", "import click", times=5)
        rows.append(("remetre --help / import click", "<= 2.5", start / click))

        whole = read(data)
        tenth = extract(whole, 0, len(whole.bars) // 10)
        small, large = folder / "one.musicxml", folder / "ten.musicxml"
        small.write_bytes(to_bytes(tenth))
        large.write_bytes(to_bytes(concat([tenth] * 10)))
        one = fastest(lambda: to_bytes(restate(read(small), "compound")), 3)
        ten = fastest(lambda: to_bytes(restate(read(large), "compound")), 3)
        rows.append(("ten times the notes: time", "<= 12", ten / one))

        scores = folder / "scores"
        scores.mkdir()
        for i in range(24):
            (scores / f"{i:02}.musicxml").write_bytes(data)
        double = process(*REMETRE, "check", "--quiet", scores, times=2)
        cores = os.sched_getaffinity(0)
        os.sched_setaffinity(0, {min(cores)})
        single = process(*REMETRE, "check", "--quiet", scores, times=2)
        os.sched_setaffinity(0, cores)
        rows.append(("a folder: one core / two", ">= 1.7", single / double))

    print(f"Largest score: {score.name}, {notes} events.\n")
    print("| what | goal | measured |\n|---|---|---|")
    for what, goal, ratio in rows:
        print(f"| {what} | {goal} | {ratio:.1f} |")


if __name__ == "__main__":
    main()
