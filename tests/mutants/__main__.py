"""Apply every row to a copy of the tree, one at a time, and say which the tests notice.

    python -m tests.mutants                     all tables
    python -m tests.mutants check mend_ties     one table, or the files with such a name

Exit code 0 when 95 of 100 rows are caught and none is stale, else 1. The survivors of the last
whole run are explained in docs/testing.md.
"""

import argparse
import os
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from concurrent.futures import ThreadPoolExecutor
from importlib.util import cache_from_source
from pathlib import Path
from queue import SimpleQueue

from .row import Row
from .tables import TABLES, rows, stale

ROOT = Path(__file__).parents[2]
COPIED = ("rhythm", "cli", "tests", "examples", "docs", "README.md", "LICENSE", "pyproject.toml")
ENOUGH = 95  # of 100 rows
PATIENCE = 240  # seconds for the tests of one row; a change that makes them hang is noticed
CAUGHT, HUNG, SURVIVED = "caught", "hung", "SURVIVED"


def main() -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.mutants")
    parser.add_argument("names", nargs="*", help="tables, or parts of file names")
    parser.add_argument("--jobs", type=int, default=2, help="rows worked on at once")
    parser.add_argument(
        "--trusting", action="store_true", help="do not run the tests unchanged first"
    )
    asked = parser.parse_args()
    # In the background of a shell interruptions are ignored, and tests of them would fail.
    signal.signal(signal.SIGINT, signal.default_int_handler)
    chosen = [
        row
        for table in TABLES
        for row in rows(table)
        if not asked.names or any(meant(name, table, row) for name in asked.names)
    ]
    if not chosen:
        parser.error(f"no rows for {' '.join(asked.names)}; the tables are {', '.join(TABLES)}")
    broken = [f"{row.name}: {why}" for row in chosen if (why := stale(row, ROOT))]
    if broken:
        print("rows that no longer fit the code:", *broken, sep="\n  ")
        return 1
    with tempfile.TemporaryDirectory() as folder:
        copies = SimpleQueue()
        for number in range(asked.jobs):
            copies.put(copied(Path(folder) / str(number)))
        failing = "" if asked.trusting else failures_unchanged(chosen, copies)
        if failing:
            print("these tests fail without any change, so they prove nothing:", failing)
            return 1
        return report(chosen, copies, asked.jobs)


def meant(name: str, table: str, row: Row) -> bool:
    """Whether this word of the command line names the row: its table, or a part of its file."""
    return name == table if name in TABLES else name in Path(row.file).stem


def report(chosen: list[Row], copies: SimpleQueue, jobs: int) -> int:
    started, survivors = time.monotonic(), []
    with ThreadPoolExecutor(jobs) as pool:
        for row, (said, seconds) in zip(
            chosen, pool.map(lambda row: tried(row, copies), chosen), strict=True
        ):
            print(f"{said:8} {seconds:4} s  {row.name}", flush=True)
            if said == SURVIVED:
                survivors.append(row)
    number = len(chosen) - len(survivors)
    took = round(time.monotonic() - started)
    print(f"{len(chosen)} small wrong changes, {number} caught; {took} s")
    for row in survivors:
        print(f"survived: {row.name}; {row.old!r} became {row.new!r}")
    return 0 if 100 * number >= ENOUGH * len(chosen) else 1


def copied(to: Path) -> Path:
    """A copy of the tree in which ``import rhythm`` and ``import remetre_cli`` find the copy."""
    to.mkdir()
    for name in COPIED:
        if (ROOT / name).is_dir():
            shutil.copytree(ROOT / name, to / name, ignore=shutil.ignore_patterns("__pycache__"))
        else:
            shutil.copy(ROOT / name, to / name)
    # The command line installs under another name than that of its folder.
    (to / "path").mkdir()
    (to / "path" / "remetre_cli").symlink_to(to / "cli", target_is_directory=True)
    found = python(to, "-c", "import rhythm, remetre_cli; print(rhythm.__file__, remetre_cli)")
    assert found.stdout.count(str(to)) == 2, f"the copy is not what is imported: {found.stdout}"
    return to


def python(copy: Path, *arguments: str, patience: int = PATIENCE) -> subprocess.CompletedProcess:
    paths = os.pathsep.join([str(copy), str(copy / "path")])
    return subprocess.run(
        [sys.executable, *arguments],
        cwd=copy,
        env={**os.environ, "PYTHONPATH": paths},
        capture_output=True,
        text=True,
        timeout=patience,
    )


def passes(copy: Path, tests: tuple[str, ...], patience: int = PATIENCE) -> tuple[bool, str]:
    """Whether these tests pass in this copy, and what pytest said at its end."""
    quick = ("-q", "-x", "-p", "no:cacheprovider", "--tb=no")
    done = python(copy, "-m", "pytest", *quick, *tests, patience=patience)
    assert done.returncode in (0, 1, 2), f"no test was run: {' '.join(tests)}\n{done.stdout}"
    return done.returncode == 0, "\n".join(done.stdout.splitlines()[-3:])


def failures_unchanged(chosen: list[Row], copies: SimpleQueue) -> str:
    """What fails in a copy in which nothing is changed: empty where the table can be trusted."""
    copy = copies.get()
    named = sorted({test for row in chosen for test in row.tests})
    # A file named whole covers its tests: pytest would run them once more.
    whole = {test for test in named if "::" not in test}
    left = tuple(test for test in named if test in whole or test.partition("::")[0] not in whole)
    said = []
    for start in range(0, len(left), 20):
        some = left[start : start + 20]
        # On a busy machine a test that waits for another process may fail once.
        if not passes(copy, some, 20 * PATIENCE)[0]:
            good, told = passes(copy, some, 20 * PATIENCE)
            said += [] if good else [told]
    copies.put(copy)
    return "\n".join(said)


def tried(row: Row, copies: SimpleQueue) -> tuple[str, int]:
    """What became of the row's tests once the change is made, and in how many seconds."""
    copy = copies.get()
    started = time.monotonic()
    path = copy / row.file
    compiled = Path(cache_from_source(str(path)))
    text = path.read_text(encoding="utf-8")
    try:
        # What was compiled is known by its time and size alone, which one second may not tell.
        compiled.unlink(missing_ok=True)
        path.write_text(text.replace(row.old, row.new), encoding="utf-8")
        said = SURVIVED if passes(copy, row.tests)[0] else CAUGHT
    except subprocess.TimeoutExpired:
        said = HUNG
    finally:
        path.write_text(text, encoding="utf-8")
        compiled.unlink(missing_ok=True)
        copies.put(copy)
    return said, round(time.monotonic() - started)


if __name__ == "__main__":
    sys.exit(main())
