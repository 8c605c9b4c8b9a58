"""Frozen values that are defined, made and copied quickly: a score holds tens of thousands of them.

:func:`dataclass` is the standard library's, and does what that does. To a frozen dataclass with
slots it gives the same methods in a quicker way, which counts twice: in the time a command takes
to start, since defining such a class is slow there (half a dozen functions compiled for each), and
in the time a score takes to read, since such a value sets each of its fields through
``object.__setattr__``, which is four times as slow as a plain assignment. Here a value is filled
while it belongs to an unfrozen twin with the same slots and then handed to its own class; from
then on it is as frozen as any other.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Mapping
from dataclasses import MISSING, FrozenInstanceError
from operator import attrgetter
from reprlib import recursive_repr
from typing import TYPE_CHECKING, Any, TypeVar, cast

from gmpy2 import mpq

__all__ = ["changed", "dataclass"]

_T = TypeVar("_T")

_IMMUTABLE: frozenset[object] = frozenset({mpq, tuple, frozenset, str})
"""What these make where a field has no value is made once and shared."""

_TWINS: dict[type, tuple[type, tuple[str, ...]]] = {}
_COPIERS: dict[type, Callable[[Any, Mapping[str, object]], Any]] = {}

_MAKE = """
def __init__(self, {parameters}):
    set_class(self, "__class__", Twin)
    {assignments}
    self.__class__ = Frozen{after}
"""

_COPY = """
def changed(self, changes):
    made = new(Twin)
    {copies}
    for name, value in changes.items():
        setattr(made, name, value)
    made.__class__ = Frozen
    return made
"""

_EQUAL = """
def method(self, other):
    if other.__class__ is not self.__class__:
        return NotImplemented
    return ({mine}) == ({theirs})
"""

_HASH = """
def method(self):
    return hash(({mine}))
"""

if TYPE_CHECKING:
    from dataclasses import dataclass as dataclass
else:

    def dataclass(cls=None, /, *, frozen=False, slots=False, repr=True, **said):
        """The standard library's decorator, quicker where a class is frozen and has slots."""

        def wrap(cls):
            if not (frozen and slots) or said or not _is_plain(cls):
                return dataclasses.dataclass(cls, frozen=frozen, slots=slots, repr=repr, **said)
            return _frozen(cls, repr)

        return wrap if cls is None else wrap(cls)


def _is_plain(cls: type) -> bool:
    """Is this a class of no other, of whose fields each is said when a value is made?"""
    given = (each for each in vars(cls).values() if isinstance(each, dataclasses.Field))
    return cls.__bases__ == (object,) and all(
        each.init and each.kw_only in (MISSING, False) for each in given
    )


def _frozen(plain: type, with_repr: bool) -> type:
    """A frozen dataclass with slots, of a class that only names its fields."""
    own = plain.__dict__
    makes_hash = own.get("__hash__") is None  # a class that compares on its own has None there
    made: Any = dataclasses.dataclass(
        init=False, repr=False, eq=False, slots=True, match_args=False
    )(plain)
    fields = dataclasses.fields(made)
    names = tuple(field.name for field in fields)
    values = _getter(names)

    def __getstate__(self: Any) -> tuple[object, ...]:
        return values(self)

    said = _getter(tuple(field.name for field in fields if field.repr))
    compared = tuple(field.name for field in fields if field.compare)
    shown = tuple(field.name for field in fields if field.repr)

    @recursive_repr()
    def __repr__(self: Any) -> str:
        texts = (f"{name}={value!r}" for name, value in zip(shown, said(self), strict=True))
        return f"{self.__class__.__qualname__}({', '.join(texts)})"

    def __eq__(self: Any, other: object) -> bool:
        made.__eq__ = _compiled(_EQUAL, compared)
        return cast(bool, made.__eq__(self, other))

    def __hash__(self: Any) -> int:
        made.__hash__ = _compiled(_HASH, compared)
        return hash(self)

    def __setstate__(self: Any, state: tuple[object, ...]) -> None:
        for name, value in zip(names, state, strict=True):
            object.__setattr__(self, name, value)

    methods: dict[str, object] = {
        "__init__": _maker(made, fields, names),
        "__match_args__": names,
        "__setattr__": _no_set,
        "__delattr__": _no_delete,
        "__getstate__": __getstate__,
        "__setstate__": __setstate__,
        "__copy__": _same,
        "__deepcopy__": _same,
    }
    if with_repr and "__repr__" not in own:
        methods["__repr__"] = __repr__
    if "__eq__" not in own:
        methods["__eq__"] = __eq__
    if makes_hash:
        methods["__hash__"] = __hash__
    for name, method in methods.items():
        setattr(made, name, method)
    return cast(type, made)


