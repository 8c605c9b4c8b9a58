"""Processes that work on music for the bench: a hostile file can neither hang nor crash it.

Each worker does one job at a time within a limit of time and memory. One that takes too long or
dies is replaced, and the job is answered with a line that says so.
"""

from __future__ import annotations

import contextlib
import multiprocessing
import threading
from collections.abc import Callable
from multiprocessing.connection import Connection
from typing import Any

from rhythm.exact.errors import FileError

__all__ = ["Workers"]

_MEMORY = 3 << 30  # bytes
_COUNT = 2

Job = Callable[..., Any]


class _Worker:
    def __init__(self) -> None:
        self.lock = threading.Lock()
        self.closed = False
        self.started = False

    def start(self) -> None:
        self.started = True
        context = multiprocessing.get_context("spawn")
        self.line, theirs = context.Pipe()
        self.process = context.Process(target=_work, args=(theirs,), daemon=False)
        self.process.start()
        theirs.close()

    def ask(self, job: Job, arguments: tuple[Any, ...], seconds: float) -> Any:
        if not self.started:
            self.start()
        try:
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
        if not self.started:
            return
        with contextlib.suppress(OSError):
            self.line.close()
        self.process.kill()
        self.process.join(5)


class Workers:
    """So many workers; a job goes to one that is free, the same ``key`` to the same if it is.

    A worker is started when it is first needed: as long as one is enough, there is one.
    """

    def __init__(self, count: int = _COUNT) -> None:
        self._workers = [_Worker() for _ in range(count)]
        self._free = threading.Semaphore(count)

    def ask(self, job: Job, *arguments: Any, key: str = "", seconds: float = 30) -> Any:
        """What ``job`` gives; raises what it raises, FileError where it had to be given up."""
        with self._free:
            running = [each for each in self._workers if each.started]
            first = sum(key.encode()) % max(1, len(running))
            waiting = [each for each in self._workers if not each.started]
            order = running[first:] + running[:first] + waiting
            worker = next(each for each in order if each.lock.acquire(blocking=False))
            try:
                return worker.ask(job, arguments, seconds)
            finally:
                worker.lock.release()

    def stop(self) -> None:
        """End all of them."""
        for worker in self._workers:
            worker.stop()


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
            answer = (True, job(*arguments))
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
