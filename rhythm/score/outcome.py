"""What a verb gives back: the score it made, the bars it worked on, and what it did to the music.

A verb is written once, as a function that returns an :class:`Outcome`; :class:`Verb` makes of it
what users call. ``rhythm.rebar(score, "3/4")`` is the score alone; ``rhythm.rebar.outcome(score,
"3/4")`` takes the same arguments and gives all three.

Conventions
-----------
``str(report)`` is one line of music for people, "nothing to change: ..." where there was nothing;
``report.to_dict()`` is the same as plain values for JSON, exact values as texts.
"""

from __future__ import annotations

import inspect
from collections.abc import Callable, Mapping
from dataclasses import field
from functools import update_wrapper
from importlib import import_module
from typing import Any, Generic, ParamSpec, Protocol, TypeVar

from rhythm.exact.frozen import dataclass
from rhythm.score.model import Score
from rhythm.score.select import Bars

__all__ = ["Fact", "Outcome", "Report", "Telling", "Verb"]

P = ParamSpec("P")


class Telling(Protocol):
    """A report of any verb: one line for people, plain values for programs."""

    def __str__(self) -> str: ...

    def to_dict(self) -> dict[str, object]:
        """The same as plain values for JSON."""


R = TypeVar("R", bound=Telling, covariant=True)


@dataclass(frozen=True, slots=True)
class Outcome(Generic[R]):
    """``score`` as it came out, its bars that came of those asked for, and what was done to them.

    ``passage`` is None where nothing was left out, or where a passage is all there is.
    """

    score: Score
    passage: Bars | None
    report: R

    def with_score(self, score: Score) -> Outcome[R]:
        """The same outcome of a score to which something more was done."""
        return Outcome(score, self.passage, self.report)


@dataclass(frozen=True, slots=True)
class Fact:
    """One thing that a verb did: in words, and as a ``value`` under a ``name`` for programs.

    A fact without words is for programs alone.
    """

    name: str
    value: object
    words: str = ""


@dataclass(frozen=True, slots=True)
class Report:
    """What a verb did, fact by fact; ``idle`` says why there was nothing to do, where there was."""

    facts: tuple[Fact, ...] = field(default=())
    idle: str = ""

    def __str__(self) -> str:
        if self.idle:
            return f"nothing to change: {self.idle}"
        return "; ".join(fact.words for fact in self.facts if fact.words)

    @property
    def data(self) -> Mapping[str, Any]:
        """The facts by name, with their exact values."""
        return {fact.name: fact.value for fact in self.facts}

    def to_dict(self) -> dict[str, object]:
        """``line`` is the line for people; the other keys are the names of the facts."""
        plain = {name: _plain(value) for name, value in self.data.items()}
        return {"line": str(self), "changed": not self.idle, **plain}


def _plain(value: object) -> object:
    """A value as JSON has it: exact numbers, metres and their like as texts, rows as lists."""
    if value is None or isinstance(value, bool | int | str):
        return value
    if isinstance(value, tuple | list):
        return [_plain(each) for each in value]
    return str(value)


class Verb(Generic[P, R]):
    """A verb as users call it: the score alone, or with :attr:`outcome` all that came of it."""

    outcome: Callable[P, Outcome[R]]
    """The same call, giving the score, the passage and the report."""

    def __init__(self, outcome: Callable[P, Outcome[R]]) -> None:
        self.outcome = outcome
        update_wrapper(self, outcome)
        self.__signature__ = inspect.signature(outcome).replace(return_annotation="Score")

    def __call__(self, *args: P.args, **kwargs: P.kwargs) -> Score:
        """The score that came of it."""
        return self.outcome(*args, **kwargs).score

    def __reduce__(self) -> tuple[object, ...]:
        """By name, so that a pool of processes can be given the verb."""
        return _verb_of, (self.__module__, self.__name__)  # type: ignore[attr-defined]

    def __repr__(self) -> str:
        return f"<verb {self.__name__}>"  # type: ignore[attr-defined]


def _verb_of(module: str, name: str) -> object:
    """The verb of this name in its module."""
    return getattr(import_module(module), name)
