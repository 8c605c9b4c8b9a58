"""What a caller may hand to a public verb, and what is said where it is something else.

A verb of a layer takes a :class:`~rhythm.score.model.Score` and exact values. At the front door
more is taken (a path where a score is meant), and what cannot be taken is refused there, once, in
one line that names what is legal: the tables below say what each keyword is.
"""

from __future__ import annotations

import inspect
import os
from collections.abc import Callable, Iterable, Mapping
from functools import wraps
from numbers import Rational
from typing import Any, Concatenate, ParamSpec, TypeAlias, TypeVar, overload

from rhythm.exact.errors import KindError, ProofError
from rhythm.exact.nearest import among
from rhythm.score.model import Score
from rhythm.score.outcome import Telling, Verb

__all__ = ["ScoreLike", "at_the_door", "opened"]

ScoreLike: TypeAlias = Score | str | os.PathLike[str]
"""A score, or the path of a file that holds one."""

P = ParamSpec("P")
R = TypeVar("R")
T = TypeVar("T", bound=Telling)

_VALUE = "a fraction of a whole note or a note's name in quotes ('1/8', 'dotted quarter')"
_METRES = "a metre in quotes ('12/8', '3+2/4') or a cycle of metres ('7/8 7/8 5/8')"
_PATH = "the path of a file"

# What each keyword may be, by the names of types, and how to say so; a row that names its verb
# goes before one that does not.
_TAKEN: dict[str, tuple[str, str]] = {
    "against": ("text pattern metre", _METRES),
    "bars": ("text bars", "bars as printed, in quotes: '5', '5-8' or '5-8,12'"),
    "beats": ("truth", "True or False"),
    "before": ("score path text", "a score, or the path of one"),
    "chain": ("text path list", "the path of a chain, or its steps"),
    "by": ("text", "one of the words it lists, in quotes"),
    "click": ("truth", "True or False"),
    "complete": ("truth", "True or False"),
    "count_in": ("whole", "a whole number of bars"),
    "count": ("text", "numbers, takadimi, gordon or kodaly"),
    "devices": ("text list", "a device such as 'augmentation:2', or a list of them"),
    "dissolve": ("text", "written or halved"),
    "expression": ("text value", _VALUE),
    "fit": ("text", "idiomatic or exact"),
    "force": ("truth", "True or False"),
    "levels": ("text list", "the lowest and the highest, in quotes: '2-6.5'"),
    "groups": ("text whole", "units in each group, in quotes: '3+3+2', or 5"),
    "how": ("text", "one of the words it lists, in quotes"),
    "in_": ("text metre", _METRES),
    "instrument": ("text", "an instrument's name, in quotes: 'clarinet'"),
    "keep": ("truth", "True or False"),
    "remarks": ("truth", "True or False"),
    "lilt": ("text", "trochee, iamb, even, or a ratio in quotes: '3:2'"),
    "listen": ("whole", "a whole number of tasks"),
    "manner": ("text path score", "source, house, or a score or the path of one"),
    "mapping": ("text map", "pairs of positions in quotes, '1/8=1/4, 1/4=3/8', or a TimeMap"),
    "meet": ("list", "a list of values or metres: ['5/8', '4/4']"),
    "guises.first": ("whole", "a whole number of bars"),
    "most": ("whole", "a whole number"),
    "names": ("list", "what to call the two versions: ('before', 'after')"),
    "new": ("text value", _VALUE),
    "notes": ("whole", "a whole number"),
    "old": ("text value", _VALUE),
    "only": ("text", "rhythm"),
    "part": ("text", "a part's name or id, in quotes"),
    "place": ("text", "here, alone or append"),
    "plan": ("text path plan", f"{_PATH}, or a plan"),
    "players": ("text", "instruments and their parts: 'flute, clarinet: division, clapping'"),
    "ratio": ("text", "so many notes in the time of so many, in quotes: '3:2'"),
    "reckon.fill": ("list", "a list of metres: ['5/8', '7/8']"),
    "reckon.tempo": ("text value", "beats a minute: 84, or '92.5'"),
    "repeats": ("truth", "True or False"),
    "report": ("report", "what a verb told: the .report of its outcome"),
    "restate.to": (
        "text metre pattern table",
        f"compound, simple, triplets, duplets, {_METRES}, or a table ('4/4:12/8, 6/4:18/8')",
    ),
    "seed": ("whole", "a whole number"),
    "show": ("text", "beams, accents or metre"),
    "span": ("text value", _VALUE),
    "speed": ("text", "a percentage in quotes: '60%'"),
    "split": ("whole", "a whole number of notes"),
    "steps": ("whole", "a whole number of steps"),
    "strict": ("truth", "True or False"),
    "system": ("text", "numbers, takadimi, gordon or kodaly"),
    "tempo": ("text", "beat or value"),
    "title": ("text", "a title, in quotes"),
    "to": ("text metre pattern", _METRES),
    "unit": ("text value", _VALUE),
    "voice": ("text", "a voice's name, in quotes"),
    "width": ("whole", "tenths of a millimetre, a whole number"),
}


