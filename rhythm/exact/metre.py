"""Metres: a time signature as a tree of groups, beats and divisions.

A signature says more than how long a bar is: 3/4 and 6/8 hold the same notes and are divided
differently. A :class:`Metre` keeps the signature as it is written and unfolds it into a tree by
the usual grouping (common practice): beats of a dotted value over 8 and smaller units where the
units go in threes, halves where a bar has them, 5 as 3+2, 7 as 2+2+3, 8/8 as 3+3+2.

Conventions
-----------
Lengths and offsets are ``gmpy2.mpq`` in whole notes, offsets from the start of the bar. A beat is
*simple* (divides in two) or *ternary* (divides in three). Below the division everything is binary.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from functools import cached_property, lru_cache
from itertools import groupby
from typing import TYPE_CHECKING

from gmpy2 import mpq

from rhythm.exact.errors import KindError, RequestError
from rhythm.exact.signature import (
    LEGAL,
    RELATIONS,
    SIGNS,
    SYMBOLS,
    Term,
    pairs_of,
    read_term,
    read_terms,
    show_terms,
)
from rhythm.exact.tree import OFF, Element, MetricTree, Node, beats_of, grow
from rhythm.exact.values import is_power_of_two

__all__ = [
    "RELATIONS",
    "SYMBOLS",
    "Metre",
    "Node",
    "Term",
    "compound_partner",
    "simple_partner",
]

_MAX_TERMS = 32
_IN_QUOTES = "write it in quotes, such as '7/8' or '3+2+2/8'"


@dataclass(frozen=True, repr=False)
class Metre:
    """A time signature and the tree it stands for: ``Metre("7/8")``.

    It is made of such text (see :meth:`parse`), or field by field as a file has it.
    ``symbol`` is MusicXML's (for a senza misura, the sign printed instead of a number);
    ``compound`` says whether units in threes make one dotted beat, where the score or the user
    says so (None: they do over 8 and smaller units); ``grouping`` are numbers of the smallest
    unit that replace the usual groups without being printed; ``other`` is a second,
    interchangeable signature and ``relation`` how it stands beside the first.
    """

    terms: tuple[Term, ...]
    symbol: str = ""
    compound: bool | None = None
    senza: bool = False
    grouping: tuple[int, ...] = ()
    other: tuple[Term, ...] = ()
    relation: str = ""

    if TYPE_CHECKING:

        def __init__(
            self,
            terms: str | Metre | tuple[Term, ...],
            symbol: str = "",
            compound: bool | None = None,
            senza: bool = False,
            grouping: tuple[int, ...] = (),
            other: tuple[Term, ...] = (),
            relation: str = "",
        ) -> None: ...

    def __post_init__(self) -> None:
        if not isinstance(self.terms, tuple):
            self._take(self.terms)
        elif not all(isinstance(term, Term) for term in (*self.terms, *self.other)):
            raise KindError(f"{self.terms!r} is not a metre", legal=_IN_QUOTES)
        if self.senza == bool(self.terms):
            raise RequestError("a metre has beats, or is senza misura", legal=LEGAL)
        if max(len(self.terms), len(self.other)) > _MAX_TERMS:
            raise RequestError(
                f"a signature of {len(self.terms)} terms is too long",
                legal=f"at most {_MAX_TERMS} are read",
            )
        if self.other and not self.relation:
            object.__setattr__(self, "relation", "parentheses")
        if self.grouping and sum(self.grouping) != self.length * self._unit:
            shown = "+".join(map(str, self.grouping))
            raise RequestError(
                f"groups of {shown} do not fill {show_terms(self.terms)}",
                legal=f"they must add up to {self.length * self._unit} over {self._unit}",
            )

    def _take(self, given: object) -> None:
        """Be the metre that a text says: ``Metre("7/8")`` and ``Metre.parse("7/8")`` are equal."""
        alone = (self.symbol, self.compound, self.senza, self.grouping, self.other, self.relation)
        if not isinstance(given, (str, Metre)):
            raise KindError(f"{given!r} is not a metre", legal=_IN_QUOTES)
        if alone != ("", None, False, (), (), ""):
            raise KindError(f"the text {str(given)!r} says all of a metre", legal=LEGAL)
        said = Metre.parse(given) if isinstance(given, str) else given
        for field in fields(said):
            object.__setattr__(self, field.name, getattr(said, field.name))

    @classmethod
    def parse(cls, text: str) -> Metre:
        """Read a metre; ``str`` is the inverse.

        ``4/4``, ``3+2+2/8``, ``3/4+3/8``, ``C``, ``C|``, ``X`` or ``senza misura``; then, as
        wanted: ``as 3+2+2`` (groups that are not printed), ``compound`` or ``simple``,
        a symbol's name, ``(6/8)`` for an interchangeable second signature and the name of its
        relation. Raises :class:`RequestError`, also for a unit that is no power of two.
        """
        return _parse(" ".join(text.split()))

    @classmethod
    def from_signature(
        cls,
        pairs: Sequence[tuple[str, str]],
        symbol: str = "",
        senza: bool = False,
        interchangeable: Sequence[tuple[str, str]] = (),
        relation: str = "",
    ) -> Metre:
        """The metre of MusicXML's beats and beat-type texts; :attr:`signature` is the inverse.

        ``interchangeable`` are the pairs of the second signature. For a senza misura, ``symbol``
        is the text of the element. Raises :class:`RequestError`.
        """
        if senza:
            return cls((), symbol=symbol.strip(), senza=True)
        return cls(
            tuple(read_term(beats, unit) for beats, unit in pairs),
            symbol=symbol,
            other=tuple(read_term(beats, unit) for beats, unit in interchangeable),
            relation=relation,
        )

    def __hash__(self) -> int:
        return self._hash

    @cached_property
    def _hash(self) -> int:
        """Reckoned once: metres are looked up for every bar. Numbers hash alike in any process."""
        return hash((self.terms, self.grouping))

    @cached_property
    def signature(self) -> tuple[tuple[str, str], ...]:
        """The pairs of beats and beat-type as text; empty for a senza misura."""
        return pairs_of(self.terms)

    @property
    def interchangeable(self) -> tuple[tuple[str, str], ...]:
        """The pairs of the second signature, where there is one."""
        return pairs_of(self.other)

    def __str__(self) -> str:
        return self._text

    @cached_property
    def _text(self) -> str:
        """Reckoned once: what is learned is kept by the names of metres."""
        if self.senza:
            return "X" if self.symbol == "X" else f"senza misura {self.symbol}".rstrip()
        shown, symbol = show_terms(self.terms), self.symbol
        for sign, (name, terms) in SIGNS.items():
            if symbol == name and self.terms == terms:
                shown, symbol = sign, ""
        words = [shown]
        if self.grouping:
            words.append("as " + "+".join(map(str, self.grouping)))
        if self.compound is not None:
            words.append("compound" if self.compound else "simple")
        if symbol:
            words.append(symbol)
        if self.other:
            words.append(f"({show_terms(self.other)})")
            if self.relation != "parentheses":
                words.append(self.relation)
        return " ".join(words)

    def __repr__(self) -> str:
        return f"Metre({str(self)!r})"

    def with_groups(self, groups: Sequence[int]) -> Metre:
        """The same signature with other groups, in numbers of its smallest unit (3, 2, 2)."""
        return replace(self, grouping=tuple(groups))

    def with_compound(self, compound: bool | None) -> Metre:
        """The same signature, its threes read as dotted beats (True) or as plain ones (False)."""
        return replace(self, compound=compound)

    @cached_property
    def length(self) -> mpq:
        """The length of a bar; 0 for a senza misura."""
        return sum((term.length for term in self.terms), mpq(0))

    @cached_property
    def _unit(self) -> int:
        return max((term.unit for term in self.terms), default=1)

    @cached_property
    def in_note_values(self) -> bool:
        """True where every unit is a power of two. Files may hold others: they are kept as read."""
        return all(is_power_of_two(term.unit) for term in (*self.terms, *self.other))

    @cached_property
    def tree(self) -> Node:
        """The bar's tree: halves and groups, beats, divisions. A single beat fills a 3/8 bar."""
        return grow(_elements(self), self.compound)

    @cached_property
    def groups(self) -> tuple[mpq, ...]:
        """The lengths of the bar's first parts: 4/4 has 1/2 1/2, 5/4 has 3/4 1/2."""
        return tuple(node.length for node in self.tree.children)

    @cached_property
    def beat_nodes(self) -> tuple[Node, ...]:
        """The beats in order, as nodes of the tree."""
        return beats_of(self.tree)

    @cached_property
    def beats(self) -> tuple[mpq, ...]:
        """The lengths of the beats in order: 7/8 has 1/4 1/4 3/8."""
        return tuple(node.length for node in self.beat_nodes)

    @cached_property
    def is_compound(self) -> bool:
        """True where every beat divides in three (a senza misura has none)."""
        return bool(self.beat_nodes) and all(node.ternary for node in self.beat_nodes)

    @cached_property
    def _starts(self) -> tuple[mpq, ...]:
        return tuple(node.start for node in self.beat_nodes)

    def beat_node_at(self, offset: mpq) -> Node:
        """The beat that holds ``offset``; past the bar's ends, bars of the same metre go on."""
        if not self.beat_nodes:
            raise RequestError("a bar without measure has no beats", legal=LEGAL)
        inside = offset % self.length
        node = self.beat_nodes[bisect_right(self._starts, inside) - 1]
        return node if inside == offset else replace(node, start=node.start + offset - inside)

    def beat_at(self, offset: mpq) -> tuple[mpq, mpq]:
        """Start and length of the beat that holds ``offset``."""
        node = self.beat_node_at(offset)
        return node.start, node.length

    @cached_property
    def ranks(self) -> MetricTree:
        """The ranks and depths of the positions of one bar."""
        return MetricTree(self.tree)

    def rank(self, offset: mpq) -> int:
        """How strong the boundary at ``offset`` is; 0 is strongest.

        0 a bar line, 1 a half or group of beats, 2 a beat, 3 a division, 4, 5, ... its halves,
        quarters...; :data:`~rhythm.exact.tree.OFF` for what no halving reaches. Bars repeat past
        the ends; a senza misura has nothing but its start.
        """
        if not self.length:
            return OFF if offset else 0
        return self.ranks.rank(offset % self.length)


