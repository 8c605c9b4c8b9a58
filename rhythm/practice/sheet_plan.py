"""The plan of a practice sheet: which exercises are made of a theme, read from TOML and checked.

A plan has a few settings and a table ``[[exercise]]`` for each exercise::

    title = "Lantern Song in six feels"
    levels = [2, 7]             # leave out what is easier or harder
    most = 6                    # so many at most, spread from easy to hard
    order = "level"             # or "plan": as written here
    seed = 3                    # for what is drawn by lot
    count = "takadimi"          # syllables under the notes

    [[exercise]]
    restate = "compound"
    lilt = "iamb"

Each exercise has one verb, its options (:data:`VERBS`), and may have a ``name``, ``bars`` of the
theme to use, ``levels`` of its own and a ``task`` (:data:`~rhythm.practice.tasks.KINDS`); a task
alone is made of the theme itself. Nothing that is misspelt passes: the error names the key
and the nearest legal one.
"""

from __future__ import annotations

import os
import tomllib
from collections.abc import Mapping
from dataclasses import field
from pathlib import Path
from typing import Any

from gmpy2 import mpq

from rhythm.exact.errors import FileError, Place, RequestError
from rhythm.exact.expressions import evaluate
from rhythm.exact.frozen import dataclass
from rhythm.exact.nearest import among, nearest
from rhythm.practice.drills import KINDS
from rhythm.practice.instruments import instrument_named
from rhythm.practice.near_misses import NEARNESS
from rhythm.practice.players import players_named
from rhythm.practice.steps import FEWEST, MOST
from rhythm.practice.syllables import SYSTEMS
from rhythm.practice.tasks import EARS
from rhythm.practice.tasks import KINDS as ASKED
from rhythm.rebar.group import SHOWS
from rhythm.restate.align import FEET
from rhythm.restate.targets import WORDS as TARGETS

__all__ = ["ORDERS", "THEN", "VERBS", "Plan", "Recipe", "parse_plan", "read_levels", "read_plan"]

ORDERS = ("level", "plan")

TEXT, CHAIN, LEVELS = "a text", "a text or a list of texts", "levels"
STEPS = f"a whole number from {FEWEST} to {MOST}"
PLAYERS = "players with their parts, as in 'flute, clarinet: division, clapping'"
INSTRUMENT = "the name of an instrument"
TRUTH = "true or false"
NUMBER, COUNT = "a whole number", "a whole number, 1 or more"

THEN = " then "
"""Stands between devices that follow one another in the argument of ``vary``."""


@dataclass(frozen=True, slots=True)
class Words:
    """A value that is one of these words or, where ``others`` may stand too, most likely is."""

    legal: tuple[str, ...]
    others: bool = False


VERBS: dict[str, dict[str, str | Words]] = {
    "restate": {
        "restate": Words(TARGETS, others=True),
        "by": Words(("bar", "beat")),
        "lilt": Words(FEET, others=True),
        "fit": Words(("idiomatic", "exact")),
        "map": TEXT,
    },
    "vary": {"vary": CHAIN},
    "rebar": {"rebar": TEXT},
    "group": {"group": TEXT, "unit": TEXT, "show": Words(SHOWS)},
    "tuplet": {"tuplet": TEXT, "unit": TEXT},
    "drill": {
        "drill": COUNT, "metre": TEXT, "pulse": TEXT, "kind": Words(KINDS), "take": COUNT,
        "rests": TRUTH,
    },
    "against": {"against": TEXT, "turns": COUNT},
    "ostinato": {"ostinato": TEXT, "unit": TEXT},
    "steps": {"steps": STEPS},
    "players": {"players": PLAYERS},
    "theme": {"theme": Words(("as it is",))},
}  # fmt: skip
"""Every verb of an exercise with its options and what they must be."""

