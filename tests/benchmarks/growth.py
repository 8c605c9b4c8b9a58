"""How time and memory grow with the score: ``python -m tests.benchmarks.growth`` draws two plots.

The score is a piano piece in many voices, cut and joined to so many notes. Each command is a whole
process, and what is counted is its own work (processor time, which other work on the machine
lengthens little) and its largest memory. Bare lxml parses and writes the same file; the scripts in
music21 beside this one do what comes nearest, up to ten thousand notes.

A process is said to have taken as much memory as the one that started it, so this one holds little:
the scores are made in processes of their own.

Colours and marks are told apart in grey and by shape too; both axes are logarithmic.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from math import log10
from pathlib import Path

from tests.benchmarks.installed import compile_modules

HERE = Path(__file__).parent
PICTURES = HERE.parents[1] / "docs" / "pictures"
SIZES = (100, 1_000, 10_000, 100_000)
_MOST_FOR_OTHERS = 10_000
_BARE = "from lxml import etree; import sys; etree.parse(sys.argv[1]).write(sys.argv[2])"
_MAKE = """
import sys
from pathlib import Path
from tests.benchmarks.growth import make
print(make(int(sys.argv[1]), Path(sys.argv[2])))
"""

Measured = dict[str, list[tuple[int, float, float]]]
"""Of each program: notes, seconds, megabytes."""


def commands(file: Path, out: Path, notes: int) -> dict[str, list[str]]:
    """What is measured on a file, by the name it has in the plots."""
    python, us = sys.executable, [sys.executable, "-m", "remetre_cli"]
    found = {
        "bare lxml": [python, "-c", _BARE, str(file), str(out)],
        "check": [*us, "check", "-q", str(file)],
        "restate": [*us, "restate", str(file), "--to", "compound", "--force", "-q", "-o", str(out)],
    }
    if notes <= _MOST_FOR_OTHERS:
        found["music21, check"] = [python, str(HERE / "plain_check.py"), str(file)]
        found["music21, restate"] = [python, str(HERE / "plain_restate.py"), str(file), str(out)]
    return found


def make(size: int, file: Path) -> int:
    """Write the piece, cut or joined to about so many notes; return how many."""
    from rhythm.formats.musicxml.read.score_reader import read
    from rhythm.formats.musicxml.write.score_writer import to_bytes
    from rhythm.score.concatenation import concat, extract
    from tests.corpus import music21_folder

    piece = read(music21_folder() / "corpus" / "schubert" / "Lindenbaum.xml")
    whole = sum(1 for _ in piece.events())
    if size < whole:
        score = extract(piece, 0, max(1, len(piece.bars) * size // whole))
    else:
        score = concat([piece] * round(size / whole))
    file.write_bytes(to_bytes(score))
    return sum(1 for _ in score.events())


def measured() -> Measured:
    """Seconds and megabytes of every program at every size, and how many notes there are."""
    found: Measured = {}
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        for size in SIZES:
            file = folder / f"{size}.musicxml"
            made = subprocess.check_output([sys.executable, "-c", _MAKE, str(size), str(file)])
            for program, words in commands(file, folder / "out.musicxml", size).items():
                found.setdefault(program, []).append((int(made), *_used(words)))
                print(program, *found[program][-1], flush=True)
    return found


def _used(words: list[str]) -> tuple[float, float]:
    """Seconds of work and megabytes of a process and those that it starts."""
    process = subprocess.Popen(words, stdout=subprocess.DEVNULL)
    _, status, used = os.wait4(process.pid, 0)
    process.returncode = os.waitstatus_to_exitcode(status)
    if process.returncode not in (0, 1):
        raise SystemExit(f"{words} ended with {process.returncode}")
    return used.ru_utime + used.ru_stime, used.ru_maxrss / 1024


_INK = {
    "bare lxml": ("#777777", "circle"),
    "check": ("#1f6f8b", "square"),
    "restate": ("#a8442a", "diamond"),
    "music21, check": ("#86b3c2", "square"),
    "music21, restate": ("#d9a593", "diamond"),
}
_WIDE, _HIGH, _LEFT, _TOP = 550, 330, 86, 30


def plot(found: Measured, which: int, title: str, unit: str) -> str:
    """A drawing of seconds (``which`` 1) or megabytes (2) over notes."""
    values = [row[which] for rows in found.values() for row in rows]
    low, high = int(log10(min(values)) // 1), int(-(-log10(max(values)) // 1))
    span = max(high - low, 1)

    def at(notes: float, value: float) -> tuple[float, float]:
        x = _LEFT + (log10(notes) - 1.8) / 3.3 * _WIDE
        return round(x, 1), round(_TOP + _HIGH - (log10(value) - low) / span * _HIGH, 1)

    drawn = [
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 820 430" font-family="sans-serif" '
        f'font-size="13"><title>{title}</title><rect width="820" height="430" fill="#ffffff"/>'
    ]
    for power in range(low, high + 1):
        _, y = at(1000, 10**power)
        name = f"{10**power:,g} {unit}"
        drawn.append(f'<path d="M{_LEFT} {y}H{_LEFT + _WIDE}" stroke="#dddddd"/>')
        drawn.append(f'<text x="{_LEFT - 8}" y="{y + 4}" text-anchor="end">{name}</text>')
    for size in SIZES:
        x, _ = at(size, 10**low)
        drawn.append(f'<path d="M{x} {_TOP}V{_TOP + _HIGH}" stroke="#eeeeee"/>')
        drawn.append(f'<text x="{x}" y="{_TOP + _HIGH + 22}" text-anchor="middle">{size:,}</text>')
    drawn.append(f'<text x="{_LEFT + _WIDE / 2}" y="415" text-anchor="middle">notes</text>')
    for nth, (program, rows) in enumerate(found.items()):
        colour, shape = _INK[program]
        points = [at(row[0], row[which]) for row in rows]
        line = " ".join(f"{x},{y}" for x, y in points)
        drawn.append(f'<polyline points="{line}" fill="none" stroke="{colour}" stroke-width="2"/>')
        drawn += [_mark(x, y, shape, colour) for x, y in points]
        y = _TOP + 20 + 26 * nth
        drawn.append(_mark(_LEFT + _WIDE + 25, y, shape, colour))
        drawn.append(f'<text x="{_LEFT + _WIDE + 38}" y="{y + 5}">{program}</text>')
    return "\n".join([*drawn, "</svg>", ""])


def _mark(x: float, y: float, shape: str, colour: str) -> str:
    if shape == "circle":
        return f'<circle cx="{x}" cy="{y}" r="4.5" fill="{colour}"/>'
    turn = f' transform="rotate(45 {x} {y})"' if shape == "diamond" else ""
    return f'<rect x="{x - 4}" y="{y - 4}" width="8" height="8" fill="{colour}"{turn}/>'


def table(found: Measured) -> str:
    """The figures as rows for docs/performance.md: against bare lxml, and music21 against ours."""
    rows = ["| notes | check / lxml | restate / lxml | music21 / check | music21 / restate |"]
    rows.append("|---|---|---|---|---|")
    for nth, (notes, bare, _) in enumerate(found["bare lxml"]):
        ours = [found[name][nth][1] for name in ("check", "restate")]
        cells = [f"{each / bare:.1f}" for each in ours]
        for name, own in zip(("check", "restate"), ours, strict=True):
            theirs = found[f"music21, {name}"]
            cells.append(f"{theirs[nth][1] / own:.1f}" if nth < len(theirs) else "not tried")
        rows.append(f"| {notes:,} | {' | '.join(cells)} |")
    return "\n".join(rows)


def main() -> None:
    """Measure, draw both plots, and print the table."""
    compile_modules()
    found = measured()
    for name, which, title, unit in (
        ("growth-time", 1, "Time over notes", "s"),
        ("growth-memory", 2, "Memory over notes", "MB"),
    ):
        (PICTURES / f"{name}.svg").write_text(plot(found, which, title, unit), encoding="utf-8")
    print(table(found))


if __name__ == "__main__":
    main()
