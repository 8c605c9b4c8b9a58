"""A score as the page hands it to the server, and the server to a worker."""

from __future__ import annotations

from typing import NamedTuple

__all__ = ["Given"]


class Given(NamedTuple):
    """A score as its bytes and its name; ``piece`` is the number of one of a book.

    ``others`` are scores of the tray that a sentence speaks of, by their names.
    """

    data: bytes
    name: str
    piece: str = ""
    others: tuple[tuple[str, bytes], ...] = ()
