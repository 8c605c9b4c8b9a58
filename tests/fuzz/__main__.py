"""``python -m tests.fuzz [--mutants 3000] [--first 0] [--seed 0] [--asked 2] [--jobs 2]``."""

from __future__ import annotations

import argparse
import json
import os
import shutil
import sys
import tempfile
import time
import traceback
from collections import Counter
from pathlib import Path
from random import Random
from typing import Any

from tests.fuzz.mutants import Mutant, mutant
from tests.fuzz.requests import Request, request
from tests.fuzz.seeds import seeds
from tests.fuzz.verdict import Given, contradicts_itself, faults
from tests.fuzz.worker import SECONDS, Run, prepare, run

_SHOWN = 40


def main() -> int:
    """Try the mutants and tell what is wrong; the exit code says whether anything is."""
    options = _options()
    prepare()
    seeds()
    numbers = range(options.first, options.first + options.mutants)
    if options.only is not None:
        numbers = range(options.only, options.only + 1)
    began = time.monotonic()
    runs, mutants, contradictory, wrong = 0, 0, 0, []
    blamed = (options.keep / "blamed").open("a") if options.keep is not None else None
    codes: Counter[int] = Counter()
    for told in _spread(numbers, options):
        mutants += 1
        runs += len(told["codes"])
        codes.update(told["codes"])
        contradictory += len(told["contradictory"])
        if blamed is not None:
            blamed.writelines(f"{line}\n" for line in told["contradictory"])
            blamed.flush()
        wrong += told["faults"]
        for fault in told["faults"]:
            print(fault, flush=True)
        if mutants % 250 == 0:
            print(f"{mutants} mutants, {runs} runs, {len(wrong)} faults", file=sys.stderr)
    minutes = (time.monotonic() - began) / 60
    told_codes = ", ".join(f"{count} ended with {code}" for code, count in sorted(codes.items()))
    print(f"{mutants} mutants, {runs} runs ({told_codes}), {len(wrong)} faults, {minutes:.1f} min")
    print(f"{contradictory} refusals because the score does not add up to begin with")
    if mutants != len(numbers):
        print(f"only {mutants} of {len(numbers)} mutants were tried")
        return 1
    return 1 if wrong else 0


def _options() -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="python -m tests.fuzz", description=__doc__)
    parser.add_argument("--mutants", type=int, default=3000)
    parser.add_argument("--first", type=int, default=0, help="the number of the first mutant")
    parser.add_argument("--only", type=int, help="one mutant alone")
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--asked", type=int, default=2, help="commands for each mutant")
    parser.add_argument("--seconds", type=int, default=SECONDS, help="that a run may take")
    parser.add_argument("--jobs", type=int, default=2)
    parser.add_argument(
        "--keep", type=Path, help="put what went wrong, and blamed scores, into this folder"
    )
    parser.add_argument("--verb", help="ask this of every mutant alone")
    return parser.parse_args()


def _spread(numbers: range, options: argparse.Namespace):  # type: ignore[no-untyped-def]
    """What every mutant tells, from as many processes as there are jobs."""
    reader, writer = os.pipe()
    children = []
    for job in range(options.jobs):
        child = os.fork()
        if child == 0:
            os.close(reader)
            code = 1
            try:
                for number in numbers[job :: options.jobs]:
                    line = json.dumps(_try(number, options)) + "\n"
                    os.write(writer, line.encode())
                code = 0
            except BaseException:
                traceback.print_exc()
            finally:
                os._exit(code)
        children.append(child)
    os.close(writer)
    with os.fdopen(reader) as lines:
        for line in lines:
            yield json.loads(line)
    for child in children:
        os.waitpid(child, 0)


def _try(number: int, options: argparse.Namespace) -> dict[str, Any]:
    chance = Random(f"{options.seed}/{number}")
    one = mutant(number, chance)
    other = mutant(number, Random(f"{options.seed}/{number}/other"))
    given = Given(one.data)
    told: dict[str, Any] = {"codes": [], "contradictory": [], "faults": []}
    for place in range(options.asked):
        asked = request(f"mutant{one.ending}", f"other{other.ending}", chance)
        if options.verb and asked.verb != options.verb:
            continue
        with tempfile.TemporaryDirectory(prefix="fuzz-") as top:
            folder = Path(top, "here")
            done, found = _ask(given, one, other, asked, folder, options.seconds)
            told["codes"].append(done.code)
            if found and options.keep is not None:
                kept = options.keep / f"{number}-{place}"
                shutil.copytree(folder, kept, dirs_exist_ok=True)
                (kept / "words").write_text(json.dumps(asked.words) + "\n" + "\n".join(found))
        words = " ".join(json.dumps(word, ensure_ascii=False)[:60] for word in asked.words)
        if contradicts_itself(done):
            said = done.err.decode("utf-8", "replace").strip()
            told["contradictory"].append(f"{number}.{place} {words[:200]}: {said}"[:800])
        told["faults"] += [f"{number}.{place} {words[:200]}: {fault}"[:600] for fault in found[:2]]
    return told


def _ask(
    given: Given, one: Mutant, other: Mutant, asked: Request, folder: Path, seconds: int
) -> tuple[Run, list[str]]:
    folder.mkdir()
    (folder / f"mutant{one.ending}").write_bytes(one.data)
    (folder / f"other{other.ending}").write_bytes(other.data)
    for name, data in asked.extra:
        (folder / name).write_bytes(data)
    before = {path.name: path.read_bytes() for path in folder.iterdir()}
    done = run(asked.words, folder, one.data if asked.stdin else b"")
    found = faults(given, asked, done, folder, set(before), seconds)
    changed = [name for name, data in before.items() if (folder / name).is_file()
               and (folder / name).read_bytes() != data]  # fmt: skip
    if changed:
        found.append(f"changed {changed}")
    return done, found


if __name__ == "__main__":
    sys.exit(main())
