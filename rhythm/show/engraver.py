"""The engraver, kept in a process of its own with limits of time and memory.

One child serves all calls of this process, so that starting costs once, and is started afresh after
it has died. Whatever it does to itself, the caller gets a drawing or one line.

Conventions
-----------
Widths and heights are tenths of a millimetre on paper at full size, as the engraver has them.
"""

from __future__ import annotations

import atexit
import json
import os
import signal
import subprocess
import sys
import threading
from collections.abc import Mapping, Sequence
from contextlib import suppress
from pathlib import Path
from typing import Any

from rhythm.exact.errors import MusicError

__all__ = ["begin", "draw", "natural_widths"]

_MEGABYTES = 512  # for any score, and more for a long one
_BYTES_A_MEGABYTE = 10_000  # four times what scores with many marks took
_MOST_MEGABYTES = 3072
_SECONDS = 7  # of work
_BYTES_A_SECOND = 40_000
_MOST_SECONDS = 300
_PATIENCE = 30  # seconds more by the clock, for a machine that has other work to do
_LEGAL = "narrow it down with bars or part, or leave out what is odd in it"

_OPTIONS: dict[str, object] = {
    "adjustPageHeight": True,
    "footer": "none",
    "header": "none",
    "lyricLineThickness": "0.14",  # its own makes beams of hyphens
    "pageMarginBottom": 20,
    "pageMarginLeft": 10,
    "pageMarginRight": 10,
    "pageMarginTop": 20,
    "pageHeight": 60_000,  # its limit for one page
    "smuflTextFont": "none",
    "svgFormatRaw": True,
    "svgRemoveXlink": True,
    "svgViewBox": True,
    "xmlIdSeed": 1,
}


def draw(
    musicxml: bytes, options: Mapping[str, object], pages: Sequence[int] | None = None
) -> tuple[list[str], int]:
    """The drawings of ``pages`` (from 1; None is all), and how many pages there are.

    Raises MusicError where the engraver refuses the score, dies on it, or runs out of time.
    """
    answer = _ask(musicxml, {**_OPTIONS, **options}, {"pages": pages})
    return answer["pages"], answer["count"]


def natural_widths(musicxml: bytes, options: Mapping[str, object]) -> dict[str, int]:
    """How wide each bar is where nothing stretches it, by its ``id``, in hundredths of a page unit.

    Raises MusicError as :func:`draw` does.
    """
    natural = {"breaks": "none", "noJustification": True, "adjustPageWidth": True}
    widths: dict[str, int] = _ask(
        musicxml, {**_OPTIONS, **options, **natural, "pageWidth": 100_000}, {"widths": True}
    )["widths"]
    return widths


def begin() -> None:
    """Start the engraver before it is needed; it loads while the caller goes on."""
    global _child, _owner
    with _lock:
        if _child is None or _owner != os.getpid():  # a forked process starts its own
            _child, _owner = _Child(), os.getpid()


class _Gone(Exception):
    """The child died or was ended; the text says how."""


class _Child:
    """The process at the other end of two pipes."""

    def __init__(self) -> None:
        self._late = False
        script = str(Path(__file__).with_name("engraver_child.py"))
        paths = os.pathsep.join(path for path in sys.path if path)
        self._process = subprocess.Popen(
            [sys.executable, script],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            env={**os.environ, "PYTHONPATH": paths},
        )

    def ask(self, request: Mapping[str, object], seconds: int) -> Any:
        """Send a request and wait for its answer; raises _Gone where none comes in time."""
        process = self._process
        assert process.stdin is not None and process.stdout is not None
        late = threading.Timer(seconds + _PATIENCE, self._end_late)
        late.start()
        try:
            data = json.dumps(request).encode()
            process.stdin.write(len(data).to_bytes(4, "big") + data)
            process.stdin.flush()
            size = int.from_bytes(process.stdout.read(4), "big")
            answer = process.stdout.read(size)
        except OSError:
            size, answer = 0, b""
        finally:
            late.cancel()
        if size and len(answer) == size:
            return json.loads(answer)
        with suppress(subprocess.TimeoutExpired):
            self._late |= process.wait(timeout=5) == -getattr(signal, "SIGXCPU", 0)
        raise _Gone(f"gave no drawing within {seconds} seconds" if self._late else "died")

    def _end_late(self) -> None:
        self._late = True
        self._process.kill()

    def end(self) -> None:
        """End the process, whatever it is doing."""
        self._process.kill()
        self._process.wait()
        for stream in (self._process.stdin, self._process.stdout):
            if stream is not None:
                with suppress(OSError):
                    stream.close()


_lock = threading.RLock()
_child: _Child | None = None
_owner = 0


def _ask(musicxml: bytes, options: Mapping[str, object], wanted: Mapping[str, object]) -> Any:
    global _child, _owner
    seconds = min(_MOST_SECONDS, _SECONDS + len(musicxml) // _BYTES_A_SECOND)
    megabytes = min(_MOST_MEGABYTES, _MEGABYTES + len(musicxml) // _BYTES_A_MEGABYTE)
    limits = {"megabytes": megabytes, "seconds": seconds}
    request = {"musicxml": musicxml.decode(), "options": options, **wanted, **limits}
    with _lock:
        begin()
        assert _child is not None
        try:
            answer = _child.ask(request, seconds)
        except _Gone as gone:
            _end()
            raise MusicError(f"the engraver {gone} over this score", legal=_LEGAL) from None
        except BaseException:
            _end()  # interrupted: its answer would come in the place of another
            raise
    if "refused" in answer:
        raise MusicError("the score cannot be engraved", legal="it must be a MusicXML score")
    return answer


def _end() -> None:
    global _child
    if _child is not None and _owner == os.getpid():
        _child.end()
    _child = None


atexit.register(_end)
