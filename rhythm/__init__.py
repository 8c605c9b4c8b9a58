"""Restate, regroup and check the metre and rhythm of a score, exactly.

Time is exact everywhere: a value is a ``gmpy2.mpq`` in whole notes, so a quarter is ``1/4`` and a
triplet eighth ``1/12``. A verb takes a score, or the path of one, and returns a new score; nothing
is changed in place.

Scores in and out
    :func:`read`, :func:`write`, :func:`from_music21`, :func:`to_music21`, :class:`Score`
The metre changed
    :func:`restate` (the bars are kept, the feel changes), :func:`rebar` (the values are kept, the
    bar lines move), :func:`group` (heard in other groups), :func:`tuplet` (more or fewer notes in
    the same time), :func:`vary` (the classical devices), :func:`guises` (all metres that suit a
    theme), :func:`follow` (several verbs, kept as a chain)
Written out afresh, checked, mended
    :func:`faircopy`, :func:`manner` (how its editor writes), :func:`check`, :func:`mend`
For the lesson
    :func:`count` (syllables under the notes), :func:`exercises`
To look at and to hear
    :func:`excerpt` (some bars, a part, a voice), :func:`page`, :func:`midi`
Exact reckoning
    :func:`value`, :func:`reckon`, :class:`Metre`, :class:`MetrePattern`, :class:`TimeMap`
Errors
    :class:`RemetreError` and its children :class:`RequestError`, :class:`FileError` and
    :class:`MusicError`

Every name is imported when it is first used, so ``import rhythm`` costs little. ``check``,
``rebar`` and ``restate`` are packages that can be called: ``rhythm.check(score)`` is the verb, and
``import rhythm.check.ledger`` works beside it.
"""

import sys as _sys
import typing as _typing
from importlib import import_module as _import_module
from types import ModuleType as _Module

if _typing.TYPE_CHECKING:
    from rhythm.arguments import at_the_door as _at_the_door
    from rhythm.chain import follow as _follow
    from rhythm.check.mending import mend as _mend
    from rhythm.every_metre import guises as _guises
    from rhythm.exact.errors import FileError, MusicError, RemetreError, RequestError
    from rhythm.exact.metre import Metre
    from rhythm.exact.pattern import MetrePattern
    from rhythm.exact.reckoning import reckon
    from rhythm.exact.time_map import TimeMap
    from rhythm.exact.values import value
    from rhythm.formats import read
    from rhythm.formats.bridge.streams import from_music21
    from rhythm.formats.bridge.streams import to_music21 as _to_music21
    from rhythm.notate.faircopy import faircopy as _faircopy
    from rhythm.notate.manner import manner as _manner
    from rhythm.package_types import Check as _Check
    from rhythm.package_types import Rebar as _Rebar
    from rhythm.package_types import Restate as _Restate
    from rhythm.practice.counting import count as _count
    from rhythm.rebar.group import group as _group
    from rhythm.score.excerpt import excerpt as _excerpt
    from rhythm.score.model import Score
    from rhythm.verbs import exercises as _exercises
    from rhythm.verbs import midi as _midi
    from rhythm.verbs import page as _page
    from rhythm.verbs import tuplet as _tuplet
    from rhythm.verbs import vary as _vary
    from rhythm.writing import write as _write

    __version__: str
    check = _Check()
    count = _at_the_door(_count)
    excerpt = _at_the_door(_excerpt)
    exercises = _at_the_door(_exercises)
    faircopy = _at_the_door(_faircopy)
    follow = _at_the_door(_follow)
    group = _at_the_door(_group)
    guises = _at_the_door(_guises)
    manner = _at_the_door(_manner)
    mend = _at_the_door(_mend)
    midi = _at_the_door(_midi)
    page = _at_the_door(_page)
    rebar = _Rebar()
    restate = _Restate()
    to_music21 = _at_the_door(_to_music21)
    tuplet = _at_the_door(_tuplet)
    vary = _at_the_door(_vary)
    write = _at_the_door(_write)

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
    "count",
    "excerpt",
    "exercises",
    "faircopy",
    "follow",
    "from_music21",
    "group",
    "guises",
    "manner",
    "mend",
    "midi",
    "page",
    "read",
    "rebar",
    "reckon",
    "restate",
    "to_music21",
    "tuplet",
    "value",
    "vary",
    "write",
]

