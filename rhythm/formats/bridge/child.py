"""Conversions by other libraries, each in a process of its own with limits on memory and time.

``python -m rhythm.formats.bridge.child Humdrum MEMORY SECONDS`` reads a file from standard input
and writes what it was converted to on standard output: MusicXML for MIDI, MEI for Humdrum.
"""

from __future__ import annotations

import os
import subprocess
import sys

from rhythm.exact.errors import FileError

__all__ = ["convert_apart"]

MOST_MEMORY = 1_500_000_000
"""Bytes that a conversion may take at the most, whatever the file's size."""

MOST_SECONDS = 60
"""Seconds of work that a conversion may take at the most."""

# What a file may take by its size, some two and a half times what MIDI files of 10 to 70 KB took.
_MEMORY, _MEMORY_A_BYTE = 300_000_000, 8_000
_SECONDS, _BYTES_A_SECOND = 6, 1_200

_TOO_MUCH = "takes more memory or time than a score can need"
_LEGAL = "convert it to MusicXML and read that"
_EXHAUSTED = 3
_UNREADABLE = 4


def convert_apart(data: bytes, kind: str) -> bytes:
    """Convert ``data`` (``Humdrum`` to MEI, ``MIDI`` to MusicXML) in a process of its own.

    Raises FileError where it cannot be read, or needs more than a score can.
    """
    environment = {**os.environ, "OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1"}
    environment["PYTHONPATH"] = os.pathsep.join(path or os.getcwd() for path in sys.path)
    memory = min(MOST_MEMORY, _MEMORY + _MEMORY_A_BYTE * len(data))
    seconds = min(MOST_SECONDS, _SECONDS + len(data) // _BYTES_A_SECOND)
    limits = [str(memory), str(seconds)]
    command = [sys.executable, "-m", "rhythm.formats.bridge.child", kind, *limits]
    try:
        done = subprocess.run(
            command, input=data, capture_output=True, timeout=2 * MOST_SECONDS, env=environment
        )
    except subprocess.TimeoutExpired:
        raise FileError(_TOO_MUCH, legal=_LEGAL) from None
    if done.returncode == 0:
        return done.stdout
    said = done.stderr.decode("utf-8", "replace").splitlines() or [""]
    reason = " ".join(said[-1].split())[:120]
    if done.returncode == _UNREADABLE:
        raise FileError(f"is no readable {kind}: {reason}", legal=_LEGAL)
    if done.returncode < 0 or done.returncode == _EXHAUSTED:
        raise FileError(_TOO_MUCH, legal=_LEGAL)
    raise FileError(f"cannot be converted: {reason}", legal=_LEGAL)


def _limit(memory: int, seconds: int) -> None:
    """Bound what this process may take, where the system can."""
    try:
        import resource
    except ImportError:  # no such limits on this system; the parent's clock remains
        return
    for what, most in (
        (resource.RLIMIT_AS, memory),
        (resource.RLIMIT_CPU, seconds),
        (resource.RLIMIT_CORE, 0),
    ):
        _, hard = resource.getrlimit(what)
        soft = most if hard == resource.RLIM_INFINITY else min(most, hard)
        resource.setrlimit(what, (soft, hard))


def _convert(data: bytes, kind: str) -> bytes:
    if kind == "MIDI":
        from rhythm.formats.bridge.midi import musicxml_of_midi

        return musicxml_of_midi(data)
    from rhythm.formats.bridge.humdrum import mei_of_humdrum

    return mei_of_humdrum(data)


def _main(kind: str, memory: int, seconds: int) -> int:
    data = sys.stdin.buffer.read()
    # Libraries talk on standard output, the native one past Python: what counts goes elsewhere.
    out = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)
    _limit(memory, seconds)
    try:
        made = _convert(data, kind)
    except MemoryError:
        return _EXHAUSTED
    except Exception as error:  # whatever another library may raise
        sys.stderr.write(" ".join(str(error).split())[:120] or type(error).__name__)
        return _UNREADABLE
    out.write(made)
    out.close()
    return 0


if __name__ == "__main__":
    sys.exit(_main(sys.argv[1], int(sys.argv[2]), int(sys.argv[3])))
