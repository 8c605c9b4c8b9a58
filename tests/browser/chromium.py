"""The system's Chromium, driven as a stranger's would be: empty profile, no network of its own."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from contextlib import contextmanager

ARGUMENTS = (
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)
NAMES = ("chromium", "chromium-browser")


def found() -> str | None:
    """Where Chromium is, None where there is none."""
    return next(filter(None, map(shutil.which, NAMES)), None)


@contextmanager
def browser() -> Iterator[object]:
    """A running Chromium with a new profile, or one clear line where there is none."""
    from playwright.sync_api import sync_playwright

    path = found()
    assert path is not None, f"the page is tried in a browser; install one of {', '.join(NAMES)}"
    with sync_playwright() as driver:
        running = driver.chromium.launch(executable_path=path, args=list(ARGUMENTS))
        try:
            yield running
        finally:
            running.close()
