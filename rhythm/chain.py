"""Chains: several verbs one after the other, kept as a small text and done again on other scores.

A chain is a TOML text with a table ``[[step]]`` for each step, named after its verb::

    [[step]]
    verb = "restate"
    to = "12/8"
    lilt = "iamb"

    [[step]]
    verb = "mend"
    off = true            # kept, but not done

Which options a verb has says :mod:`rhythm.sentences`. Whatever is misspelt is refused in a line
that names the step and the nearest legal word. Every step works on what the step before it made.
"""

from __future__ import annotations

import json
import os
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import field
from pathlib import Path
from typing import Any

from rhythm.exact.errors import FileError, Place, RemetreError, RequestError
from rhythm.exact.frozen import dataclass
from rhythm.exact.nearest import among
from rhythm.score.model import Score
from rhythm.score.outcome import Telling
from rhythm.sentences import SENTENCES, Blank, Sentence

__all__ = [
    "Done",
    "Step",
    "as_python",
    "as_text",
    "follow",
    "followed",
    "options_of",
    "parse",
    "read_chain",
]

_MOST = 100  # steps
_LONGEST = 200_000  # characters of a text


@dataclass(frozen=True, slots=True)
class Step:
    """One verb with what it is told; ``off`` steps are kept but not done."""

    verb: str
    options: Mapping[str, Any] = field(default_factory=dict)
    off: bool = False

    @property
    def sentence(self) -> Sentence:
        """The sentence that it fills in."""
        return SENTENCES[self.verb]


@dataclass(frozen=True, slots=True)
class Done:
    """What a step made, what it told, and the number of the step, from 1."""

    number: int
    score: Score
    report: Telling | None


def parse(text: str, path: str = "") -> tuple[Step, ...]:
    """The steps of a chain's text; ``path`` is named in errors.

    Raises RequestError for what is not understood, with the step and the nearest legal word.
    """
    place = Place(path)
    if len(text) > _LONGEST:
        raise RequestError("this text is too long for a chain", place=place)
    try:
        table = tomllib.loads(text, parse_float=str)
    except tomllib.TOMLDecodeError as error:
        raise RequestError(f"the chain is no TOML: {error}", place=place) from None
    except RecursionError:
        raise RequestError("the chain is nested too deeply", place=place) from None
    for key in table:
        if key != "step":
            raise _unknown("the chain", key, ["step"]).at(place)
    rows = table.get("step", [])
    if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
        raise RequestError("'step' is no table", place=place, legal="write [[step]] for each step")
    return steps_of(rows, path)


def steps_of(rows: Sequence[Mapping[str, Any]], path: str = "") -> tuple[Step, ...]:
    """Steps from plain tables, each with its ``verb``, its options and perhaps ``off``.

    Raises RequestError as :func:`parse` does.
    """
    if len(rows) > _MOST:
        raise RequestError(f"a chain of {len(rows)} steps", legal=f"at most {_MOST}")
    try:
        return tuple(_step(row, f"step {number}") for number, row in enumerate(rows, start=1))
    except RequestError as error:
        raise error.at(Place(path)) from None


def _step(row: Mapping[str, Any], where: str) -> Step:
    told = dict(row)
    verb = told.pop("verb", None)
    off = told.pop("off", False)
    if verb is None:
        raise RequestError(f"{where} names no verb", legal="one of " + ", ".join(SENTENCES))
    if not isinstance(verb, str) or verb not in SENTENCES:
        raise _unknown(where, verb, list(SENTENCES))
    if not isinstance(off, bool):
        raise RequestError(f"'off' of {where} is {off!r}", legal="true or false")
    return Step(verb, options_of(SENTENCES[verb], told, f"{where} ({verb})"), off)


def _read(blank: Blank, given: Any, where: str) -> Any:
    """What stands in a blank as its verb takes it; None where it is what holds anyway."""
    if isinstance(given, list) and blank.name == "devices":
        return [str(each) for each in given]
    text = str(given).lower() if isinstance(given, bool) else str(given).strip()
    if not isinstance(given, str | int):
        raise RequestError(f"{blank.name!r} of {where} is {given!r}", legal=blank.means)
    if text == blank.usual or not (text or blank.usual):
        return text if blank.name in _NEEDED and text else None
    legal = [word for word, _ in blank.words]
    if text not in legal and (not blank.free or (blank.kind == "score" and "." not in text)):
        raise RequestError(
            f"{blank.name!r} of {where} cannot be {text!r}", legal=among(text, legal)
        )
    if blank.kind == "truth":
        return text == "true"
    if blank.kind == "whole":
        if not text.isdecimal() or len(text) > 6:
            raise RequestError(f"{blank.name!r} of {where} is {text!r}", legal="a whole number")
        return int(text)
    return text


