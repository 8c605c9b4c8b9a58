"""Processes that work on music for the bench: a hostile file can neither hang nor crash it.

Each worker does one job at a time within a limit of time and memory. One that takes too long or
dies is replaced, and the job is answered with a line that says so.
"""

from __future__ import annotations

import contextlib
import multiprocessing
import threading
from collections.abc import Callable
from importlib import import_module
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from time import monotonic
from typing import Any

from rhythm.exact.errors import FileError

__all__ = ["Workers"]

_MEMORY = 3 << 30  # bytes
_COUNT = 2
_MOMENT = 1.0  # seconds after which it is better to start another

Job = Callable[..., Any] | str
"""What is to be done: a function, or one of this package by its module and name, ``seeing:show``,
which is imported where it is done.
"""


class _Worker:
    def __init__(self) -> None:
        self.busy = False
        self.closed = False
        self.started = False  # or will be at once
        self.process: BaseProcess | None = None

    def start(self) -> None:
        context = multiprocessing.get_context("spawn")
        self.line, theirs = context.Pipe()
        self.process = context.Process(target=_work, args=(theirs,), daemon=False)
        self.process.start()
        theirs.close()

    def ask(self, job: Job, arguments: tuple[Any, ...], seconds: float) -> Any:
        try:
            if self.process is None:
                self.start()
            self.line.send((job, arguments))
            if not self.line.poll(seconds):
                self.replace()
                raise FileError(
                    f"this took longer than {seconds:g} seconds and was given up",
                    legal="try fewer bars, or a smaller score",
                )
            done, found = self.line.recv()
        except (EOFError, OSError):
            self.replace()
            raise FileError(
                "the music could not be worked on: its process ended", legal="try another score"
            ) from None
        if not done:
            raise found
        return found

    def replace(self) -> None:
        self.end()
        if not self.closed:
            self.start()

    def stop(self) -> None:
        self.closed = True
        self.end()

    def end(self) -> None:
        if self.process is None:
            return
        with contextlib.suppress(OSError):
            self.line.close()
        self.process.kill()
        self.process.join(5)


class Workers:
    """So many workers; a job goes to one that is free, the same ``key`` to the same if it is.

    A worker is started when it is first needed: as long as one is enough, or will be free in a
    moment, there is one.
    """

    def __init__(self, count: int = _COUNT) -> None:
        self._workers = [_Worker() for _ in range(count)]
        self._freed = threading.Condition()

    def ask(self, job: Job, *arguments: Any, key: str = "", seconds: float = 30) -> Any:
        """What ``job`` gives; raises what it raises, FileError where it had to be given up."""
        worker = self._one(key)
        try:
            return worker.ask(job, arguments, seconds)
        finally:
            with self._freed:
                worker.busy = False
                self._freed.notify()

    def _one(self, key: str) -> _Worker:
        """A worker that is free, waited for."""
        begun = monotonic()
        with self._freed:
            while True:
                running = [each for each in self._workers if each.started]
                first = sum(key.encode()) % max(1, len(running))
                order = running[first:] + running[:first]
                if not running or monotonic() - begun >= _MOMENT:
                    order += [each for each in self._workers if not each.started]
                for worker in order:
                    if not worker.busy:
                        worker.busy = worker.started = True
                        return worker
                self._freed.wait(_MOMENT)

    def stop(self) -> None:
        """End all of them."""
        for worker in self._workers:
            worker.stop()


def _found(job: Job) -> Callable[..., Any]:
    if not isinstance(job, str):
        return job
    module, _, name = job.partition(":")
    found: Callable[..., Any] = getattr(import_module(f".{module}", __package__), name)
    return found


def _work(line: Connection) -> None:
    """What a worker does: one job after the other, until its line is closed."""
    import signal

    signal.signal(signal.SIGINT, signal.SIG_IGN)
    with contextlib.suppress(ImportError, ValueError, OSError):
        import resource

        resource.setrlimit(resource.RLIMIT_AS, (_MEMORY, _MEMORY))
    from rhythm.exact.errors import RemetreError

    while True:
        try:
            job, arguments = line.recv()
        except (EOFError, OSError):
            return
        try:
            answer = (True, _found(job)(*arguments))
        except RemetreError as error:
            answer = (False, error)
        except MemoryError:
            answer = (False, FileError("this score needs too much memory"))
        except RecursionError:
            answer = (False, FileError("this score is nested too deeply"))
        except Exception as error:
            from rhythm.exact.errors import ProofError

            answer = (False, ProofError(f"something unforeseen: {type(error).__name__}: {error}"))
        try:
            line.send(answer)
        except (OSError, ValueError):
            return
        except Exception as error:
            line.send((False, FileError(f"the answer could not be sent: {type(error).__name__}")))
