"""A command in a process of its own, with limits of time and memory.

The process is forked from one that has imported everything, so that a run costs milliseconds. Time
is processor time, which a busy machine does not lengthen; a clock on the wall ends what waits.
"""

from __future__ import annotations

import os
import resource
import signal
import sys
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

__all__ = ["MEGABYTES", "SECONDS", "Run", "prepare", "run"]

SECONDS = 10
MEGABYTES = 1024
_WALL = 120
_HARD_SECONDS = 6 * SECONDS
_HARD_BYTES = 4 * MEGABYTES * 1024 * 1024


@dataclass(frozen=True, slots=True)
class Run:
    """What came of a command; ``code`` is that of the shell, 128 and more for a signal."""

    code: int
    out: bytes
    err: bytes
    seconds: float
    megabytes: int


def prepare() -> None:
    """Import what the commands need, once, and keep it out of the way of every fork."""
    import gc

    from remetre_cli.main import COMMANDS, main

    import rhythm.formats
    import rhythm.verbs
    import rhythm.writing

    for name in COMMANDS:
        main.get_command(main.make_context("remetre", ["help"]), name)
    for part in ("restate", "rebar", "group", "tuplet", "vary", "check", "mend", "faircopy"):
        getattr(rhythm, part)
    gc.freeze()


def run(words: Sequence[str], folder: Path, stdin: bytes = b"") -> Run:
    """Run ``remetre`` with these words in ``folder``."""
    streams = [folder.parent / name for name in ("stdin", "stdout", "stderr")]
    streams[0].write_bytes(stdin)
    sys.stdout.flush()
    sys.stderr.flush()
    child = os.fork()
    if child == 0:
        _obey(words, folder, streams)
    _, status, used = os.wait4(child, 0)
    with suppress(ProcessLookupError):
        os.killpg(child, signal.SIGKILL)  # what it may have left behind
    code = os.waitstatus_to_exitcode(status)
    return Run(
        code if code >= 0 else 128 - code,
        streams[1].read_bytes(),
        streams[2].read_bytes(),
        used.ru_utime + used.ru_stime,
        used.ru_maxrss // 1024,
    )


def _obey(words: Sequence[str], folder: Path, streams: Sequence[Path]) -> None:
    """In the child: never returns."""
    code = 99
    try:
        os.setsid()
        os.chdir(folder)
        os.environ["HOME"] = str(folder.parent)
        for number, path in enumerate(streams):
            handle = os.open(
                path, os.O_RDONLY if number == 0 else os.O_WRONLY | os.O_TRUNC | os.O_CREAT
            )
            os.dup2(handle, number)
        signal.signal(signal.SIGALRM, signal.SIG_DFL)
        signal.alarm(_WALL)
        resource.setrlimit(resource.RLIMIT_CPU, (_HARD_SECONDS, _HARD_SECONDS + 1))
        resource.setrlimit(resource.RLIMIT_AS, (_HARD_BYTES, _HARD_BYTES))
        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
        from remetre_cli.main import run as start

        start(list(words))
    except SystemExit as done:
        code = done.code if isinstance(done.code, int) else 0
    except BaseException:
        import traceback

        traceback.print_exc()
    finally:
        try:
            sys.stdout.flush()
            sys.stderr.flush()
        finally:
            os._exit(code)
