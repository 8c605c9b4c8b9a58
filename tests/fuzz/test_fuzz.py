"""A sample of the fuzzer; ``python -m tests.fuzz`` tries thousands."""

import subprocess
import sys
from pathlib import Path
from random import Random

from tests.fuzz.mutants import mutant
from tests.fuzz.requests import request
from tests.fuzz.verdict import Given, contradicts_itself, faults
from tests.fuzz.worker import Run
from tests.markup import note, partwise

ROOT = Path(__file__).parents[2]
GOOD = partwise(note("C4", 8, "half") + note("D4", 8, "half"))


def test_thirty_mutants_go_through_or_are_refused_in_one_line() -> None:
    command = [sys.executable, "-m", "tests.fuzz", "--mutants", "30", "--seconds", "40"]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True)
    assert done.returncode == 0, done.stdout[-2000:] + done.stderr[-2000:]
    assert "30 mutants, 60 runs" in done.stdout
    assert "refusals because the score does not add up to begin with" in done.stdout


def test_a_refusal_laid_to_the_source_is_counted_apart() -> None:
    words = b"remetre restate: a.xml: the score does not add up to begin with (bar 1: 5/4)\n"
    assert contradicts_itself(Run(1, b"", words, 0.1, 100))
    assert not contradicts_itself(Run(0, b"", words, 0.1, 100))
    assert not contradicts_itself(Run(1, b"", b"remetre restate: no bar 9\n", 0.1, 100))


def test_a_number_makes_the_same_mutant_and_the_same_requests() -> None:
    made = []
    for _ in range(2):
        chance = Random("0/7")
        one = mutant(7, chance)
        made.append((one, [request("a.xml", "b.xml", chance).words for _ in range(5)]))
    assert made[0] == made[1]


def test_a_file_with_an_entity_that_nothing_declares_is_not_valid() -> None:
    assert not Given(GOOD.replace(b"<type>half", b"<type>&half;")).valid


def test_the_judge_sees_a_lost_note_a_spoilt_file_and_a_file_left_behind(tmp_path: Path) -> None:
    asked = next(
        each
        for number in range(1000)
        if (each := request("m.xml", "n.xml", Random(number))).verb == "faircopy"
        and each.out == "out.musicxml"
    )
    written = tmp_path / "out.musicxml"

    def judged(data: bytes, code: int = 0, err: bytes = b"") -> str:
        written.write_bytes(data)
        run = Run(code, b"", err, 0.1, 100)
        return "; ".join(faults(Given(GOOD), asked, run, tmp_path, set()))

    assert judged(GOOD) == ""
    assert "lost 1 notes, such as D4" in judged(partwise(note("C4", 16, "whole")))
    assert "is not valid" in judged(GOOD.replace(b"<type>half", b"<type>halve"))
    assert "left ['out.musicxml'] with exit 2" in judged(GOOD, 2, b"remetre faircopy: no\n")
    assert "exit 70" in judged(GOOD, 70, b"remetre faircopy: a defect\n")
    assert "refused in 2 lines" in judged(GOOD, 2, b"Traceback\nValueError\n")
