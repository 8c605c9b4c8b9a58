"""A frozen value does all that the standard library's frozen dataclass with slots does."""

import copy
import dataclasses
import inspect
import pickle
from dataclasses import FrozenInstanceError, field, replace

import pytest
from gmpy2 import mpq

from rhythm.exact.frozen import changed, dataclass


@dataclass(frozen=True, slots=True)
class Ours:
    step: str
    length: mpq = field(default_factory=mpq)
    said: list[str] = field(default_factory=list, repr=False, compare=False)
    dots: int = 0


@dataclasses.dataclass(frozen=True, slots=True)
class Theirs:
    step: str
    length: mpq = field(default_factory=mpq)
    said: list[str] = field(default_factory=list, repr=False, compare=False)
    dots: int = 0


@dataclass(frozen=True, slots=True)
class Checked:
    count: int

    def __post_init__(self) -> None:
        if self.count < 1:
            raise ValueError("too few")


def test_it_is_made_compared_hashed_and_shown_alike() -> None:
    for given in (("C",), ("C", mpq(1, 4)), ("C", mpq(1, 4), ["la"], 2)):
        ours, theirs = Ours(*given), Theirs(*given)
        assert repr(ours) == repr(theirs).replace("Theirs", "Ours")
        assert hash(ours) == hash(theirs)
        assert ours == Ours(*given) and ours != theirs
        assert dataclasses.asdict(ours) == dataclasses.asdict(theirs)
    assert Ours("C", said=["la"]) == Ours("C") != Ours("C", dots=1)
    assert Ours("C").said is not Ours("C").said
    assert list(inspect.signature(Ours).parameters) == list(inspect.signature(Theirs).parameters)
    assert Ours.__match_args__ == Theirs.__match_args__


def test_nothing_can_be_set_or_taken_off() -> None:
    value = Ours("C")
    for change in (lambda: setattr(value, "dots", 1), lambda: setattr(value, "more", 1)):
        with pytest.raises(FrozenInstanceError, match="cannot assign"):
            change()
    with pytest.raises(FrozenInstanceError, match="cannot delete"):
        del value.dots


def test_a_changed_copy_leaves_the_value_as_it_was() -> None:
    value = Ours("C", mpq(1, 2), ["la"])
    for made in (replace(value, dots=1), changed(value, {"dots": 1})):
        assert made == Ours("C", mpq(1, 2), ["la"], 1) and type(made) is Ours
    assert value.dots == 0
    with pytest.raises(AttributeError, match="more"):
        changed(value, {"more": 1})


def test_it_comes_back_from_a_pickle_and_is_its_own_copy() -> None:
    value = Ours("C", mpq(1, 3), ["la"], 1)
    assert pickle.loads(pickle.dumps(value)) == value
    assert pickle.loads(pickle.dumps(value)).said == ["la"]
    assert copy.copy(value) is copy.deepcopy(value) is value


def test_what_a_class_checks_of_itself_is_checked() -> None:
    assert replace(Checked(1), count=2) == Checked(2)
    with pytest.raises(ValueError, match="too few"):
        replace(Checked(1), count=0)
