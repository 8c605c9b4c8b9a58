"""Frozen values that are made and copied quickly: a score holds tens of thousands of them.

A frozen dataclass sets each field through ``object.__setattr__``, which is four times as slow as a
plain assignment. Here a value is filled while it belongs to an unfrozen twin with the same slots
and then handed to its own class; from then on it is as frozen as any other.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import MISSING, fields
from typing import Any, TypeVar, cast

__all__ = ["changed", "quick"]

_T = TypeVar("_T")

_CHANGED: dict[type, Callable[[Any, Mapping[str, object]], Any]] = {}

_SOURCE = """
def __init__(self, {parameters}):
    set_class(self, "__class__", Twin)
    {assignments}
    self.__class__ = Frozen

def changed(self, changes):
    made = new(Twin)
    {copies}
    for name, value in changes.items():
        setattr(made, name, value)
    made.__class__ = Frozen
    return made
"""


def quick(frozen: type[_T]) -> type[_T]:
    """Give a frozen dataclass with slots a quick constructor, and :func:`changed` a quick copy.

    What a default factory makes is shared by all values, so it must be immutable itself.
    """
    known = fields(cast(Any, frozen))
    twin = type(frozen.__name__, (), {"__slots__": tuple(field.name for field in known)})
    names: dict[str, Any] = {
        "Frozen": frozen,
        "Twin": twin,
        "new": object.__new__,
        "set_class": object.__setattr__,
    }
    parameters = []
    for field in known:
        if field.default_factory is not MISSING:
            names[f"default_{field.name}"] = field.default_factory()
        elif field.default is not MISSING:
            names[f"default_{field.name}"] = field.default
        has_default = f"default_{field.name}" in names
        parameters.append(f"{field.name}=default_{field.name}" if has_default else field.name)
    source = _SOURCE.format(
        parameters=", ".join(parameters),
        assignments="\n    ".join(f"self.{field.name} = {field.name}" for field in known),
        copies="\n    ".join(f"made.{field.name} = self.{field.name}" for field in known),
    )
    exec(source, names)  # as dataclasses do: there is no other way to a function with these names
    made = names["__init__"]
    made.__annotations__ = dict(frozen.__init__.__annotations__)
    made.__qualname__ = f"{frozen.__qualname__}.__init__"
    cast(Any, frozen).__init__ = made
    cast(Any, frozen).__copy__ = _same
    cast(Any, frozen).__deepcopy__ = _same
    _CHANGED[frozen] = names["changed"]
    return frozen


def _same(value: _T, *_: object) -> _T:
    """A copy of a value that nobody can change is the value."""
    return value


def changed(value: _T, changes: Mapping[str, object]) -> _T:
    """A copy of a quick value with some fields changed. AttributeError for a field it lacks."""
    copied: _T = _CHANGED[type(value)](value, changes)
    return copied
