"""An independent reading of Humdrum ``**kern``: every note with its onset, length and pitch.

Written from the kern representation's own definition (humdrum.org/rep/kern, humdrum.org/guide):
a data line happens at once; time goes on by the shortest of what sounds; ``q`` is a grace note,
``[ _ ]`` are ties, ``0`` a breve, ``%`` a rational value, ``.`` goes on, ``!`` is a comment. It
knows nothing of verovio or of MEI.
"""

from __future__ import annotations

import re
from collections import Counter

from gmpy2 import mpq

__all__ = ["Sounding", "kern_notes"]

Sounding = Counter[tuple[mpq, mpq, int]]

_VALUE = re.compile(r"(\d+)(?:%(\d+))?(\.*)")
_PITCH = re.compile(r"([a-gA-G])\1*")
_STEPS = {"c": 0, "d": 2, "e": 4, "f": 5, "g": 7, "a": 9, "b": 11}


def kern_notes(text: str) -> Sounding:
    """(onset, length, MIDI key as written) of every note, tied notes as one, in whole notes."""
    spines: list[str] = []  # the kind of each spine
    tracks: list[int] = []  # the spine that each came of
    until: list[mpq] = []  # where what sounds in a spine ends
    now = mpq(0)
    found: Sounding = Counter()
    held: dict[tuple[int, int], tuple[mpq, mpq]] = {}  # (track, key): onset, end of what is tied
    for line in text.splitlines():
        if not line or line.startswith("!"):
            continue
        cells = line.split("\t")
        if line.startswith("**"):
            spines, until = cells, [now] * len(cells)
            tracks = list(range(len(cells)))
        elif line.startswith("*"):
            spines, tracks, until = _spines(cells, spines, tracks, until)
        elif not line.startswith("="):
            active = [
                until[i]
                for i, kind in enumerate(spines)
                if kind == "**kern" and until[i] > now and cells[i] == "."
            ]
            for i, cell in enumerate(cells):
                if spines[i] != "**kern" or cell.startswith("!") or cell == ".":
                    continue
                value = mpq(0)
                for token in cell.split():
                    value = _note(token, value, now, tracks[i], held, found)
                if value:
                    until[i] = now + value
                    active.append(until[i])
            now = min(active, default=now)
    for (_, key), (start, end) in held.items():
        found[start, end - start, key] += 1
    return found


def _note(
    token: str,
    value: mpq,
    now: mpq,
    track: int,
    held: dict[tuple[int, int], tuple[mpq, mpq]],
    found: Sounding,
) -> mpq:
    """Count a token in; how long it is. In a chord the value may stand on the first note alone."""
    if "q" in token:
        return value
    said = _VALUE.search(token)
    if said is not None:
        number, count, dots = int(said[1]), int(said[2] or 1), len(said[3])
        plain = mpq(count, number) if number else mpq(2 ** len(said[1]))
        value = plain * (2 - mpq(1, 2**dots))
    pitch = _PITCH.search(token)
    if "r" in token or pitch is None:
        return value
    letters = pitch.group()
    octave = 4 + len(letters) - 1 if letters.islower() else 4 - len(letters)
    key = 12 * (octave + 1) + _STEPS[letters[0].lower()] + token.count("#") - token.count("-")
    before = held.pop((track, key), None)
    start = now
    if before is not None:
        if before[1] == now and ("_" in token or "]" in token):
            start = before[0]
        else:
            found[before[0], before[1] - before[0], key] += 1
    if "[" in token or "_" in token:
        held[track, key] = start, now + value
    else:
        found[start, now + value - start, key] += 1
    return value


def _spines(
    cells: list[str], spines: list[str], tracks: list[int], until: list[mpq]
) -> tuple[list[str], list[int], list[mpq]]:
    """The spines after a line of interpretations: split, joined, ended."""
    made: list[tuple[str, int, mpq]] = []
    joining = False
    for cell, kind, track, end in zip(cells, spines, tracks, until, strict=True):
        if cell == "*v":
            if not joining:
                made.append((kind, track, end))
            joining = True
            continue
        joining = False
        if cell == "*^":
            made += [(kind, track, end)] * 2
        elif cell != "*-":
            made.append((kind, track, end))
    return [each[0] for each in made], [each[1] for each in made], [each[2] for each in made]