@overload
def at_the_door(verb: Verb[Concatenate[Score, P], T]) -> Verb[Concatenate[ScoreLike, P], T]: ...


@overload
def at_the_door(
    verb: Callable[Concatenate[Score, P], R],
) -> Callable[Concatenate[ScoreLike, P], R]: ...


def at_the_door(verb: Any) -> Any:
    """The verb as the public calls it: its score may be a path, its keywords are looked at.

    What is no score, or a keyword of another kind than the verb takes, is refused with a
    :class:`~rhythm.exact.errors.KindError`. None is taken where it is the default.
    """
    if isinstance(verb, Verb):
        return Verb(at_the_door(verb.outcome))
    signature = inspect.signature(verb)
    first = next(iter(signature.parameters))

    @wraps(verb)
    def public(score: ScoreLike, *arguments: Any, **keywords: Any) -> Any:
        bound = _bound(signature, verb.__name__, score, *arguments, **keywords)
        for name, given in bound.arguments.items():
            if name == first:
                continue
            if not (given is None and signature.parameters[name].default is None):
                _look_at(verb.__name__, name, given)
        given = keywords.get("manner")
        if given is not None and given not in ("source", "house"):
            keywords["manner"] = opened(given)
        theme = _afresh(opened(score))
        try:
            made = verb(theme, *arguments, **keywords)
        except ProofError as failed:
            from rhythm.writing import laid_to

            raise laid_to(failed, theme) from None
        return _as_stream(made) if _is_stream(score) and verb.__name__ != "to_music21" else made

    def by_name(*arguments: Any, **keywords: Any) -> Any:
        """Python's own words for a missing or unknown keyword; the score by its name too."""
        if first in keywords and not arguments:
            arguments = (keywords.pop(first),)
        return public(*arguments, **keywords)

    by_name = wraps(verb)(by_name)
    parameters = list(signature.parameters.values())
    parameters[0] = parameters[0].replace(annotation="Score | str | os.PathLike[str]")
    by_name.__signature__ = signature.replace(parameters=parameters)  # type: ignore[attr-defined]
    return by_name


def _bound(
    signature: inspect.Signature, verb: str, *arguments: Any, **keywords: Any
) -> inspect.BoundArguments:
    """The arguments by name; what is missing or unknown is said with the verb's own keywords."""
    try:
        return signature.bind(*arguments, **keywords)
    except TypeError as error:
        known = signature.parameters
        unknown = next((name for name in keywords if name not in known), None)
        if unknown is not None:
            meant = among(unknown, list(known)[1:])
            raise TypeError(f"{verb} takes no {unknown!r}; {meant}") from None
        raise TypeError(f"{verb}: {error}") from None


def _afresh(score: Score) -> Score:
    """The score without the hand that an earlier verb notated it in: it is asked for anew."""
    return score if score.hand is None else score.replace(hand=None)


