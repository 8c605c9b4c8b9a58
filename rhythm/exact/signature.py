"""Time signatures as they are written: pairs of beats and unit, their signs and symbols.

Conventions
-----------
A signature is a sequence of terms; each adds up numbers of one unit (3+2 over 8). Spaces around
the signs ``+`` and ``/`` mean nothing.
"""

from __future__ import annotations

import re

from gmpy2 import mpq

from rhythm.exact.errors import RequestError
from rhythm.exact.frozen import dataclass

__all__ = [
    "LEGAL",
    "RELATIONS",
    "SIGNS",
    "SYMBOLS",
    "Term",
    "pairs_of",
    "read_term",
    "read_terms",
    "show_terms",
]

SYMBOLS = ("common", "cut", "single-number", "note", "dotted-note", "normal")
"""What MusicXML's ``symbol`` attribute may say."""

RELATIONS = ("parentheses", "bracket", "equals", "slash", "space", "hyphen")
"""How a second, interchangeable signature may stand beside the first (``time-relation``)."""

LEGAL = "write a metre such as 4/4, 6/8, 3+2+2/8, 3/4+3/8, C or C|"
"""What a refusal says would be right."""

_MAX_NUMBER = 4096


@dataclass(frozen=True, slots=True)
class Term:
    """One pair of a signature: numbers of units, added up, over a unit (3+2 over 8)."""

    beats: tuple[int, ...]
    unit: int

    def __post_init__(self) -> None:
        numbers = (*self.beats, self.unit, sum(self.beats))
        if not all(0 < n <= _MAX_NUMBER for n in numbers):
            raise RequestError(f"{self} is not a time signature", legal=LEGAL)

    def __str__(self) -> str:
        return "+".join(map(str, self.beats)) + f"/{self.unit}"

    @property
    def length(self) -> mpq:
        """The length of the term."""
        return mpq(sum(self.beats), self.unit)


SIGNS = {
    "C": ("common", (Term((4,), 4),)),
    "C|": ("cut", (Term((2,), 2),)),
}
"""Signs that stand for a whole signature: their symbol and their terms."""

# What was meant where the stroke was mistyped: 6-8, 6:8, 6.8.
_SLIP = re.compile(r"(\d+(?:\+\d+)*)[-:.\\_|x ](1|2|4|8|16|32|64)")
_TERM = re.compile(r"(\d+(?:\+\d+)*)/(\d+)(?:\+|$)")


def read_term(beats: str, unit: str) -> Term:
    """One pair from its two texts. Raises :class:`RequestError`."""
    try:
        return Term(tuple(int(n) for n in beats.split("+")), int(unit))
    except ValueError as error:
        if isinstance(error, RequestError):
            raise
        shown = f"{beats.strip()}/{unit.strip()}"
        raise RequestError(f"{shown!r} is not a time signature", legal=LEGAL) from None


def read_terms(text: str) -> tuple[Term, ...]:
    """A signature without spaces, such as ``3+2/8+3/4``; :func:`show_terms` is the inverse.

    Raises :class:`RequestError`.
    """
    terms, at = [], 0
    while at < len(text):
        match = _TERM.match(text, at)
        if match is None:
            break
        terms.append(read_term(match[1], match[2]))
        at = match.end()
    if not terms or at < len(text) or text.endswith("+"):
        meant = _SLIP.fullmatch(text)
        near = f"did you mean {meant[1]}/{meant[2]}? " if meant else ""
        raise RequestError(f"{text!r} is not a time signature", legal=near + LEGAL)
    return tuple(terms)


def show_terms(terms: tuple[Term, ...]) -> str:
    """The signature as text."""
    return "+".join(map(str, terms))


def pairs_of(terms: tuple[Term, ...]) -> tuple[tuple[str, str], ...]:
    """Beats and unit of every term, as MusicXML writes them."""
    return tuple(("+".join(map(str, term.beats)), str(term.unit)) for term in terms)