@lru_cache(maxsize=1024)
def _parse(text: str) -> Metre:
    if text == "X":
        return Metre((), symbol="X", senza=True)
    if text == "senza misura" or text.startswith("senza misura "):
        return Metre((), symbol=text[len("senza misura ") :], senza=True)
    joined = re.sub(r"\s*([+/])\s*", r"\1", text)
    first, *words = joined.split(" ")
    symbol, terms = SIGNS[first] if first in SIGNS else ("", read_terms(first))
    metre = Metre(terms, symbol=symbol)
    while words:
        word = words.pop(0)
        if word == "as" and words:
            groups = words.pop(0)
            if not re.fullmatch(r"\d{1,4}(\+\d{1,4})*", groups):
                raise RequestError(f"{groups!r} are not groups", legal="write such as 3+2+2")
            metre = replace(metre, grouping=tuple(int(n) for n in groups.split("+")))
        elif word in ("compound", "simple"):
            metre = replace(metre, compound=word == "compound")
        elif word in SYMBOLS:
            metre = replace(metre, symbol=word)
        elif word.startswith("(") and word.endswith(")"):
            metre = replace(metre, other=read_terms(word[1:-1]))
        elif word in RELATIONS and metre.other:
            metre = replace(metre, relation=word)
        else:
            raise RequestError(f"{text!r} is not a metre: {word!r} says nothing here", legal=LEGAL)
    if not metre.in_note_values:
        unit = text.rpartition("/")[2].strip()
        near = 1 << (int(unit).bit_length() - 1) if unit.isdecimal() and len(unit) < 4 else 0
        meant = f": did you mean {text.rpartition('/')[0]}/{near}" if near else ""
        raise RequestError(
            f"{text!r} is not a metre: its unit is no note value{meant}",
            legal="write 1, 2, 4, 8, 16 or such a power of two under the line",
        )
    return metre


