"""What a worker knows of the scores that it was given: read, and taken through a chain.

A score comes as its bytes, its name and, of a book, the piece; a chain as plain tables. What was
read and made is kept by content for as long as the worker lives, so that a changed blank costs what
it changes.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import lru_cache
from typing import Any, NamedTuple

from rhythm.chain import Done, Step, as_text, followed, options_of, parse, steps_of
from rhythm.exact.errors import RemetreError, RequestError
from rhythm.score.model import Score
from rhythm.sentences import MADE, SENTENCES

from .given import Given

__all__ = ["REPORTING", "Rows", "Walked", "options", "plain", "plainly", "result", "source", "walk"]

REPORTING = frozenset({"faircopy", "group", "rebar", "restate", "tuplet", "vary"})
"""Verbs that tell on a page what became of every beat, and why."""

Rows = Sequence[Mapping[str, Any]]


class Walked(NamedTuple):
    """How far a chain could be done: what its steps made, and the step that could not be done."""

    text: str
    done: tuple[Done, ...]
    problem: dict[str, Any]


@lru_cache(maxsize=8)
def source(given: Given) -> Score:
    """The score as it was dropped. Raises FileError."""
    import warnings

    from rhythm.formats import read

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return read(given.data, given.name, piece=given.piece)


@lru_cache(maxsize=64)
def _after(given: Given, text: str) -> tuple[Done, ...]:
    """What a chain, as text, made of a score; every beginning of it is kept as well."""
    steps = parse(text)
    if not steps:
        return ()
    before = _after(given, as_text(steps[:-1]))
    last = steps[-1]
    if last.off:
        return before
    score = before[-1].score if before else source(given)
    (done,) = followed(score, [replace(last, options=_with_scores(given, last.options))])
    return (*before, Done(len(steps), done.score, done.report))


def walk(given: Given, rows: Rows) -> Walked:
    """Do a chain as far as it can be done."""
    steps = steps_of(rows)
    done: tuple[Done, ...] = ()
    text = ""
    for count in range(1, len(steps) + 1):
        try:
            text, done = as_text(steps[:count]), _after(given, as_text(steps[:count]))
        except RemetreError as error:
            problem = {"step": count, "says": plainly(_unnumbered(error))}
            return Walked(as_text(steps[: count - 1]), done, problem)
    return Walked(text, done, {})


def result(given: Given, rows: Rows) -> Score:
    """What a chain makes of a score. Raises RequestError or MusicError where it cannot."""
    done = _after(given, as_text(steps_of(rows)))
    return done[-1].score if done else source(given)


def options(verb: str, told: Mapping[str, Any], given: Given) -> dict[str, Any]:
    """What was filled into the sentence of a lesson, of sound, of a page. Raises RequestError."""
    filled = {key: value for key, value in told.items() if key != "plan"}
    return _with_scores(given, options_of(MADE[verb], filled))


def _with_scores(given: Given, told: Mapping[str, Any]) -> dict[str, Any]:
    """With the score of the tray that is spoken of: no path of a file is ever opened for a page."""
    manner = told.get("manner", "source")
    if manner in ("source", "house"):
        return dict(told)
    data = dict(given.others).get(manner)
    if data is None:
        raise RequestError(f"no {manner!r} lies on the tray", legal="drop that score on it")
    return {**told, "manner": source(Given(data, manner))}


def plain(step: Step) -> dict[str, Any]:
    """A step as the page has it."""
    return {"verb": step.verb, **step.options, **({"off": True} if step.off else {})}


def _unnumbered(error: RemetreError) -> str:
    """The error without the number of its step and the file's name: it stands beside both."""
    said = re.sub(r"^step \d+ \(\w+\): ", "", error.problem)
    place = error.place
    where = ", ".join(
        label + value
        for label, value in (("part ", place.part), ("bar ", place.bar), ("voice ", place.voice))
        if value
    )
    line = f"{where}: {said}" if where else said
    return f"{line}; {error.legal}" if error.legal else line


_OPTION = re.compile(r"--([a-z]+)(?: ([a-z]+|[\d+/]+)(?=[ ,;.]|$))?")
_BLANKS = {
    blank.name: blank
    for sentence in (*MADE.values(), *reversed(SENTENCES.values()))
    for blank in sentence.blanks
}


def plainly(line: str) -> str:
    """A line of the library's in the words of the page: an option is the blank that it fills."""

    def said(found: re.Match[str]) -> str:
        blank = _BLANKS.get(found[1])
        if blank is None:
            return found[0]
        word = dict(blank.words).get(found[2], "") if found[2] else ""
        if word:
            return f"“{blank.lead} {word}”" if blank.lead else f"“{word}”"
        return f"“{blank.lead} {found[2]}”" if found[2] else f"“{blank.called}”"

    return _OPTION.sub(said, line)
