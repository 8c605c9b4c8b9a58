"""What would put a fault right, as data: named by the one who found it, done by the mender.

Conventions
-----------
``part`` is the index of the part, ``ALL`` for every part; ``bar`` the index of the bar in that
part; positions and amounts are in whole notes from the bar's start. What each ``op`` needs:

========== =====================================================================================
line       split the bar after every ``at`` (a bar line is missing)
join       make one of the bar and the next (a bar line too many)
bar        put an empty bar before ``bar``, like the one numbered ``to`` in the other parts
drop       take out an empty bar that the other parts do not have
number     call the bar ``to``, and those after it on from there
signature  the signature is ``metre``, up to the bar ``until``
shift      move ``voice``, and those that ``to`` lists, by ``amount``
voice      the piece of ``voice`` at ``at`` belongs to voice ``to``
trim       shorten the rests at the end of ``voice`` to end at ``at``
afresh     write the bar as it is read
value      durations and written values of the bar agree: what the reader believed is written
tuplet     a rest of ``amount`` after ``at`` completes the tuplet
ratio      the note of ``voice`` at ``at`` has the ratio ``to``, and lasts ``amount`` more
rests      rests fill ``voice`` from ``at`` for ``amount``
metre      the bar alone gets the signature ``metre``
tie        take the loose tie marks off
tie-mark   give the tie the mark that one of its ends lacks; ``to`` says which has it
========== =====================================================================================
"""

from __future__ import annotations

from dataclasses import field

from gmpy2 import mpq

from rhythm.exact.frozen import dataclass
from rhythm.exact.metre import Metre

__all__ = ["ALL", "ORDER", "Remedy"]

ALL = -1

ORDER = (
    "line", "join", "bar", "drop", "number", "signature", "afresh", "value", "shift", "voice",
    "trim", "tie", "tie-mark", "ratio", "tuplet", "rests", "metre",
)  # fmt: skip
"""The remedies, the least change first."""


@dataclass(frozen=True, slots=True)
class Remedy:
    """One thing to do; see the table above."""

    op: str
    part: int
    bar: int
    voice: str = ""
    at: mpq = field(default_factory=mpq)
    amount: mpq = field(default_factory=mpq)
    to: str = ""
    metre: Metre | None = None
    until: int = 0