def _elements(metre: Metre) -> list[Element]:
    """The numbers that the signature adds up, each with its unit."""
    if metre.grouping:
        return [(n, metre._unit) for n in metre.grouping]
    return [(n, term.unit) for term in metre.terms for n in term.beats]


def compound_partner(metre: Metre) -> Metre:
    """The metre in which every simple beat has become a dotted one.

    2/4 to 6/8, 3/4 to 9/8, 4/4 and C to 12/8, 2/2 and C| to 6/4, 6/4 to 18/8. In a mixed metre
    the ternary beats stay as they are (7/8 as 2+2+3 to 9/8). In a bar of one ternary beat its
    divisions count as beats (3/8 to 9/16). Raises :class:`RequestError` where all beats are
    dotted already.
    """
    nodes = metre.beat_nodes
    if len(nodes) == 1 and nodes[0].ternary:
        (term,) = metre.terms
        return Metre((Term((3 * sum(term.beats),), 2 * term.unit),))
    if all(node.ternary for node in nodes):
        raise RequestError(
            f"{metre} has no compound partner",
            legal="it must have simple beats, as 2/4, 3/4, 4/4, 2/2, 6/4 or 7/8",
        )
    return _partner(metre, 3)


def simple_partner(metre: Metre) -> Metre:
    """The metre in which every dotted beat has become a simple one: the way back.

    6/8 to 2/4, 9/8 to 3/4, 12/8 to 4/4, 6/4 to 2/2, 18/8 to 6/4, 9/16 to 3/8; 18/16 to 3/4 and
    24/16 to 4/4, with two beats in each. Quarters and longer
    units in threes (6/4, 9/4) are taken as dotted beats here even without the word ``compound``.
    In a mixed metre the simple beats stay (7/8 as 2+2+3 to 3/4). Raises :class:`RequestError`
    where no beat is dotted.
    """
    source = metre
    if not any(node.ternary for node in metre.beat_nodes) and metre.compound is None:
        threes = all(n % 3 == 0 for term in metre.terms for n in term.beats)
        if threes and metre.length > mpq(3, metre._unit):
            source = replace(metre, compound=True)
    if not any(node.ternary for node in source.beat_nodes):
        raise RequestError(
            f"{metre} has no simple partner",
            legal="it must have dotted beats, as 6/8, 9/8, 12/8, 6/4 or 7/8",
        )
    return _partner(source, 2)


