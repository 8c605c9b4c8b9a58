"""``remetre check``: does every bar of every voice add up."""

from __future__ import annotations

import glob
import json
import os
import signal
import sys
from collections.abc import Iterator, Sequence
from concurrent.futures import Executor, ProcessPoolExecutor
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

import click

from . import ledger, options, out, params

if TYPE_CHECKING:
    from rhythm.exact.pattern import MetrePattern

__all__ = ["command"]

_ENDINGS = (".musicxml", ".xml", ".mxl")
_COLUMNS = ("bar", "part", "voice", "at", "weight", "what")


@click.command("check")
@click.argument("sources", metavar="SCORE...", nargs=-1, required=True)
@click.option(
    "--against",
    type=params.PATTERN,
    help="Hold the bars to this plan of metres instead of the signatures: '7/8 7/8 5/8'.",
)
@options.narrowed
@options.as_json
@options.quiet
def command(
    sources: tuple[str, ...],
    against: MetrePattern | None,
    bars: str | None,
    part: str | None,
    voice: str | None,
    as_json: bool,
    quiet: bool,
) -> None:
    """Say whether every bar of every voice adds up, and if not, where and by how much.

    A fault is music that does not add up on the page, and makes the exit code 1. A note is worth
    knowing and no fault: a hidden voice that runs on, rounded ticks, a short last bar. Upbeats and
    the bars that complete them, bars split by a repeat, and voices that enter late are right.

    SCORE may be several files, folders (looked through to the bottom) and patterns; they are
    checked in parallel, one line each. With --json each row of each ledger is one object.

    \b
    remetre check song.musicxml
    remetre check study.musicxml --against "7/8 7/8 5/8"
    remetre check exercises/ --quiet
    """
    narrow = {key: text for key, text in (("part", part), ("voice", voice)) if text}
    look = partial(_examined, bars=bars, against=against, narrow=narrow)
    if len(sources) == 1 and not _is_many(sources[0]):
        # One score objects aloud: its error is the command's.
        records = iter([ledger.examine(sources[0], bars, against, narrow)])
        several = False
    else:
        paths = list(dict.fromkeys(path for source in sources for path in _found(source)))
        records = _examine_all(paths, look, quiet or as_json)
        several = True
    code = 0
    counts = {"right": 0, "faulty": 0, "unread": 0}
    for record in records:
        verdict = _verdict(record)
        counts[verdict] += 1
        code = max(code, {"right": 0, "faulty": 1, "unread": 2}[verdict])
        if not quiet:
            _print(record, as_json, several)
    if several and not (quiet or as_json):
        total = sum(counts.values())
        out.say(
            f"{total} files: {counts['right']} right, {counts['faulty']} with faults, "
            f"{counts['unread']} not read"
        )
    raise click.exceptions.Exit(code)


def _verdict(record: ledger.Record) -> str:
    if "error" in record:
        return "unread"
    return "faulty" if record["faults"] else "right"


def _print(record: ledger.Record, as_json: bool, several: bool) -> None:
    if as_json:
        for row in [record] if "error" in record else record["rows"]:
            click.echo(json.dumps(row))
    elif "error" in record:
        click.echo(record["error"])
    elif several:
        found = record["findings"]
        first = next((f"; bar {f[0]}: {f[5]}" for f in found if f[4] == "fault"), "")
        click.echo(f"{record['file']}: {_said(record)}{first}")
    else:
        if record["findings"]:
            out.table(_COLUMNS, record["findings"])
        click.echo(f"{_said(record)}: {record['summary']}")


def _said(record: ledger.Record) -> str:
    faults, notes = record["faults"], record["notes"]
    counted = [
        f"{number} {noun}" + ("s" if number > 1 else "")
        for number, noun in ((faults, "fault"), (notes, "note"))
        if number
    ]
    return ", ".join(counted) if faults else ", ".join(["every bar adds up", *counted])


def _is_many(source: str) -> bool:
    path = Path(source)
    return path.is_dir() or (glob.has_magic(source) and not path.exists())


def _found(source: str) -> Iterator[str]:
    """The files that an argument names: itself, a folder's scores, or what a pattern matches."""
    if Path(source).is_dir():
        scores = sorted(path for path in Path(source).rglob("*") if path.suffix.lower() in _ENDINGS)
    elif _is_many(source):
        scores = [Path(path) for path in sorted(glob.glob(source, recursive=True))]
    else:
        yield source
        return
    if not scores:
        from rhythm.exact.errors import FileError, Place

        legal = f"scores end with {' '.join(_ENDINGS)}"
        raise FileError("there is no score here", place=Place(source), legal=legal)
    yield from map(str, scores)


def _examine_all(
    paths: Sequence[str], look: partial[ledger.Record], silent: bool
) -> Iterator[ledger.Record]:
    """Examine every file on all cores, in order, with progress on a terminal."""
    workers = min(os.cpu_count() or 1, len(paths))
    if workers < 2 or "-" in paths:
        return map(look, paths)
    return _progress(_pooled(paths, look, workers), len(paths), silent)


def _pooled(
    paths: Sequence[str], look: partial[ledger.Record], workers: int
) -> Iterator[ledger.Record]:
    pool: Executor = ProcessPoolExecutor(workers, initializer=_deaf)
    try:
        yield from pool.map(look, paths, chunksize=max(1, min(8, len(paths) // (4 * workers))))
    finally:
        pool.shutdown(wait=True, cancel_futures=True)


def _deaf() -> None:
    """A worker leaves an interruption to the process that started it."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)


def _progress(
    records: Iterator[ledger.Record], total: int, silent: bool
) -> Iterator[ledger.Record]:
    if silent or not sys.stderr.isatty():
        yield from records
        return
    from rich.console import Console
    from rich.progress import track

    console = Console(stderr=True)
    yield from track(records, total=total, description="checking", console=console, transient=True)


def _examined(
    path: str, bars: str | None, against: MetrePattern | None, narrow: dict[str, str]
) -> ledger.Record:
    """One file's record, or what was wrong with the file; a bad file does not stop the others."""
    from rhythm.exact.errors import Place, RemetreError

    try:
        return ledger.examine(path, bars, against, narrow)
    except RemetreError as error:
        return ledger.error_record(path, error.at(Place(path)))
    except OSError as error:
        return ledger.error_record(path, error)
