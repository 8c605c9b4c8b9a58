"""Which notes share a beam, and at how many levels.

Beams show the beats. Notes are joined by the beat; eighths, where a stretch holds nothing shorter,
by the half-bar in 4/4 (never across its middle), by the whole bar where six of them fill 3/4, and
in 2/4 where one would else stand alone beside its neighbours; half-note beats by their quarters as
soon as anything shorter than an eighth is there; compound metres by the dotted beat, additive ones
by the group (OpenLearn music notation 4.2; Open Music Theory). Each of two neighbouring tuplets
has a beam of its own; a triplet within a simple beat shares the beat's. A short note with no
neighbour at its level gets a hook. A rest ends a beam, but for the two figures in which editors
carry it across: the eighth, sixteenth rest and sixteenth that fill a quarter, and the eighths
around a rest that fill a compound beat (counted in docs/editors.md).
"""

from __future__ import annotations

from collections.abc import Sequence

from gmpy2 import mpq

from rhythm.notate.beam_memory import remembered
from rhythm.notate.beam_stretches import Stem, Stretch, beam_stretches, is_carried
from rhythm.notate.metric_grid import Grid

__all__ = ["FLAGS", "are_twins", "beam_stems", "hold_beams", "inner_question"]

FLAGS = {
    name: count
    for count, name in enumerate(
        ("eighth", "16th", "32nd", "64th", "128th", "256th", "512th", "1024th"), start=1
    )
}
"""How many flags (or beams) a type has; types not named have none."""

_EIGHTH = mpq(1, 8)
_QUARTER = mpq(1, 4)
_NAMES = {2: "sixteenths", 3: "thirty-seconds", 4: "shorter"}


def beam_stems(
    grid: Grid, stems: Sequence[Stem], held: Sequence[tuple[str, ...] | None] = ()
) -> list[tuple[str, ...]]:
    """The beam words of each symbol, from the eighth beam down; empty for a note on its own.

    ``held`` are words that stay as they are (see :func:`hold_beams`), None where they are open.
    """
    if grid.usage.memory is not None:
        held = remembered(grid, stems, held)
    free = stems
    if held:
        free = [s if h is None else s._replace(flags=0) for s, h in zip(stems, held, strict=True)]
    words: list[tuple[str, ...]] = [h or () for h in held] or [()] * len(stems)
    for group in _groups(grid, free):
        for i, beams in zip(group, _levels(grid, [free[i] for i in group]), strict=True):
            words[i] = beams
    return words


def hold_beams(
    stems: Sequence[Stem], written: Sequence[tuple[str, ...] | None]
) -> list[tuple[str, ...] | None]:
    """Which of the ``written`` words may stay: those of whole groups in which nothing changed.

    ``written`` has None for a symbol that is not as the source had it. Rests inside a group are
    no matter.
    """
    held: list[tuple[str, ...] | None] = [None] * len(stems)
    group: list[int] | None = None
    for i, (stem, words) in enumerate(zip(stems, written, strict=True)):
        if stem.rest:
            continue
        joined = i == 0 or stems[i - 1].end == stem.start
        first = words[0] if words else ""
        if words is None or not joined:
            group = None
        if first == "begin":
            group = [i]
        elif first in ("continue", "end") and group is not None:
            group.append(i)
            if first == "end":
                for k in group:
                    held[k] = written[k]
                group = None
        elif words == ():
            held[i] = ()
    return held


def _groups(grid: Grid, stems: Sequence[Stem]) -> list[list[int]]:
    """Indices of the symbols that share a primary beam, group by group."""
    if not any(stem.flags and not stem.rest for stem in stems):
        return []
    stretches = beam_stretches(grid, stems)
    groups: list[list[int]] = []
    open_key: object = None
    for i, stem in enumerate(stems):
        if stem.rest or not stem.flags:
            if not is_carried(grid, stems, i, stretches):
                open_key = None
            continue
        key = _key(stem, stretches)
        joined = i > 0 and stems[i - 1].end == stem.start
        if key == open_key and joined and not _parts(grid, stems[i - 1], stem, stretches):
            groups[-1].append(i)
        else:
            groups.append([i])
        open_key = key
    return [group for group in groups if len(group) > 1]


def _key(stem: Stem, stretches: Sequence[Stretch]) -> object:
    """What a stem shares with those on its beam: the stretch, or a tuplet that is more than it."""
    home = next((s for s in stretches if s.start <= stem.start < s.end), None)
    if stem.tuplet and (home is None or home.compound or not home.holds(*stem.tuplet)):
        return stem.tuplet
    return home.start if home is not None else None


def _parts(grid: Grid, before: Stem, stem: Stem, stretches: Sequence[Stretch]) -> bool:
    """Does a new beam begin though the stretch goes on: at a syllable, a slur, the next tuplet?"""
    if stem.unjoined or (stem.sung and grid.says("syllables") == "parted"):
        return True
    if stem.slurred and grid.says("slurs") == "parted":
        return True
    if before.tuplet is None or stem.tuplet is None or before.tuplet == stem.tuplet:
        return False
    return not (are_twins(before, stem, stretches) and grid.says("triplets") == "joined")


def are_twins(before: Stem, stem: Stem, stretches: Sequence[Stretch]) -> bool:
    """Do two neighbours stand in two brackets of one length within a simple stretch?"""
    one, other = before.tuplet, stem.tuplet
    if one is None or other is None or one == other:
        return False
    alike = one[1] - one[0] == other[1] - other[0]
    return alike and any(not s.compound and s.holds(one[0], other[1]) for s in stretches)


def _levels(grid: Grid, stems: Sequence[Stem]) -> list[tuple[str, ...]]:
    """The words of one group at every level."""
    words: list[list[str]] = [[] for _ in stems]
    last = len(stems) - 1
    most = max(stem.flags for stem in stems)
    for level in range(1, most + 1):
        run: list[int] = []
        for i, stem in enumerate(stems):
            if stem.flags < level:
                continue
            run.append(i)
            ends = (
                i == last or stems[i + 1].flags < level or _breaks(grid, stems[i + 1], level, most)
            )
            if not ends:
                continue
            if len(run) == 1:
                words[i].append(_hook(grid, stems, i, last))
            else:
                for k in run:
                    word = "begin" if k == run[0] else "end" if k == run[-1] else "continue"
                    words[k].append(word)
            run = []
    return [tuple(w) for w in words]


def _breaks(grid: Grid, stem: Stem, level: int, most: int) -> bool:
    """Do inner beams start afresh: at a beat inside a longer beam, or at an eighth?"""
    asked = inner_question(grid, stem, most) if level > 1 else None
    return asked is not None and grid.says(*asked) == "parted"


def inner_question(grid: Grid, stem: Stem, most: int) -> tuple[str, str] | None:
    """The question, and its place, whether inner beams part before a stem; None: they do not.

    ``most`` is how many beams there are at the most.
    """
    beat = grid.beats(stem.start, stem.end)[0]
    if grid.rank(stem.start) <= 2:
        return ("inner beams", "") if beat.length >= _QUARTER else None
    if stem.tuplet or (stem.start - beat.start) % _EIGHTH:
        return None
    kind = "a dotted beat" if beat.compound else "a beat"
    return "at the eighth", f"{_NAMES[min(most, 4)]} in {kind}"


def _hook(grid: Grid, stems: Sequence[Stem], i: int, last: int) -> str:
    if i == 0:
        return "forward hook"
    if i == last:
        return "backward hook"
    stronger = grid.rank(stems[i].start) < grid.rank(stems[i].end)
    return "forward hook" if stronger else "backward hook"