def _partner(metre: Metre, divisions: int) -> Metre:
    """The metre with all its beats made ternary (3) or simple (2), element by element."""
    beats = list(metre.beat_nodes)
    elements: list[Element] = []
    single = True
    for n, unit in _elements(metre):
        left, count, length = mpq(n, unit), 0, mpq(0)
        while left > 0:
            node = beats.pop(0)
            left -= node.length
            count += 1
            length = node.length * divisions / len(node.children)
        single = single and count == 1
        parts = 3 if divisions == 3 else max(1, int(length))
        elements.append((count * parts, int(parts / length)))
    units = {unit for _, unit in elements}
    numbers = tuple(n for n, _ in elements)
    if len(elements) == 1 or (single and len(set(elements)) == 1):
        total, unit = sum(numbers), elements[0][1]
        if divisions == 2 and unit >= 8 and (total == 8 or total % 6 == 0):
            total, unit = total // 2, unit // 2  # 8/8 would be 3+3+2, and 6/8 has dotted beats
        terms: tuple[Term, ...] = (Term((total,), unit),)
        numbers = ()
    elif len(units) == 1 and metre.grouping:
        terms = (Term((sum(numbers),), units.pop()),)
    else:
        numbers = ()
        terms = tuple(
            Term(tuple(n for n, _ in run), unit)
            for unit, run in groupby(elements, key=lambda element: element[1])
        )
    dotted = divisions == 3 and any(term.unit < 8 for term in terms)
    return Metre(terms, compound=True if dotted else None, grouping=numbers)
