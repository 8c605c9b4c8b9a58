"""One run of the bench: its secret, its address, its workers, and the scores it was started with.

What workers do is named, not imported: the server is up while they still load what music needs.
"""

from __future__ import annotations

import asyncio
import hashlib
import secrets
import threading
from collections.abc import Sequence
from time import monotonic
from typing import Any

from .given import Given
from .workers import Job, Workers

__all__ = ["Bench"]


class Bench:
    """What one run of the bench knows."""

    def __init__(self, files: Sequence[str] = (), workers: Workers | None = None) -> None:
        self.token = secrets.token_urlsafe(24)
        self.files = list(files)
        self.workers = workers or Workers()
        self.hosts: frozenset[str] = frozenset()
        self.heard = monotonic()
        self.pages = 0
        self.ready = threading.Event()
        self.ready.set()
        self.shown = threading.Event()  # music stands on the page
        self._made: dict[str, Any] = {}
        self._making = threading.Lock()

    def at(self, port: int) -> str:
        """Say at which port it is; returns the address to open."""
        self.hosts = frozenset({f"127.0.0.1:{port}", f"localhost:{port}"})
        return f"http://127.0.0.1:{port}/{self.token}/"

    async def once(self, job: str) -> Any:
        """What a worker makes of nothing, and of nothing but the program: it is asked once."""
        return await asyncio.to_thread(self.make, job)

    def make(self, job: str) -> Any:
        """The same, waited for."""
        with self._making:
            self.ready.wait(60)
            if job not in self._made:
                self._made[job] = self.workers.ask(job, seconds=60)
            return self._made[job]

    async def ask(self, job: Job, *arguments: Any, seconds: float = 30) -> Any:
        """What a worker makes of it."""
        given = arguments[0] if arguments else None
        key = hashlib.sha256(given.data).hexdigest() if isinstance(given, Given) else ""

        def work() -> Any:
            self.ready.wait(60)
            return self.workers.ask(job, *arguments, key=key, seconds=seconds)

        return await asyncio.to_thread(work)
