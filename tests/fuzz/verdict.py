"""What is wrong with a run, judged from outside: by its code, its words, and what it left."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

from lxml import etree

from rhythm.exact.errors import FileError
from rhythm.formats.files import load
from tests import schema
from tests.fuzz.requests import Request
from tests.fuzz.worker import MEGABYTES, SECONDS, Run

__all__ = ["Given", "contradicts_itself", "faults"]

_LONGEST_LINE = 1500
_LEFT_WITH = {"mend": (0, 1)}
"""Codes with which a verb leaves its file; 0 for the others."""


class Given:
    """What a mutant is, found out once for all that is asked of it."""

    def __init__(self, data: bytes) -> None:
        self.data = data
        self.tree = _tree(data)
        self.valid = self.tree is not None and not schema.errors(load(data)[0])
        self.notes = _plain(self.tree) if self.tree is not None else Counter()


def faults(
    given: Given,
    asked: Request,
    run: Run,
    folder: Path,
    left: set[str],
    seconds: int = SECONDS,
) -> list[str]:
    """One line for each; ``left`` are the files that were in the folder before."""
    found = []
    said = run.err.decode("utf-8", "replace")
    if run.code not in (0, 1, 2):
        found.append(f"exit {run.code}: {said.strip()[-300:]}")
    if "Traceback" in said or b"Traceback" in run.out:
        found.append("a traceback")
    if run.seconds > seconds:
        found.append(f"{run.seconds:.0f} seconds")
    if run.megabytes > MEGABYTES:
        found.append(f"{run.megabytes} MB")
    many = any(word.startswith("other.") for word in asked.words)
    lines = said.splitlines()
    if run.code == 2 and not many and sum(line.startswith("remetre") for line in lines) != 1:
        found.append(f"refused in {len(lines)} lines: {said.strip()[:300]}")
    if any(len(line) > _LONGEST_LINE for line in lines):
        found.append(f"a line of {max(map(len, lines))} signs")
    if any(ord(sign) < 32 and sign not in "\n\t" for sign in said):
        found.append("a control character on the terminal")
    found += _files(given, asked, run, folder, left, many)
    return found


def contradicts_itself(run: Run) -> bool:
    """Whether it was refused since the source says two things at once.

    Such a refusal is no fault, but where it grew common it would hide faults, so it is counted.
    """
    return run.code in (1, 2) and b"does not add up to begin with" in run.err


def _files(
    given: Given, asked: Request, run: Run, folder: Path, left: set[str], many: bool
) -> list[str]:
    found = []
    now = {str(path.relative_to(folder)) for path in folder.rglob("*") if path.is_file()}
    new = now - left
    if left - now:
        found.append(f"took away {sorted(left - now)}")
    if any(".tmp" in name for name in new):
        found.append(f"left {sorted(new)}")
    if run.code not in _LEFT_WITH.get(asked.verb, (0,)) and new and not many:
        found.append(f"left {sorted(new)} with exit {run.code}")
    if run.code == 0 and asked.out and asked.out not in new:
        found.append(f"wrote no {asked.out}")
    if many:
        return found
    for name in sorted(new):
        if name.endswith((".musicxml", ".mxl")):
            found += _written(given, asked, (folder / name).read_bytes(), name)
    return found


def _written(given: Given, asked: Request, data: bytes, name: str) -> list[str]:
    try:
        plain = load(data)[0]
        tree = etree.fromstring(plain)
    except (FileError, etree.XMLSyntaxError) as error:
        return [f"{name} cannot be read: {error}"]
    found = []
    if given.valid and (wrong := schema.errors(plain)):
        found.append(f"{name} is not valid: {wrong[0][:200]}")
    if asked.keeps_notes and given.tree is not None and name == asked.out:
        lost = given.notes - _struck(tree)
        if lost:
            found.append(f"lost {sum(lost.values())} notes, such as {next(iter(lost))}")
    return found


def _tree(data: bytes) -> etree._Element | None:
    try:
        tree = etree.fromstring(load(data)[0], etree.XMLParser(resolve_entities=False))
    except (FileError, etree.XMLSyntaxError, ValueError):
        return None
    return tree if tree.tag in ("score-partwise", "score-timewise") else None


_TIES = ("tie", "notations/tied")


def _plain(tree: etree._Element) -> Counter[str]:
    """The pitches of the notes that no tie touches: nothing can have joined them to another."""
    return Counter(
        name
        for note in tree.iter("note")
        if (name := _pitch(note)) and not any(note.find(tie) is not None for tie in _TIES)
    )


def _struck(tree: etree._Element) -> Counter[str]:
    """The pitches of all notes; one that is now written in several pieces counts several times."""
    return Counter(name for note in tree.iter("note") if (name := _pitch(note)))


def _pitch(note: etree._Element) -> str:
    pitch = note.find("pitch")
    if pitch is None:
        return "unpitched" if note.find("unpitched") is not None else ""
    said = (pitch.xpath(f"string({name})") for name in ("step", "alter", "octave"))
    return "".join(str(text).strip() for text in said)
