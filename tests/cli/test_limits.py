"""Small files that ask for much: each is done or refused at once, never worked on for minutes.

Seconds are of this process's own work; what is allowed is many times what is needed.
"""

import os
import subprocess
import sys
import time
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

import pytest

import rhythm
from rhythm.exact.errors import FileError, MusicError, RequestError
from rhythm.score.model import Score
from rhythm.writing import proven
from tests.markup import attributes, backup, note, partwise

SECONDS = 8
PRIMES = ((1009, 1008), (1013, 1012), (1019, 1018), (1021, 1020))
EIGHTHS = note("C4", 2, "eighth") * 8
REPEATED = (
    f'<barline location="left"><repeat direction="forward"/></barline>{EIGHTHS}'
    '<barline location="right"><repeat direction="backward"/></barline>'
)
SCORES = {
    "ratios of neighbouring primes": partwise(
        "".join(note("C4", 4, "quarter", ratio=f"{n}:{m}") for n, m in PRIMES)
    ),
    "divisions of forty digits": partwise(note("B4", 1, "eighth"), divisions="9" * 39),
    "a backup of next to nothing": partwise(
        '<note><rest/><type>quarter</type></note><backup><duration>0.' + "0" * 30 +
        "1</duration></backup>" + note("C4", 768), time="", divisions="",
    ),
    "eight hundred notes that contradict their durations": partwise(
        "".join(note("C4", 3 + i % 5, "eighth", voice=str(1 + i % 3)) for i in range(800))
    ),
    "two thousand notes at one moment": partwise(
        (note("C4", 4, "quarter") + backup(4)) * 2000
    ),
    "a repeat in each of three hundred bars": partwise(*[REPEATED] * 300),
    "a signature in each of three hundred bars": partwise(
        *[attributes(f"{3 + i % 5}/8", "") + note("C4", 2, "eighth") * (3 + i % 5)
          for i in range(300)]
    ),
    "a note of a thousand whole notes": partwise(note("C4", 16_000)),
}  # fmt: skip
VERBS: dict[str, Callable[[Score], object]] = {
    "checked": rhythm.check,
    "mended": lambda score: proven(rhythm.mend(score)),
    "restated": lambda score: proven(rhythm.restate(score, to="7/8")),
    "squeezed": lambda score: proven(rhythm.tuplet(score, "13:11")),
    "squeezed by primes": lambda score: rhythm.tuplet(score, "9973:9967"),
    "divided": lambda score: rhythm.tuplet(score, split=997, span="1/4"),
    "backwards": lambda score: proven(rhythm.vary(score, "retrograde")),
    "on a long cycle": lambda score: rhythm.vary(score, "isorhythm:1/4,1/16,3/32 full"),
}


@pytest.mark.parametrize("verb", VERBS.values(), ids=VERBS)
@pytest.mark.parametrize("data", SCORES.values(), ids=SCORES)
def test_what_a_small_file_asks_for_is_bounded(
    data: bytes, verb: Callable[[Score], object]
) -> None:
    began = time.process_time()
    with suppress(FileError, MusicError, RequestError):
        verb(rhythm.read(data))
    assert time.process_time() - began < SECONDS


def test_bars_without_number_are_added_in_a_time_that_grows_with_them() -> None:
    theme = rhythm.read(partwise(note("C4", 16, "whole"), note("D4", 16, "whole")))
    began = time.process_time()
    assert len(rhythm.vary(theme, "displacement:20000").bars) == 20_002
    assert time.process_time() - began < SECONDS


def test_the_same_request_writes_the_same_bytes(tmp_path: Path) -> None:
    theme = Path(__file__).parents[2] / "examples" / "lantern-song.musicxml"
    made = []
    for seed in "12":
        out = tmp_path / f"{seed}.mxl"
        words = ["restate", str(theme), "--to", "7/8", "--count", "numbers", "-o", str(out)]
        command = [sys.executable, "-m", "remetre_cli", *words]
        subprocess.run(command, check=True, env={**os.environ, "PYTHONHASHSEED": seed})
        made.append(out.read_bytes())
    assert made[0] == made[1]
