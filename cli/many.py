"""Many scores at once: which files are meant, and the work spread over the processors.

Files, folders (searched through for scores) and patterns (``**`` too) are taken in the order
given. Results come back in that order; what goes wrong in one file is that file's result.
"""

from __future__ import annotations

import os
import signal
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

import click

if TYPE_CHECKING:
    from concurrent.futures import Future, ProcessPoolExecutor

__all__ = ["expand", "progress", "spread"]

Result = TypeVar("Result")
_ENDINGS = frozenset({".musicxml", ".mxl", ".xml"})
_WORTH_A_PROCESS = 150_000  # bytes of scores that take longer to read than a process to start
_SIGNS = frozenset("*?[")


def expand(names: Sequence[str]) -> list[str]:
    """The files that these names mean, each once. Raises FileError for a name that means none."""
    found: dict[str, None] = {}
    for name in names:
        for each in _files(name):
            found.setdefault(each)
    return list(found)


def _files(name: str) -> list[str]:
    from rhythm.exact.errors import FileError, Place

    path = Path(name)
    if name == "-" or path.is_file():
        return [name]
    if path.is_dir():
        scores = sorted(each for each in path.rglob("*") if each.suffix.lower() in _ENDINGS)
        files = [str(each) for each in scores if each.is_file()]
        if not files:
            raise FileError(
                "no scores in this folder",
                place=Place(name),
                legal=f"folders are searched for {', '.join(sorted(_ENDINGS))} files",
            )
        return files
    if not path.exists() and _SIGNS & set(name):
        from glob import glob

        files = sorted(each for each in glob(name, recursive=True) if Path(each).is_file())
        if files:
            return files
        raise FileError("no file has such a name", place=Place(name), legal="name a file or folder")
    return [name]


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
            futures = [pool.submit(work, name) for name in left]
            try:
                yield from _harvest(futures, left, lost)
            except BaseException:
                # Interrupted, or nobody reads on: what has not begun shall not begin.
                pool.shutdown(wait=True, cancel_futures=True)
                raise


def _harvest(
    futures: Sequence[Future[Result]], left: list[str], lost: Callable[[str], Result]
) -> Iterator[Result]:
    """The results until a process dies; what is left to do stays in ``left``."""
    from concurrent.futures.process import BrokenProcessPool

    for future in futures:
        try:
            result = future.result()
        except BrokenProcessPool:
            yield lost(left.pop(0))
            return
        left.pop(0)
        yield result


def _pool(jobs: int) -> ProcessPoolExecutor:
    from concurrent.futures import ProcessPoolExecutor
    from multiprocessing import get_all_start_methods, get_context

    # A forked process has our modules already; where there is no fork it imports them again.
    method = "fork" if "fork" in get_all_start_methods() else "spawn"
    return ProcessPoolExecutor(jobs, get_context(method), initializer=_begin)


def _begin() -> None:
    """In a worker: stop at once when interrupted, and search for no reference cycles.

    A score is many objects and holds none; to look for them costs a tenth of the time.
    """
    import gc

    signal.signal(signal.SIGINT, signal.SIG_DFL)
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
    if count < 2 or not lively or not sys.stderr.isatty():
        yield lambda lines: click.echo(lines) if lines else None
        return
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TimeRemainingColumn

    columns = (BarColumn(), MofNCompleteColumn(), TimeRemainingColumn())
    with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("", total=count)

        def tell(lines: str) -> None:
            if not lines:
                pass
            elif sys.stdout.isatty():
                bar.console.print(lines, markup=False, highlight=False, soft_wrap=True)
            else:
                click.echo(lines)
            bar.advance(task)

        yield tell