def opened(score: ScoreLike) -> Score:
    """The score itself, or the one that is read from the path. Raises KindError, FileError."""
    if isinstance(score, Score):
        return score
    if isinstance(score, (str, os.PathLike)):
        from rhythm.formats import read

        return read(score)
    if _is_stream(score):
        from rhythm.formats.bridge.streams import from_music21

        return from_music21(score)
    raise KindError(f"a score is wanted, not {_shown(score)}", legal=_how_to_a_score(score))


def _is_stream(given: object) -> bool:
    """Is this a stream of music21? Told without importing it."""
    return any(
        kind.__name__ == "Stream" and kind.__module__.partition(".")[0] == "music21"
        for kind in type(given).__mro__
    )


def _as_stream(made: Any) -> Any:
    """What a verb made of a stream: a stream where it made a score."""
    from rhythm.formats.bridge.streams import to_music21

    if isinstance(made, Score):
        return to_music21(made)
    if isinstance(getattr(made, "score", None), Score) and hasattr(made, "with_score"):
        return made.with_score(to_music21(made.score))
    return made


def _how_to_a_score(given: object) -> str:
    if type(given).__module__.partition(".")[0] == "music21":
        return "give the stream that holds it"
    if isinstance(given, (bytes, bytearray)) or hasattr(given, "read"):
        return "read it first with rhythm.read"
    if isinstance(getattr(given, "score", None), Score):
        return "give its .score"
    if isinstance(given, Iterable):
        return "one score at a time: a Score or the path of a file"
    return "give a Score or the path of a file"


def _look_at(verb: str, name: str, given: object) -> None:
    found = _TAKEN.get(f"{verb}.{name}") or _TAKEN.get(name)
    if found is None:
        return
    kinds, legal = found
    if not any(_IS[kind](given) for kind in kinds.split()):
        raise KindError(f"{name} of {verb} cannot be {_shown(given)}", legal=legal)


def _shown(given: object) -> str:
    """A value as its writer would know it again, or its type where that would be long."""
    shown = repr(given)
    kind = type(given)
    named = kind.__name__ if kind.__module__ == "builtins" else f"{kind.__module__}.{kind.__name__}"
    return shown if len(shown) <= 30 else f"a {named}"


def _is_metre(given: object) -> bool:
    from rhythm.exact.metre import Metre

    return isinstance(given, Metre)


def _is_report(given: object) -> bool:
    from rhythm.restate.report import Report as Restatement
    from rhythm.score.outcome import Report

    return isinstance(given, (Report, Restatement))


def _is_pattern(given: object) -> bool:
    from rhythm.exact.pattern import MetrePattern

    return isinstance(given, MetrePattern)


def _is_map(given: object) -> bool:
    from rhythm.exact.time_map import TimeMap

    return isinstance(given, TimeMap)


def _is_plan(given: object) -> bool:
    from rhythm.practice.sheet_plan import Plan

    return isinstance(given, Plan)


def _is_value(given: object) -> bool:
    """Whole numbers and fractions of any make: gmpy2's, the standard library's, numpy's."""
    from gmpy2 import mpq, mpz

    return isinstance(given, (Rational, type(mpq()), type(mpz()))) and not isinstance(given, bool)


_IS: Mapping[str, Callable[[object], bool]] = {
    "bars": lambda given: type(given).__module__ == "rhythm.score.select",
    "list": lambda given: isinstance(given, Iterable) and not isinstance(given, (str, bytes)),
    "map": _is_map,
    "metre": _is_metre,
    "path": lambda given: isinstance(given, os.PathLike),
    "pattern": _is_pattern,
    "plan": _is_plan,
    "report": _is_report,
    "score": lambda given: isinstance(given, Score) or _is_stream(given),
    "table": lambda given: isinstance(given, Mapping),
    "text": lambda given: isinstance(given, str),
    "truth": lambda given: isinstance(given, bool),
    "value": _is_value,
    "whole": lambda given: isinstance(given, int) and not isinstance(given, bool),
}
