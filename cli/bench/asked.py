"""What the page asks for, read out of its requests: within limits, and never trusted.

No path is taken from the browser: a file has a name without any folder.
"""

from __future__ import annotations

import asyncio
import json
import re
from base64 import b64decode
from typing import Any

from starlette.requests import Request

from rhythm.exact.errors import FileError, RequestError

from .given import Given

__all__ = [
    "as_list",
    "as_table",
    "body",
    "chain",
    "keys",
    "ladder",
    "music",
    "named",
    "near",
    "paper",
    "plan",
    "table",
]

MOST_BYTES = 32 << 20  # of one request
_PATIENCE = 20.0  # seconds for a request to arrive
_MOST_OTHERS = 8  # scores of the tray
_MOST_ROWS = 40  # drawn at once
_LONGEST = 100_000  # characters of a plan


async def body(request: Request) -> bytes:
    """The body, within the limits of size and time."""
    said = request.headers.get("content-length", "0")
    if not said.isdecimal() or int(said) > MOST_BYTES:
        raise FileError(f"this is larger than {MOST_BYTES >> 20} MB", legal="a smaller score")
    found = bytearray()

    async def read() -> None:
        async for chunk in request.stream():
            found.extend(chunk)
            if len(found) > MOST_BYTES:
                raise FileError(f"this is larger than {MOST_BYTES >> 20} MB")

    try:
        await asyncio.wait_for(read(), _PATIENCE)
    except TimeoutError:
        raise FileError("the request did not arrive in time", legal="try again") from None
    return bytes(found)


async def table(request: Request) -> dict[str, Any]:
    """The body as a JSON object."""
    try:
        told = json.loads(await body(request))
    except (ValueError, RecursionError):
        raise RequestError("the request is no JSON") from None
    if not isinstance(told, dict):
        raise RequestError("the request is no JSON object")
    return told


def music(told: dict[str, Any]) -> Given:
    """The score of a request, which piece of a book is meant, and others that are spoken of."""
    data = _bytes(told.get("data"))
    others = list(as_table(told, "others").items())[:_MOST_OTHERS]
    return Given(
        data,
        named(str(told.get("name") or "score")),
        str(told.get("piece") or "")[:120],
        tuple(sorted((named(name), _bytes(text)) for name, text in others)),
    )


def _bytes(text: object) -> bytes:
    try:
        return b64decode(text if isinstance(text, str) else "*", validate=True)
    except ValueError:
        raise RequestError("the request holds no score", legal="open a score first") from None


def as_table(told: dict[str, Any], key: str) -> dict[str, Any]:
    """What was filled into a sentence."""
    filled = told.get(key) or {}
    if not isinstance(filled, dict):
        raise RequestError(f"{key!r} of the request is no table")
    return filled


def as_list(told: dict[str, Any], key: str) -> list[Any]:
    """Any list of a request."""
    found = told.get(key, [])
    if not isinstance(found, list):
        raise RequestError(f"{key!r} of the request is no list")
    return found


def plan(told: dict[str, Any]) -> str:
    """The text of a plan of exercises."""
    text = str(told.get("plan") or "")
    if len(text) > _LONGEST:
        raise RequestError("this text is too long for a plan")
    return text


def paper(told: dict[str, Any]) -> str:
    """The size of paper."""
    return str(told.get("paper") or "a4")


def ladder(told: dict[str, Any]) -> str:
    """The tempi to practise at, easiest first."""
    return str(told.get("ladder") or "")[:200] or "60% 80% 100%"


def near(told: dict[str, Any]) -> tuple[int, int]:
    """The first and the last row that is looked at."""
    match as_list(told, "near"):
        case [int(first), int(last)]:
            return first, min(last, first + _MOST_ROWS)
    return 0, 2


def keys(told: dict[str, Any]) -> list[str]:
    """The rows that are asked for."""
    return [str(key) for key in as_list(told, "keys")[:_MOST_ROWS]]


def named(name: str) -> str:
    """A file's name without any folder and without control characters."""
    last = re.split(r"[/\\]", name)[-1]
    return "".join(sign for sign in last if sign.isprintable())[:120] or "score"


def chain(told: dict[str, Any]) -> list[Any]:
    """The sentences, as plain tables."""
    rows = told.get("chain", [])
    if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
        raise RequestError("the chain of the request is none")
    return rows