def _compiled(source: str, names: tuple[str, ...]) -> Any:
    """A method that goes through these fields; compiled when it is first called."""
    known: dict[str, Any] = {}
    mine, theirs = ("".join(f"{who}.{name}, " for name in names) for who in ("self", "other"))
    exec(source.format(mine=mine, theirs=theirs), known)
    return known["method"]


def _getter(names: tuple[str, ...]) -> Callable[[Any], tuple[object, ...]]:
    """What tells these fields of a value, as a tuple."""
    if len(names) > 1:
        return attrgetter(*names)
    if names:
        only = attrgetter(names[0])
        return lambda value: (only(value),)
    return lambda value: ()


def _maker(made: Any, fields: tuple[dataclasses.Field[Any], ...], names: tuple[str, ...]) -> Any:
    """The function that makes a value of a class."""
    twin = type(made.__name__, (), {"__slots__": names})
    known: dict[str, Any] = {"Frozen": made, "Twin": twin, "set_class": object.__setattr__}
    parameters, assignments = [], []
    for field in fields:
        name = value = field.name
        factory: Any = field.default_factory
        if factory in _IMMUTABLE:
            known[f"default_{name}"] = factory()
            parameters.append(f"{name}=default_{name}")
        elif factory is not MISSING:
            known[f"make_{name}"] = factory
            known["nothing"] = MISSING
            value = f"make_{name}() if {name} is nothing else {name}"
            parameters.append(f"{name}=nothing")
        elif field.default is not MISSING:
            known[f"default_{name}"] = field.default
            parameters.append(f"{name}=default_{name}")
        else:
            parameters.append(name)
        assignments.append(f"self.{name} = {value}")
    after = "\n    self.__post_init__()" if hasattr(made, "__post_init__") else ""
    if not after:
        _TWINS[made] = twin, names
    source = _MAKE.format(
        parameters=", ".join(parameters),
        assignments="\n    ".join(assignments or ["pass"]),
        after=after,
    )
    exec(source, known)  # as dataclasses do: there is no other way to a function with these names
    function = known["__init__"]
    function.__annotations__ = {field.name: field.type for field in fields} | {"return": None}
    function.__qualname__ = f"{made.__qualname__}.__init__"
    function.__module__ = made.__module__
    return function


def _no_set(self: object, name: str, value: object) -> None:
    raise FrozenInstanceError(f"cannot assign to field {name!r}")


def _no_delete(self: object, name: str) -> None:
    raise FrozenInstanceError(f"cannot delete field {name!r}")


def _same(value: _T, *_: object) -> _T:
    """A copy of a value that nobody can change is the value."""
    return value


def changed(value: _T, changes: Mapping[str, object]) -> _T:
    """A copy of a frozen value with some fields changed. AttributeError for a field it lacks."""
    kind = type(value)
    copy = _COPIERS.get(kind)
    if copy is None:
        twin, names = _TWINS[kind]
        known: dict[str, Any] = {"Frozen": kind, "Twin": twin, "new": object.__new__}
        copies = "\n    ".join(f"made.{name} = self.{name}" for name in names)
        exec(_COPY.format(copies=copies), known)
        copy = _COPIERS[kind] = known["changed"]
    copied: _T = copy(value, changes)
    return copied
