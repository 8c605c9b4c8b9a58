"""How fast the bench is: a changed blank against the engraver alone, and the way to a first page.

A changed blank is timed from the request to the redrawn row that is looked at; the engraver alone,
laying that music out and drawing that row. The first page is timed from the command to the answer
with its rows and the sentences, beside a plain script that engraves the theme.
"""

from __future__ import annotations

import json
import re
import subprocess
import sys
import tempfile
import time
from base64 import b64encode
from pathlib import Path
from urllib.request import Request, urlopen

from tests.tiny import melody

THEME = ["1/8 1/8 1/4 1/8 1/8 1/8 1/8", "1/4 1/8 1/8 1/2"]
PLAIN = """
import sys, verovio
toolkit = verovio.toolkit()
toolkit.loadFile(sys.argv[1])
toolkit.renderToSVG(1)
"""


def theme(bars: int) -> bytes:
    from rhythm.writing import proven

    return proven(melody("4/4", *(THEME * bars)[:bars]))


def changed_blank(bars: int) -> tuple[float, float]:
    """Seconds from a changed blank to its row, and of the engraver alone; the least of several."""
    from remetre_cli.bench import seeing
    from remetre_cli.bench.given import Given

    from rhythm import read, restate
    from rhythm.formats.musicxml.labelled import labelled
    from rhythm.show.engraver import draw
    from rhythm.show.likely_rows import WIDE

    given = Given(theme(bars), "theme.musicxml")
    score = read(given.data, given.name)
    ours = alone = float("inf")
    have: list[str] = []
    for number, metre in enumerate(("12/8", "3/4", "7/8", "5/4", "6/8", "2/4", "9/8")):
        start = time.perf_counter()
        found = seeing.show(given, [{"verb": "restate", "to": metre}], False, (0, 0), have)
        took = time.perf_counter() - start
        assert len(found["drawn"]) == 1
        have += found["drawn"]
        opened = [row[0] for row in found["bars"][1:]]
        text = labelled(restate(score, metre), prefix="c", breaks=opened)
        start = time.perf_counter()
        draw(text, {"breaks": "encoded", "pageWidth": WIDE}, [1])
        engraved = time.perf_counter() - start
        if number:  # the first starts what the others find running
            ours, alone = min(ours, took), min(alone, engraved)
    return ours, alone


def first_page(times: int = 3) -> tuple[float, float]:
    """Seconds from the command to rows and sentences that are answered; and of a plain script."""
    ours = plain = float("inf")
    with tempfile.TemporaryDirectory() as name:
        score = Path(name) / "theme.musicxml"
        score.write_bytes(theme(32))
        for _ in range(times):
            ours = min(ours, _first(score))
            start = time.perf_counter()
            subprocess.run([sys.executable, "-c", PLAIN, str(score)], check=True)
            plain = min(plain, time.perf_counter() - start)
    return ours, plain


def _first(score: Path) -> float:
    start = time.perf_counter()
    words = [sys.executable, "-m", "remetre_cli", "bench", "--no-open", str(score)]
    with subprocess.Popen(words, stdout=subprocess.PIPE, text=True) as process:
        try:
            assert process.stdout is not None
            address = re.search(r"http\S+", process.stdout.readline())
            assert address is not None
            base = address[0]
            for each in ("", "web/bench.js", "web/music.css", "given"):
                urlopen(base + each).read()
            data = urlopen(base + "given/0").read()
            urlopen(Request(base + "open", data, {"x-name": "theme.musicxml"})).read()
            told = {"name": "theme.musicxml", "data": b64encode(data).decode(), "near": [0, 2]}
            found = json.loads(urlopen(Request(base + "show", json.dumps(told).encode())).read())
            assert found["drawn"]
            assert urlopen(base + "words").read()
            return time.perf_counter() - start
        finally:
            process.terminate()


if __name__ == "__main__":
    for what, (ours, other) in (
        ("32 bars", changed_blank(32)), ("9,000 notes", changed_blank(1800)),
        ("first page", first_page()),
    ):  # fmt: skip
        print(f"{what}: {ours:.3f} s and {other:.3f} s, {ours / other:.1f}")
