"""What a restatement did: the map of each beat, every distinct beat pattern, and one line of all.

Conventions
-----------
A beat pattern is the list of durations (whole notes) between the positions of one voice inside one
beat of the source. A tie before it (``‿``) says that the beat opens inside a note begun earlier, a
tie behind it that the last note sounds on into the next beat. ``moved`` is the largest distance
the fit moved a position away from the map's own image.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import field
from functools import cached_property
from itertools import pairwise

from gmpy2 import lcm, mpq

from rhythm.exact.frozen import dataclass
from rhythm.exact.values import format_value
from rhythm.restate.joint import Fitted, Fitter, Shape, shape_of
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
    fitted: Fitted


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


@dataclass(frozen=True)
class Report:
    """What a restatement did.

    ``bars`` are the bars that were mapped, also those in which nothing moved; ``notes`` are further
    things to be said, each a clause of the line; ``idle`` says why nothing was to be changed, and
    ``redrawn`` that the bar lines moved, whatever became of the beats.
    """

    lilt: str
    maps: tuple[BarMap, ...]
    sightings: tuple[Sighting, ...] = field(default=(), repr=False)
    bars: tuple[Fitted, ...] = field(default=(), repr=False)
    fitter: Fitter | None = field(default=None, repr=False, compare=False)
    idle: str = ""
    notes: tuple[str, ...] = ()
    redrawn: bool = False

    @cached_property
    def beats(self) -> list[BeatChange]:
        """Every distinct beat pattern, the commonest first."""
        counts: Counter[tuple[str, str, mpq, str]] = Counter()
        for sighting in self.sightings:
            for seen in _beats_of(sighting):
                moved = max(abs(a - b) for a, b in zip(seen.places, seen.images, strict=True))
                why = self._why(seen, moved) if moved else ""
                counts[seen.source, seen.image, moved, why] += 1
        ranked = sorted(counts.items(), key=lambda item: (-item[1], item[0][0], item[0][1]))
        return [BeatChange(key[0], key[1], n, key[2], key[3]) for key, n in ranked]

    @property
    def points(self) -> list[tuple[BarMap, tuple[tuple[mpq, mpq], ...]]]:
        """Each map with its breakpoints in the written metre, for a table or a diagram."""
        return [(m, (m.warp if m.onto is None else m.warp.then(m.onto)).points) for m in self.maps]

    @cached_property
    def tally(self) -> dict[str, int]:
        """How many beats there were, and how many were bent, stretched, shortened or kept."""
        counts = {"beats": 0, "bent": 0, "stretched": 0, "shortened": 0, "kept": 0}
        for fitted in self.bars:
            for start, end in _beats_in(fitted.bar, fitted.bar_map):
                counts["beats"] += 1
                counts[_fate(fitted, start, end)] += 1
        return counts

    @cached_property
    def reasons(self) -> dict[tuple[int, mpq], str]:
        """Why a place is not the map's own image, by its bar and its offset from the bar's start.

        Only what is seen and stands elsewhere than the map alone would have it.
        """
        found: dict[tuple[int, mpq], str] = {}
        for sighting in self.sightings:
            for seen in _beats_of(sighting):
                moved = max(abs(a - b) for a, b in zip(seen.places, seen.images, strict=True))
                if not moved or not seen.shown:
                    continue
                why = self._why(seen, moved)
                for position, place, image in zip(
                    seen.positions, seen.places, seen.images, strict=True
                ):
                    if place != image:
                        found.setdefault((sighting.bar.index, position), why)
        return found

    @cached_property
    def leveled(self) -> int:
        """How many dotted figures became a long and a short in the ratio 2:1."""
        found = 0
        for sighting in self.sightings:
            for seen in _beats_of(sighting):
                if len(seen.places) == 2 and not seen.opens and not seen.runs_on:
                    before = _long_to_short(seen.positions, seen.span[1])
                    after = _long_to_short(seen.places, seen.new_span[1])
                    found += before in (3, 7) and after == 2
        return found

    def __str__(self) -> str:
        """What was done to the music, in one line."""
        if self.reason_idle:
            return "; ".join([f"nothing to change: {self.reason_idle}", *self.notes])
        return "; ".join([*self._beats_said(), *self._figures_said(), *self.notes])

    @cached_property
    def reason_idle(self) -> str:
        """Why nothing was changed; empty where something was."""
        tally = self.tally
        if self.idle or tally["kept"] < tally["beats"]:
            return self.idle
        if self.redrawn or any(m.written.signature != m.source.signature for m in self.maps):
            return ""
        reasons = sorted({m.reason.split(",")[0] for m in self.maps if m.reason})
        return f"no beat holds {' or '.join(reasons)}" if reasons else "no beat is divided"

    def _beats_said(self) -> list[str]:
        tally = self.tally
        bent, total = tally["bent"], tally["beats"]
        if self.redrawn and tally["kept"] == total:
            return ["no beat changes: the bars alone are redrawn"]
        lilts = bool(self.maps) and all(m.lilts for m in self.maps)
        causes = {m.reason for m in self.maps}
        if any(m.refit is not None for m in self.maps) and len(causes) == 1:
            return [f"{bent} of {total} beats: {causes.pop()}"]
        one, many = ("lilts", "lilt") if lilts else ("changes its shape", "change their shape")
        said = [(bent, one, many)] if bent or lilts else []
        only = "only " if said else ""
        said += [
            (count, *words)
            for count, words in (
                (tally["stretched"], (f"is {only}stretched", f"are {only}stretched")),
                (tally["shortened"], (f"is {only}shortened", f"are {only}shortened")),
                (tally["kept"], ("is left as it was", "are left as they were")),
            )
            if count
        ]
        beats = f" of {total} beat{'' if total == 1 else 's'}"
        texts = [
            f"{count or 'none'}{beats if n == 0 else ''} {single if count == 1 else plural}"
            for n, (count, single, plural) in enumerate(said)
        ]
        line = ", ".join(texts)
        broader = self._broader() if bent * 4 < tally["stretched"] else ""
        return [f"{line}: {broader}" if broader else line]

    def _broader(self) -> str:
        """Where hardly a beat divides: the target under which the beats themselves would lilt."""
        sources = {m.source for m in self.maps}
        if len(sources) != 1 or not all(m.lilts and m.onto is None for m in self.maps):
            return ""
        (source,) = sources
        count, beat = len(source.beats), source.beats[0]
        if count not in (2, 4) or len(set(source.beats)) > 1 or beat.numerator != 1:
            return ""
        names = {2: "halves", 4: "quarters", 8: "eighths"}
        if int(beat.denominator) not in names:
            return ""
        metre = f"{count * 3 // 2}/{beat.denominator * 2}"
        return f"{names[int(beat.denominator)]} would lilt with --to {metre}"

    def _figures_said(self) -> list[str]:
        count = self.leveled
        if not count:
            return []
        plural = count > 1
        return [
            f"{count} dotted figure{'s' if plural else ''} became the plain long-short; "
            f"--fit exact keeps {'them' if plural else 'it'}"
        ]

    def to_dict(self) -> dict[str, object]:
        """Plain values for JSON; exact values as texts, keys as in docs/restating.md."""
        return {
            "line": str(self),
            "changed": not self.reason_idle,
            "tally": {**self.tally, "leveled": self.leveled},
            "notes": list(self.notes),
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

    def _why(self, seen: _Seen, moved: mpq) -> str:
        """Why a beat did not come out as its map has it."""
        slot, fitted = seen.sighting.slot, seen.sighting.fitted
        start, end = seen.span
        if not seen.shown:
            return "not seen: it follows what is"
        together = self._together(seen)
        if fitted.bar_map.refit is not None:
            return fitted.bar_map.reason + (f", {together}" if together else "")
        if together:
            return together
        if any(a < end and b > start and (a < start or b > end) for a, b in slot.tuplets):
            return "part of a tuplet over several beats, taken straight"
        new_start, new_end = seen.new_span
        slope = (new_end - new_start) / (end - start)
        pairs = zip(seen.positions, seen.places, strict=True)
        if all(place == new_start + (p - start) * slope for p, place in pairs):
            parts = lcm(1, *(((p - start) / (end - start)).denominator for p in seen.positions))
            name = {3: "triplet", 2: "duplet"}.get(int(parts), "tuplet")
            return f"a {name} already, taken straight"
        return f"moved by {format_value(moved)} to a place that is read at sight"

    def _together(self, seen: _Seen) -> str:
        """With what other voices a beat was kept together, where alone it would be otherwise."""
        fitted = seen.sighting.fitted
        shape = shape_of(seen.sighting.slot)
        if len(fitted.shapes) < 2 or self.fitter is None:
            return ""
        alone = self.fitter.places((shape,), fitted.bar, fitted.bar_map)
        if all(alone.get(p) == place for p, place in zip(seen.positions, seen.places, strict=True)):
            return ""
        own = {p for p in shape[0] if seen.span[0] <= p < seen.span[1]}
        others = Counter(
            text for other in fitted.shapes if (text := _inside(other, seen.span, own))
        )
        named = [text for text, _ in others.most_common(2)]
        return f"kept together with {' and '.join(named)}" if named else ""


def _inside(shape: Shape, span: tuple[mpq, mpq], own: set[mpq]) -> str:
    """What another voice has in a beat, as durations; empty where it is alike or whole."""
    here = [p for p in shape[0] if span[0] <= p < span[1]]
    if own == set(here) or set(here) <= {span[0]}:
        return ""
    return _pattern(here, *span, here[0] > span[0], span[1] not in shape[0])


@dataclass(frozen=True, slots=True)
class _Seen:
    """One beat of one voice: what it holds before and after."""

    sighting: Sighting
    span: tuple[mpq, mpq]
    new_span: tuple[mpq, mpq]
    positions: list[mpq]
    places: list[mpq]
    images: list[mpq]
    opens: bool
    runs_on: bool

    @property
    def shown(self) -> bool:
        """Is anything of it visible?"""
        return not self.sighting.slot.shown.isdisjoint(self.positions)

    @property
    def source(self) -> str:
        """The beat as durations."""
        return _pattern(self.positions, *self.span, self.opens, self.runs_on)

    @property
    def image(self) -> str:
        """What it became."""
        return _pattern(self.places, *self.new_span, self.opens, self.runs_on)


def _beats_in(bar: Bar, bar_map: BarMap) -> Iterator[tuple[mpq, mpq]]:
    """The beats of the source in a bar, as offsets from the bar's start; the first may be cut."""
    start, beats, turn = -bar.shift, list(bar_map.source.beats), 0
    while start < bar.length:
        end = start + beats[turn % len(beats)]
        turn += 1
        if end > 0:
            yield start, min(end, bar.length)
        start = end