# Where each name lives; a verb whose first argument is a score is handed out at the door, where
# paths are opened and what is no score is refused.
_VERBS = {
    "check": "rhythm.check.ledger",
    "count": "rhythm.practice.counting",
    "excerpt": "rhythm.score.excerpt",
    "exercises": "rhythm.verbs",
    "faircopy": "rhythm.notate.faircopy",
    "follow": "rhythm.chain",
    "group": "rhythm.rebar.group",
    "guises": "rhythm.every_metre",
    "manner": "rhythm.notate.manner",
    "mend": "rhythm.check.mending",
    "midi": "rhythm.verbs",
    "page": "rhythm.verbs",
    "rebar": "rhythm.rebar.rebar",
    "restate": "rhythm.verbs",
    "to_music21": "rhythm.formats.bridge.streams",
    "tuplet": "rhythm.verbs",
    "vary": "rhythm.verbs",
    "write": "rhythm.writing",
}
_HOMES = {
    "FileError": "rhythm.exact.errors",
    "Metre": "rhythm.exact.metre",
    "MetrePattern": "rhythm.exact.pattern",
    "MusicError": "rhythm.exact.errors",
    "RemetreError": "rhythm.exact.errors",
    "RequestError": "rhythm.exact.errors",
    "Score": "rhythm.score.model",
    "TimeMap": "rhythm.exact.time_map",
    "from_music21": "rhythm.formats.bridge.streams",
    "read": "rhythm.formats",
    "reckon": "rhythm.exact.reckoning",
    "value": "rhythm.exact.values",
    **_VERBS,
}
_PACKAGES = ("check", "rebar", "restate")
"""Verbs that have the name of a package: the package itself is called."""


def _verb(name: str) -> _typing.Callable[..., _typing.Any]:
    """The public verb of this name."""
    from rhythm.arguments import at_the_door

    found: _typing.Callable[..., _typing.Any] = at_the_door(
        getattr(_import_module(_VERBS[name]), name)
    )
    return found


def __getattr__(name: str) -> object:
    """Import a public name from its home the first time it is asked for."""
    if name == "__version__":
        from importlib.metadata import version

        found: object = version("remetre")
    elif name in _PACKAGES:
        return _import_module(f"rhythm.{name}")  # which sets the attribute
    elif name in _VERBS:
        found = _verb(name)
    elif name in _HOMES:
        found = getattr(_import_module(_HOMES[name]), name)
    else:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}{_nearest(name)}")
    globals()[name] = found
    return found


def _nearest(name: str) -> str:
    from rhythm.exact.nearest import nearest

    near = nearest(name, __all__)
    return f"; did you mean {near}?" if near else ""


def __dir__() -> list[str]:
    """What there is to use: the public names, whether imported yet or not."""
    return sorted([*__all__, "__all__", "__doc__", "__file__", "__name__", "__version__"])


class _VerbPackage(_Module):
    """A package that is also the verb of its name: its modules inside, the verb when called."""

    def __call__(self, *arguments: object, **keywords: object) -> object:
        """Do what the verb does."""
        return self.__wrapped__(*arguments, **keywords)

    def __getattr__(self, name: str) -> _typing.Any:
        """The verb, its signature and its outcome, when something asks for them."""
        short = self.__name__.rpartition(".")[2]
        if name == "__wrapped__":
            found: object = _verb(short)
        elif name == "__signature__":
            import inspect

            found = inspect.signature(self.__wrapped__)
        elif name == "outcome":
            found = self.__wrapped__.outcome
        else:
            raise AttributeError(f"module {self.__name__!r} has no attribute {name!r}")
        self.__dict__[name] = found
        return found

    def __reduce__(self) -> tuple[object, ...]:
        """By name, so that a pool of processes can be given the verb."""
        return _import_module, (self.__name__,)


def _documented(package: _VerbPackage) -> str:
    """What the verb says of itself, then what the package says."""
    import inspect

    name = package.__name__.rpartition(".")[2]
    verb = package.__wrapped__
    told = f"{name}{inspect.signature(verb)}\n\n{inspect.getdoc(verb)}"
    return f"{told}\n\nThe package\n-----------\n{package.__dict__['__doc__']}"


_VerbPackage.__doc__ = property(_documented)  # type: ignore[assignment]


class _House(_Module):
    """Lets ``rhythm.check`` and its like be called: the import system offers packages here."""

    def __setattr__(self, name: str, value: object) -> None:
        if name in _PACKAGES and isinstance(value, _Module):
            value.__class__ = _VerbPackage
        super().__setattr__(name, value)


_sys.modules[__name__].__class__ = _House
