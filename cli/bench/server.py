"""Serving the bench: on this machine alone, on a free port, until the page is closed."""

from __future__ import annotations

import asyncio
import contextlib
import socket
import threading
from collections.abc import Callable, Sequence
from pathlib import Path
from time import monotonic

from rhythm.exact.errors import FileError, RemetreError

from .. import many
from .run import Bench

__all__ = ["serve"]

_CLOSED_AFTER = 90.0  # seconds in which no page has asked for anything
_LOOK = 2.0
_SHOWN_BY = 5.0


def serve(
    scores: Sequence[str], port: int, *, browser: bool, tell: Callable[[str], object]
) -> None:
    """Serve until Ctrl-C, or until the page has been closed for a while.

    Raises FileError where the port is taken, and for scores that are not there.
    """
    files = many.expand(scores) if scores else []
    line = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    line.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        line.bind(("127.0.0.1", port))
        line.listen(64)  # whoever is told the address may call at once, and is answered soon
    except OSError as error:
        raise FileError(
            f"port {port} cannot be used: {error.strerror}", legal="leave --port out"
        ) from None
    bench = Bench(files)
    bench.ready.clear()
    threading.Thread(target=_warm, args=(bench,), daemon=True).start()
    try:
        address = bench.at(line.getsockname()[1])
        tell(f"the bench is at {address}")
        tell("Ctrl-C ends it; it also ends when the page has been closed for a while")
        if browser:
            _open(address)
        with contextlib.suppress(KeyboardInterrupt):
            asyncio.run(_run(bench, line))
    finally:
        bench.workers.stop()
        line.close()


async def _run(bench: Bench, line: socket.socket) -> None:
    import uvicorn

    from .app import application
    from .shell import words

    config = uvicorn.Config(
        application(bench),
        http="h11",
        ws="none",
        loop="asyncio",
        lifespan="off",
        log_level="critical",
        access_log=False,
        server_header=False,
        limit_concurrency=60,
        timeout_keep_alive=10,
        timeout_graceful_shutdown=2,
    )
    server = uvicorn.Server(config)
    saying = asyncio.create_task(asyncio.to_thread(words))
    watch = asyncio.create_task(_watch(bench, server))
    try:
        await server.serve(sockets=[line])
    finally:
        watch.cancel()
        saying.cancel()
        bench.workers.stop()  # whoever still waits for one is answered


def _warm(bench: Bench) -> None:
    """Have a worker, its engraver and the first score ready before the browser is."""
    data, name = b"", ""
    if bench.files:
        with contextlib.suppress(OSError):
            data, name = Path(bench.files[0]).read_bytes(), Path(bench.files[0]).name
    with contextlib.suppress(RemetreError):
        try:
            bench.workers.ask("seeing:ready", data, name, seconds=60)
        finally:
            bench.ready.set()
        bench.shown.wait(_SHOWN_BY)  # nothing else is to be in its way
        bench.workers.ask("seeing:later", seconds=60)


async def _watch(bench: Bench, server: object) -> None:
    """End the server when no page has asked for anything for a while."""
    while True:
        await asyncio.sleep(_LOOK)
        if bench.pages and monotonic() - bench.heard > _CLOSED_AFTER:
            server.should_exit = True  # type: ignore[attr-defined]
            return


def _open(address: str) -> None:
    import webbrowser

    with contextlib.suppress(webbrowser.Error):
        webbrowser.open(address)
