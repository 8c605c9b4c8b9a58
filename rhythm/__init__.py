"""Restate, regroup and check the metre and rhythm of a score, exactly.

Time is exact everywhere: a value is a ``gmpy2.mpq`` in whole notes, so a quarter is ``1/4`` and a
triplet eighth ``1/12``. A verb takes a score and returns a new one; nothing is changed in place.

Scores in and out
    :func:`read`, :func:`write`, :class:`Score`
The metre changed
    :func:`restate` (the bars are kept, the feel changes), :func:`rebar` (the values are kept, the
    bar lines move), :func:`group` (heard in other groups), :func:`tuplet` (more or fewer notes in
    the same time), :func:`vary` (the classical devices)
Written out afresh, checked, mended
    :func:`faircopy`, :func:`check`, :func:`mend`
For the lesson
    :func:`exercises`
Exact reckoning
    :func:`value`, :func:`reckon`, :class:`Metre`, :class:`MetrePattern`, :class:`TimeMap`
Errors
    :class:`RemetreError` and its children :class:`RequestError`, :class:`FileError` and
    :class:`MusicError`

Every name is imported when it is first used, so ``import rhythm`` costs little.
"""

from __future__ import annotations

import sys
from importlib import import_module
from types import ModuleType
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from rhythm.check.ledger import check
    from rhythm.check.mending import mend
    from rhythm.exact.errors import FileError, MusicError, RemetreError, RequestError
    from rhythm.exact.metre import Metre
    from rhythm.exact.pattern import MetrePattern
    from rhythm.exact.reckoning import reckon
    from rhythm.exact.time_map import TimeMap
    from rhythm.exact.values import value
    from rhythm.formats import read, write
    from rhythm.notate.faircopy import faircopy
    from rhythm.rebar.group import group
    from rhythm.rebar.rebar import rebar
    from rhythm.rebar.tuplet import tuplet
    from rhythm.score.model import Score
    from rhythm.verbs import exercises, restate, vary

__all__ = [
    "FileError",
    "Metre",
    "MetrePattern",
    "MusicError",
    "RemetreError",
    "RequestError",
    "Score",
    "TimeMap",
    "check",
    "exercises",
    "faircopy",
    "group",
    "mend",
    "read",
    "rebar",
    "reckon",
    "restate",
    "tuplet",
    "value",
    "vary",
    "write",
]

_HOMES = {
    "FileError": "rhythm.exact.errors",
    "Metre": "rhythm.exact.metre",
    "MetrePattern": "rhythm.exact.pattern",
    "MusicError": "rhythm.exact.errors",
    "RemetreError": "rhythm.exact.errors",
    "RequestError": "rhythm.exact.errors",
    "Score": "rhythm.score.model",
    "TimeMap": "rhythm.exact.time_map",
    "check": "rhythm.check.ledger",
    "exercises": "rhythm.verbs",
    "faircopy": "rhythm.notate.faircopy",
    "group": "rhythm.rebar.group",
    "mend": "rhythm.check.mending",
    "read": "rhythm.formats",
    "rebar": "rhythm.rebar.rebar",
    "reckon": "rhythm.exact.reckoning",
    "restate": "rhythm.verbs",
    "tuplet": "rhythm.rebar.tuplet",
    "value": "rhythm.exact.values",
    "vary": "rhythm.verbs",
    "write": "rhythm.formats",
}


def __getattr__(name: str) -> object:
    """Import a public name from its home the first time it is asked for."""
    if name not in _HOMES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    found: object = getattr(import_module(_HOMES[name]), name)
    globals()[name] = found
    return found


def __dir__() -> list[str]:
    """The public names, whether imported yet or not."""
    return sorted({*globals(), *__all__})


class _House(ModuleType):
    """Keeps ``rhythm.check`` and its like the verbs: importing their packages would hide them."""

    def __setattr__(self, name: str, value: object) -> None:
        """The import system offers packages here; they stay reachable by importing from them."""
        if not (name in _HOMES and isinstance(value, ModuleType)):
            super().__setattr__(name, value)


sys.modules[__name__].__class__ = _House
