"""Many scores at once: which files are meant, and the work spread over the processors.

Files, folders (searched through for scores) and patterns (``**`` too) are taken in the order
given. Results come back in that order; what goes wrong in one file, or with a name that means no
file, is that one's result.
"""

from __future__ import annotations

import os
import signal
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

import click

from .errors import clean
from .sources import piece_wanted, want_piece

if TYPE_CHECKING:
    from concurrent.futures import ProcessPoolExecutor

    from rhythm.score.model import Score

__all__ = ["ensure", "expand", "full_score", "progress", "score_of", "spread"]

Result = TypeVar("Result")
_ENDINGS = frozenset(
    {".musicxml", ".mxl", ".xml", ".abc", ".krn", ".kern", ".hum", ".mei", ".mid", ".midi"}
)
_WORTH_A_PROCESS = 150_000  # bytes of scores that take longer to read than a process to start
_SIGNS = frozenset("*?[")


def expand(names: Sequence[str]) -> list[str]:
    """The files that these names mean, each once; a name that means none stands for itself."""
    found: dict[str, None] = {}
    for name in names:
        for each in _files(name):
            found.setdefault(each)
    return list(found)


def ensure(name: str) -> None:
    """Raise FileError for a folder without scores and a pattern that no file matches."""
    from rhythm.exact.errors import FileError, Place

    if Path(name).is_dir():
        raise FileError(
            "no scores in this folder",
            place=Place(name),
            legal=f"folders are searched for {', '.join(sorted(_ENDINGS))} files",
        )
    if _is_pattern(name):
        raise FileError("no file has such a name", place=Place(name), legal="name a file or folder")


def _files(name: str) -> list[str]:
    path = Path(name)
    if path.is_dir():
        scores = sorted(each for each in path.rglob("*") if each.suffix.lower() in _ENDINGS)
        return [str(each) for each in scores if each.is_file()] or [name]
    if _is_pattern(name):
        from glob import glob

        return sorted(each for each in glob(name, recursive=True) if Path(each).is_file()) or [name]
    return [name]


def _is_pattern(name: str) -> bool:
    return bool(_SIGNS & set(name)) and not Path(name).exists()


def spread(
    work: Callable[[str], Result], files: Sequence[str], lost: Callable[[str], Result]
) -> Iterator[Result]:
    """``work`` done on every file, in order; ``lost`` is the result where a process died."""
    jobs = min(_processors(), len(files))
    if jobs < 2 or _size(files) < _WORTH_A_PROCESS:
        yield from map(work, files)
        return
    left = list(files)
    while left:
        with _pool(jobs) as pool:
            try:
                yield from _harvest(pool, work, left)
            except BaseException:
                # Interrupted, or nobody reads on: what has not begun shall not begin.
                pool.shutdown(wait=True, cancel_futures=True)
                raise
        if left:
            # A process died: it may have had any of the files then begun.
            yield _apart(work, left.pop(0), lost)


def _harvest(
    pool: ProcessPoolExecutor, work: Callable[[str], Result], left: list[str]
) -> Iterator[Result]:
    """The results until a process dies; what is left to do stays in ``left``."""
    from concurrent.futures.process import BrokenProcessPool

    try:
        for future in [pool.submit(work, name) for name in left]:
            result = future.result()
            left.pop(0)
            yield result
    except BrokenProcessPool:
        return


def _apart(work: Callable[[str], Result], name: str, lost: Callable[[str], Result]) -> Result:
    """The result of a file in a process of its own, whose death is then its doing."""
    from concurrent.futures.process import BrokenProcessPool

    with _pool(1) as pool:
        try:
            return pool.submit(work, name).result()
        except BrokenProcessPool:
            return lost(name)


def _pool(jobs: int) -> ProcessPoolExecutor:
    from concurrent.futures import ProcessPoolExecutor
    from multiprocessing import get_all_start_methods, get_context

    # A forked process has our modules already; where there is no fork it imports them again.
    method = "fork" if "fork" in get_all_start_methods() else "spawn"
    context, wanted = get_context(method), (piece_wanted(),)
    return ProcessPoolExecutor(jobs, context, initializer=_begin, initargs=wanted)


def _begin(piece: str) -> None:
    """In a worker: stop at once when interrupted, and search for no reference cycles.

    ``piece`` is which one is read of a file that holds several.
    """
    want_piece(piece)
    signal.signal(signal.SIGINT, signal.SIG_DFL)
    spare_collector()


def spare_collector() -> None:
    """Search for no reference cycles in a process that works on scores and ends.

    A score is many objects and holds none; to look for them costs a tenth of the time.
    """
    import gc

    gc.freeze()
    gc.disable()


def _processors() -> int:
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def _size(files: Sequence[str]) -> int:
    total = 0
    for name in files:
        total += os.path.getsize(name) if os.path.isfile(name) else 0
        if total >= _WORTH_A_PROCESS:
            break
    return total


@contextmanager
def progress(count: int, lively: bool = True) -> Iterator[Callable[[str], None]]:
    """A bar on a terminal while ``count`` results come; call the yielded with each one's lines."""
    if count < 2 or not lively or sys.stderr is None or not sys.stderr.isatty():
        yield lambda lines: click.echo(clean(lines)) if lines else None
        return
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TimeRemainingColumn

    columns = (BarColumn(), MofNCompleteColumn(), TimeRemainingColumn())
    with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("", total=count)

        def tell(lines: str) -> None:
            if not lines:
                pass
            elif sys.stdout is not None and sys.stdout.isatty():
                bar.console.print(clean(lines), markup=False, highlight=False, soft_wrap=True)
            else:
                click.echo(clean(lines))
            bar.advance(task)

        yield tell


def score_of(names: Sequence[str]) -> str:
    """The score that a folder of parts is held against: a file with several parts, named first."""
    if len(names) != 2 or not Path(names[0]).is_file() or not Path(names[1]).is_dir():
        return ""
    from rhythm.exact.errors import RemetreError

    from .sources import read

    try:
        return names[0] if len(read(names[0]).parts) > 1 else ""
    except RemetreError:
        return ""  # what is wrong with it is said when its turn comes


@lru_cache(maxsize=1)
def full_score(name: str) -> Score:
    """The score that parts are held against, read once."""
    from .sources import read

    return read(name)