_COMMON: dict[str, str | Words] = {
    "name": TEXT, "bars": TEXT, "levels": LEVELS, "task": Words(ASKED), "near": Words(NEARNESS),
}  # fmt: skip
_SETTINGS: dict[str, str | Words] = {
    "title": TEXT, "levels": LEVELS, "most": COUNT, "order": Words(ORDERS), "seed": NUMBER,
    "count": Words(SYSTEMS), "only": Words(("rhythm",)), "instrument": INSTRUMENT,
    "beats": TRUTH,
}  # fmt: skip

Levels = tuple[mpq, mpq]


@dataclass(frozen=True, slots=True)
class Recipe:
    """One exercise to be made: a verb, its argument, its options; ``number`` as in the plan.

    ``task`` is what the pupil is asked to do with it, ``near`` how near the near misses of a task
    for the ear are. ``optional`` exercises are left out where the
    music does not allow them.
    """

    verb: str
    argument: str
    options: Mapping[str, Any] = field(default_factory=dict)
    name: str = ""
    bars: str = ""
    levels: Levels | None = None
    task: str = ""
    near: str = ""
    number: int = 0
    optional: bool = False


@dataclass(frozen=True, slots=True)
class Plan:
    """A checked plan. ``None`` and "" leave a setting to the caller."""

    recipes: tuple[Recipe, ...]
    title: str = ""
    levels: Levels | None = None
    most: int | None = None
    order: str = "level"
    seed: int | None = None
    count: str = ""
    only: str = ""
    instrument: str = ""
    beats: bool = False
    path: str = ""

    @property
    def together(self) -> bool:
        """Whether it makes a score for several players, in which the theme is one of the parts."""
        return any(recipe.verb == "players" for recipe in self.recipes)

    @property
    def opens(self) -> bool:
        """Whether the theme opens the sheet: not where it would tell what is to be heard."""
        return not self.together and not any(recipe.task in EARS for recipe in self.recipes)


def parse_plan(text: str, path: str = "") -> Plan:
    """The plan that a TOML text describes; ``path`` is named in errors.

    Raises RequestError, in one line with the nearest legal name, for whatever is not understood.
    """
    place = Place(path)
    try:
        table = tomllib.loads(text, parse_float=str)
    except tomllib.TOMLDecodeError as error:
        raise RequestError(
            f"the plan is not TOML: {error}", place=place, legal="see docs/exercises.md"
        ) from None
    try:
        return _plan(table, path)
    except RequestError as error:
        raise error.at(place) from None


def read_plan(path: str | os.PathLike[str]) -> Plan:
    """The plan in a TOML file. Raises FileError where it is no text, and as :func:`parse_plan`."""
    name = os.fspath(path)
    try:
        text = Path(name).read_text(encoding="utf-8")
    except UnicodeDecodeError:
        raise FileError("the plan is no text in UTF-8", place=Place(name)) from None
    return parse_plan(text, name)


def _plan(table: dict[str, Any], path: str) -> Plan:
    made = table.pop("exercise", [])
    if not isinstance(made, list) or not all(isinstance(each, dict) for each in made):
        raise RequestError("'exercise' is no table", legal="write [[exercise]] before each one")
    settings = _checked(table, _SETTINGS, "the plan", extra=("exercise",))
    recipes = tuple(_recipe(each, number) for number, each in enumerate(made, start=1))
    if not recipes:
        raise RequestError(
            "the plan has no exercises", legal="write [[exercise]] and a verb under it"
        )
    plan = Plan(recipes, path=path, **settings)
    if plan.together and len(recipes) > 1:
        raise RequestError(
            "players stand beside other exercises", legal="a plan of their own for the players"
        )
    return plan