def options_of(sentence: Sentence, given: Mapping[str, Any], where: str = "") -> dict[str, Any]:
    """What is given for the blanks of a sentence as its verb takes it; ``where`` is said in errors.

    Raises RequestError for what is no blank and for what may not stand in one.
    """
    named = {blank.name: blank for blank in sentence.blanks}
    options: dict[str, Any] = {}
    for key, value in given.items():
        if key not in named:
            raise _unknown(where or sentence.title, key, list(named))
        found = _read(named[key], value, where or sentence.title)
        if found is not None:
            options[key] = found
    return options


_NEEDED = frozenset({"to", "devices"})
"""Blanks that a verb cannot do without: what usually stands there is handed on as well."""


def _unknown(where: str, key: object, legal: list[str]) -> RequestError:
    return RequestError(f"{where} knows no {key!r}", legal=among(str(key), legal))


def _unreadable(error: OSError) -> str:
    if isinstance(error, FileNotFoundError):
        return "there is no such file"
    return f"the chain cannot be read: {error.strerror}"


def read_chain(path: str | os.PathLike[str]) -> tuple[Step, ...]:
    """The steps of a chain in a file. Raises FileError where it cannot be read, and as parse."""
    name = os.fspath(path)
    place = Place(name)
    try:
        text = Path(path).read_text(encoding="utf-8")
    except UnicodeDecodeError:
        raise FileError("this is no text in UTF-8", place=place) from None
    except OSError as error:
        raise FileError(_unreadable(error), place=place) from None
    return parse(text, name)


def as_text(steps: Sequence[Step]) -> str:
    """The text of a chain, which :func:`parse` reads again."""
    blocks = []
    for step in steps:
        lines = ["[[step]]", f"verb = {json.dumps(step.verb)}"]
        lines += [f"{key} = {_toml(value)}" for key, value in step.options.items()]
        if step.off:
            lines.append("off = true")
        blocks.append("\n".join(lines) + "\n")
    return "\n".join(blocks)


def _toml(value: Any) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, list):
        return "[" + ", ".join(map(_toml, value)) + "]"
    return str(value) if isinstance(value, int) else json.dumps(value, ensure_ascii=False)


def as_python(
    steps: Sequence[Step], source: str = "song.musicxml", out: str = "", piece: str = ""
) -> str:
    """The same in Python, to be copied; ``piece`` is one of a book."""
    which = f", piece={piece!r}" if piece else ""
    lines = ["import rhythm", "", f"score = rhythm.read({source!r}{which})"]
    for step in steps:
        if not step.off:
            told = "".join(f", {key}={value!r}" for key, value in step.options.items())
            lines.append(f"score = rhythm.{step.verb}(score{told})")
    lines.append(f"rhythm.write(score, {out or 'out.musicxml'!r})")
    return "\n".join(lines) + "\n"


def follow(score: Score, chain: Sequence[Step] | str | os.PathLike[str]) -> Score:
    """The score after all steps of a chain, which may be the path of its text.

    Raises RequestError or MusicError with the number of the step that cannot be done.
    """
    steps = read_chain(chain) if isinstance(chain, str | os.PathLike) else chain
    done = followed(score, steps)
    return done[-1].score if done else score


def followed(score: Score, steps: Sequence[Step]) -> list[Done]:
    """What every step that is not off made, in order. Raises as :func:`follow` does."""
    import rhythm

    found: list[Done] = []
    report: Telling | None
    for number, step in enumerate(steps, start=1):
        if step.off:
            continue
        verb = getattr(rhythm, step.verb)
        try:
            if hasattr(verb, "outcome"):
                outcome = verb.outcome(score, **step.options)
                score, report = outcome.score, outcome.report
            else:
                score, report = verb(score, **step.options), None
        except RemetreError as error:
            raise type(error)(
                f"step {number} ({step.verb}): {error.problem}",
                place=error.place,
                legal=error.legal,
            ) from None
        found.append(Done(number, score, report))
    return found
