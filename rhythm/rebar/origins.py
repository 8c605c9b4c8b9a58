"""How planned bars came about, for the step that comes after.

Bars that were redrawn cannot always be told back from themselves: an upbeat that grew to a bar and
more, what was left of a run of bars, an upbeat that was displaced away. A passage keeps what its
bars were drawn from; music that moves again in the same way is drawn from there again, so that two
steps give what one would, and a step back the bars there were. What is kept counts only as long as
the passage still is on the ``bars`` it names.

Conventions
-----------
Positions and lengths are in whole notes from the passage's start.
"""

from __future__ import annotations

from collections.abc import Callable

from gmpy2 import mpq

from rhythm.exact.frozen import dataclass
from rhythm.rebar.bar_plan import BarPlan

__all__ = ["Displaced", "Stretch"]


@dataclass(frozen=True, slots=True)
class Stretch:
    """``bars`` were drawn for ``before``, whose positions have gone to ``image`` of them.

    ``music`` is how far the music reached in ``before``, what may have been filled in left out.
    """

    before: tuple[BarPlan, ...]
    music: mpq
    image: Callable[[mpq], mpq]
    bars: tuple[BarPlan, ...]


@dataclass(frozen=True, slots=True)
class Displaced:
    """``bars`` are ``before`` with all notes later by ``late``.

    ``downbeat`` is where the first whole bar of ``before`` stands in ``bars``.
    """

    before: tuple[BarPlan, ...]
    late: mpq
    downbeat: mpq
    bars: tuple[BarPlan, ...]
