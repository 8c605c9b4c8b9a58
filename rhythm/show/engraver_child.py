"""The engraver's own process: reads requests from standard input, answers on standard output.

The engraver is native code. On some files it dies, on some it runs on or eats all memory; here it
can do so without harm. Started by :mod:`rhythm.show.engraver` as a script of its own, it imports
nothing of ours. A message either way is four bytes of length, big end first, and that much JSON.

A request has ``musicxml`` and ``options`` and says what is wanted: the drawings of ``pages``
(from 1; all where it is null) or, with ``widths``, how wide every bar is by nature. The answer has
``count`` pages, and ``pages`` or ``widths``; or ``refused``. ``megabytes`` and ``seconds`` of work
are the most that an answer may take.
"""

from __future__ import annotations

import json
import os
import re
import sys
from typing import Any, BinaryIO

__all__ = ["serve"]

_KEPT = 4  # scores laid out that are kept for more of their pages
_STAFF = re.compile(
    r'id="([^"]*)" class="measure"[^>]*>(?:(?!class="measure").)*?class="staff"[^>]*>'
    r'<path d="M(-?\d+) -?\d+ L(-?\d+)',
    re.DOTALL,
)


def _receive(stream: BinaryIO) -> Any:
    head = stream.read(4)
    if len(head) < 4:
        return None
    return json.loads(stream.read(int.from_bytes(head, "big")))


def _send(stream: BinaryIO, message: object) -> None:
    data = json.dumps(message).encode()
    stream.write(len(data).to_bytes(4, "big") + data)
    stream.flush()


def _limit(megabytes: int, seconds: int) -> None:
    """Bound what the next answer may take; what earlier ones left to be kept counts as well."""
    try:
        import resource
    except ImportError:  # where there are no such limits the deadline alone holds
        return
    used = resource.getrusage(resource.RUSAGE_SELF)
    wanted = {
        resource.RLIMIT_AS: megabytes * 1024 * 1024,
        resource.RLIMIT_CPU: int(used.ru_utime + used.ru_stime) + 1 + seconds,
        resource.RLIMIT_CORE: 0,
    }
    for what, most in wanted.items():
        soft, hard = resource.getrlimit(what)
        if what == resource.RLIMIT_AS and soft != resource.RLIM_INFINITY:
            most = max(most, soft)
        resource.setrlimit(
            what, (most if hard == resource.RLIM_INFINITY else min(most, hard), hard)
        )


def _starved(megabytes: int) -> bool:
    """Whether this process came near its limit; native code calls its hunger a refusal."""
    try:
        with open("/proc/self/status", encoding="ascii") as status:
            peak = next(int(line.split()[1]) for line in status if line.startswith("VmPeak:"))
    except (OSError, StopIteration, ValueError):  # where nothing tells, there is no such limit
        return False
    return peak * 10 >= megabytes * 1024 * 9


def serve(requests: BinaryIO, answers: BinaryIO) -> None:
    """Answer requests until there are no more."""
    import verovio

    verovio.enableLog(verovio.LOG_OFF)
    laid_out: dict[tuple[str, str], Any] = {}
    while (request := _receive(requests)) is not None:
        _limit(request["megabytes"], request["seconds"])
        key = (request["musicxml"], json.dumps(request["options"], sort_keys=True))
        toolkit = laid_out.pop(key, None)
        if toolkit is None:
            toolkit = verovio.toolkit()
            toolkit.setOptions(request["options"])
            if not toolkit.loadData(request["musicxml"]):
                if _starved(request["megabytes"]):
                    sys.exit("out of memory")  # what is left of the engraver is not to be trusted
                _send(answers, {"refused": True})
                continue
        laid_out[key] = toolkit
        if len(laid_out) > _KEPT:
            del laid_out[next(iter(laid_out))]
        count = toolkit.getPageCount()
        if request.get("widths"):
            found = _STAFF.findall(toolkit.renderToSVG(1))
            widths = {name: int(right) - int(left) for name, left, right in found}
            _send(answers, {"count": count, "widths": widths})
            continue
        wanted = request.get("pages") or range(1, count + 1)
        pages = [toolkit.renderToSVG(page) for page in wanted if page <= count]
        _send(answers, {"count": count, "pages": pages})


if __name__ == "__main__":
    # What native code prints must not get between the answers.
    out = os.fdopen(os.dup(1), "wb")
    silence = os.open(os.devnull, os.O_WRONLY)
    os.dup2(silence, 1)
    os.dup2(silence, 2)
    serve(sys.stdin.buffer, out)