def _recipe(table: dict[str, Any], number: int) -> Recipe:
    where = f"exercise {number}"
    if "task" in table and not any(key in VERBS for key in table):
        table = {"theme": "as it is", **table}
    verbs = [key for key in table if key in VERBS]
    if len(verbs) != 1:
        if not verbs:
            for key in table:
                if key not in _COMMON and not any(key in options for options in VERBS.values()):
                    raise _unknown(key, VERBS, where)
        said = " and ".join(map(repr, verbs)) or "no verb"
        raise RequestError(f"{where} has {said}", legal="one of " + ", ".join(VERBS))
    (verb,) = verbs
    try:
        values = _checked(table, {**VERBS[verb], **_COMMON}, f"{where} ({verb})")
    except RequestError as error:
        if where in error.problem:
            raise
        raise RequestError(f"{where}: {error.problem}", legal=error.legal) from None
    argument = values.pop(verb)
    common = {key: values.pop(key) for key in _COMMON if key in values}
    return Recipe(verb, str(argument), values, number=number, **common)


def _checked(
    table: Mapping[str, Any],
    legal: Mapping[str, str | Words],
    where: str,
    extra: tuple[str, ...] = (),
) -> dict[str, Any]:
    """The values of a table, each of the kind that its key wants."""
    found: dict[str, Any] = {}
    for key, value in table.items():
        if key not in legal:
            raise _unknown(key, (*legal, *extra), where)
        found[key] = _value(key, value, legal[key], where)
    return found


def _value(key: str, value: Any, kind: str | Words, where: str) -> Any:
    shown = kind if isinstance(kind, str) else TEXT
    problem = RequestError(f"{key!r} of {where} is {value!r}", legal=f"it must be {shown}")
    if kind == TRUTH:
        if not isinstance(value, bool):
            raise problem
        return value
    if kind in (NUMBER, COUNT, STEPS):
        if isinstance(value, bool) or not isinstance(value, int):
            raise problem
        if kind == COUNT and value < 1:
            raise problem
        if kind == STEPS and not FEWEST <= value <= MOST:
            raise problem
        return value
    if kind == CHAIN:
        return _chain(value, problem)
    if kind == LEVELS:
        return _levels(key, value, where)
    if not isinstance(value, str) or not value.strip():
        raise problem
    if kind == PLAYERS:
        return ", ".join(map(str, players_named(value)))
    if kind == INSTRUMENT:
        return instrument_named(value).name
    return _word(key, value, kind, where) if isinstance(kind, Words) else value


def _chain(value: Any, problem: RequestError) -> str:
    """Devices one after the other, each known by name, joined by :data:`THEN`."""
    from rhythm.devices.registry import device_named

    devices = [value] if isinstance(value, str) else value
    if not isinstance(devices, list) or not devices:
        raise problem
    for device in devices:
        if not isinstance(device, str):
            raise problem
        device_named(device)
    return THEN.join(devices)


def read_levels(text: str) -> Levels:
    """The levels that a text such as ``2-6.5`` names: the easiest and the hardest.

    Raises RequestError where they are not two numbers, the lower first.
    """
    low, dash, high = text.partition("-")
    if not dash:
        raise RequestError(f"{text!r} are no levels", legal="write two numbers such as 2-6.5")
    found = evaluate(low), evaluate(high)
    if found[0] > found[1]:
        raise RequestError(f"{text!r} runs backwards", legal="write the easier level first")
    return found


def _levels(key: str, value: Any, where: str) -> Levels:
    if isinstance(value, list) and len(value) == 2 and not any(isinstance(v, bool) for v in value):
        low, high = (evaluate(str(each)) for each in value)
        if 0 <= low <= high:
            return low, high
    raise RequestError(
        f"{key!r} of {where} is {value!r}", legal="two numbers, the lower first: [2, 6.5]"
    )


def _word(key: str, value: str, words: Words, where: str) -> str:
    if value in words.legal or (words.others and not nearest(value, words.legal)):
        return value
    raise RequestError(f"{key!r} of {where} cannot be {value!r}", legal=among(value, words.legal))


def _unknown(key: str, legal: Any, where: str) -> RequestError:
    return RequestError(f"{where} knows no {key!r}", legal=among(key, legal))
