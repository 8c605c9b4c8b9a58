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
    :func:`value`, :func:`reckon`, :class:`Metre`, :class:`MetrePattern`, :class:`Warp`
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
    from rhythm.exact.reckon import reckon
    from rhythm.exact.values import value
    from rhythm.exact.warp import Warp
    from rhythm.formats import read, write
    from rhythm.score.model import Score
    from rhythm.transform.faircopy import faircopy
    from rhythm.transform.groups import group
    from rhythm.transform.rebar import rebar
    from rhythm.transform.tuplets import tuplet
    from rhythm.verbs import exercises, restate, vary

__all__ = [
    "FileError",
    "Metre",
    "MetrePattern",
    "MusicError",
    "RemetreError",
    "RequestError",
    "Score",
    "Warp",
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
    "Warp": "rhythm.exact.warp",
    "check": "rhythm.check.ledger",
    "exercises": "rhythm.verbs",
    "faircopy": "rhythm.transform.faircopy",
    "group": "rhythm.transform.groups",
    "mend": "rhythm.check.mending",
    "read": "rhythm.formats",
    "rebar": "rhythm.transform.rebar",
    "reckon": "rhythm.exact.reckon",
    "restate": "rhythm.verbs",
    "tuplet": "rhythm.transform.tuplets",
    "value": "rhythm.exact.values",
    "vary": "rhythm.verbs",
    "write": "rhythm.formats",
}


def __getattr__(name: str) -> object:
    """Import a public name from its home the first time it is asked for."""
    if name not in _HOMES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    found: object = getattr(import_module(_HOMES[name]), name)
    if name != "check":
        globals()[name] = found
    return found


def __dir__() -> list[str]:
    """The public names, whether imported yet or not."""
    return sorted({*globals(), *__all__})


class _House(ModuleType):
    """Keeps ``rhythm.check`` the verb: importing the package of that name would hide it."""

    @property
    def check(self) -> object:
        """The verb, from its home."""
        return __getattr__("check")

    @check.setter
    def check(self, package: ModuleType) -> None:
        """The import system offers the package here; it stays reachable by importing from it."""


sys.modules[__name__].__class__ = _House