def _beats_of(sighting: Sighting) -> Iterator[_Seen]:
    image, fitted = sighting.image, sighting.fitted
    bar = sighting.bar
    ordered = [p for p in sorted(image) if p not in sighting.slot.seams]
    for start, end in _beats_in(bar, fitted.bar_map):
        inside = [p for p in ordered if start <= p < end]
        if inside:
            yield _Seen(
                sighting,
                (start, end),
                (fitted.exact(start), fitted.exact(end)),
                inside,
                [image[p] for p in inside],
                [fitted.exact(p) for p in inside],
                inside[0] > max(start, mpq(0)),
                end not in image,
            )


def _fate(fitted: Fitted, start: mpq, end: mpq) -> str:
    """What became of a beat: bent where something inside it does not keep its proportion."""
    a, b = fitted.exact(start), fitted.exact(end)
    slope = (b - a) / (end - start)
    inside = ((p, q) for p, q in fitted.places.items() if start < p < end)
    if any(q != a + (p - start) * slope for p, q in inside):
        return "bent"
    if slope == 1:
        return "kept"
    return "stretched" if slope > 1 else "shortened"


def _long_to_short(places: list[mpq], end: mpq) -> mpq:
    """Of two notes, the longer by the shorter."""
    one, other = places[1] - places[0], end - places[1]
    return max(one, other) / min(one, other)


_TIE = "\u203f"


def _pattern(places: list[mpq], start: mpq, end: mpq, opens: bool, runs_on: bool) -> str:
    cuts = [*([start] if opens else []), *places, end]
    values = [format_value(b - a) for a, b in pairwise(cuts) if b > a]
    return (_TIE if opens else "") + " ".join(values) + (_TIE if runs_on else "")
