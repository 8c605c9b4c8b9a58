"""What a restatement did: the map of each beat, and every distinct beat pattern with its image.

Conventions
-----------
A beat pattern is the list of durations (whole notes) between the positions of one voice inside one
beat of the source. A leading ``~`` says that the beat opens inside a note begun earlier, a
trailing ``~`` that the last note sounds on into the next beat. ``moved`` is the largest distance
the fit moved a position away from the map's own image.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from itertools import pairwise

from gmpy2 import lcm, mpq

from rhythm.exact.values import format_value
from rhythm.restate.positions import VoiceBar
from rhythm.restate.targets import BarMap
from rhythm.score.model import Bar

__all__ = ["BeatChange", "Report", "Sighting"]


@dataclass(frozen=True, slots=True)
class Sighting:
    """One voice's bar as it was mapped."""

    bar: Bar
    slot: VoiceBar
    image: dict[mpq, mpq]
    bar_map: BarMap


@dataclass(frozen=True, slots=True)
class BeatChange:
    """A distinct beat pattern, its image, how often it came, how far from the map's own image.

    ``why`` says why it is not the map's own image; it is empty where it is.
    """

    source: str
    image: str
    count: int
    moved: mpq
    why: str


@dataclass(slots=True)
class Report:
    """What a restatement did; filled while it runs."""

    lilt: str
    maps: tuple[BarMap, ...]
    sightings: list[Sighting] = field(default_factory=list)

    def see(self, sighting: Sighting) -> None:
        """Take note of one voice's bar."""
        self.sightings.append(sighting)

    @property
    def beats(self) -> list[BeatChange]:
        """Every distinct beat pattern, the commonest first."""
        counts: Counter[tuple[str, str, mpq, str]] = Counter()
        for sighting in self.sightings:
            counts.update(_beats_of(sighting))
        ranked = sorted(counts.items(), key=lambda item: (-item[1], item[0][0], item[0][1]))
        return [BeatChange(key[0], key[1], n, key[2], key[3]) for key, n in ranked]

    @property
    def points(self) -> list[tuple[BarMap, tuple[tuple[mpq, mpq], ...]]]:
        """Each map with its breakpoints in the written metre, for a table or a diagram."""
        return [(m, (m.warp if m.onto is None else m.warp.then(m.onto)).points) for m in self.maps]

    def to_dict(self) -> dict[str, object]:
        """Plain values for JSON; exact values as texts, keys as in docs/restating.md."""
        return {
            "lilt": self.lilt,
            "maps": [
                {
                    "from": str(bar_map.source),
                    "to": str(bar_map.written),
                    "points": [[format_value(a), format_value(b)] for a, b in points],
                }
                for bar_map, points in self.points
            ],
            "beats": [
                {
                    "source": beat.source,
                    "image": beat.image,
                    "count": beat.count,
                    "moved": format_value(beat.moved),
                    "why": beat.why,
                }
                for beat in self.beats
            ],
        }


def _beats_of(sighting: Sighting) -> list[tuple[str, str, mpq, str]]:
    bar, image, bar_map = sighting.bar, sighting.image, sighting.bar_map
    ordered = [p for p in sorted(image) if p not in sighting.slot.seams]
    if not ordered:
        return []
    found: list[tuple[str, str, mpq, str]] = []
    base = bar_map(bar.shift)
    start, beats = -bar.shift, list(bar_map.source.beats)
    turn = 0
    while start < bar.length:
        beat = beats[turn % len(beats)]
        turn += 1
        end = start + beat
        inside = [p for p in ordered if start <= p < end and p < bar.length]
        if inside:
            edge_in = min(end, bar.length)
            new_edges = (bar_map(start + bar.shift) - base, bar_map(edge_in + bar.shift) - base)
            closed = edge_in in image
            opens = inside[0] > max(start, mpq(0))
            source = _pattern(inside, start, edge_in, opens, not closed)
            target = _pattern([image[p] for p in inside], *new_edges, opens, not closed)
            moved = max(abs(image[p] - (bar_map(p + bar.shift) - base)) for p in inside)
            why = _why(sighting, (start, end), inside, new_edges[0], moved) if moved else ""
            found.append((source, target, moved, why))
        start = end
    return found


def _why(
    sighting: Sighting, beat: tuple[mpq, mpq], inside: list[mpq], new_start: mpq, moved: mpq
) -> str:
    """Why a beat did not come out as its map has it."""
    bar, image, bar_map = sighting.bar, sighting.image, sighting.bar_map
    if bar_map.refit is not None:
        return bar_map.reason
    start, end = beat
    if any(a < end and b > start and (a < start or b > end) for a, b in sighting.slot.tuplets):
        return "part of a tuplet over several beats, taken straight"
    base = bar_map(bar.shift)
    slope = (bar_map(end + bar.shift) - base - new_start) / (end - start)
    if all(image[p] == new_start + (p - start) * slope for p in inside):
        parts = lcm(1, *(((p - start) / (end - start)).denominator for p in inside))
        name = {3: "triplet", 2: "duplet"}.get(int(parts), "tuplet")
        return f"a {name} already, taken straight"
    return f"moved by {format_value(moved)} to a place that is read at sight"


def _pattern(places: list[mpq], start: mpq, end: mpq, opens: bool, runs_on: bool) -> str:
    cuts = [*([start] if opens else []), *places, end]
    values = [format_value(b - a) for a, b in pairwise(cuts) if b > a]
    return ("~" if opens else "") + " ".join(values) + ("~" if runs_on else "")
