"""Which bars, part and voice are meant: the one place that reads and refuses them.

Every verb and command takes the same three words. ``bars`` is text as on the page (``5``, ``5-8``,
``5-8, 12``, open ranges ``5-`` and ``-8``) or a :class:`Bars` value that an earlier step gave;
``part`` is a part's id or name; ``voice`` is a voice's name.

Conventions
-----------
In text, bars go by their printed number, and nothing else is a number of a bar. Where a number is
printed twice (a new movement starts at 1 again) the first is meant; a range ends at the first bar
with its last number at or after its beginning. A :class:`Bars` value holds places in the score,
counted from 0: it says which bars are meant even where their numbers do not.
"""

from __future__ import annotations

from bisect import bisect_left
from collections import Counter
from collections.abc import Iterator, Sequence

from rhythm.exact.errors import RequestError
from rhythm.exact.frozen import dataclass
from rhythm.exact.nearest import nearest
from rhythm.score.model import Bar, Part, Score, Voice

__all__ = ["Bars", "Selection", "select"]


@dataclass(frozen=True, slots=True)
class Bars:
    """Some bars of one score: their places in ``score.bars``, rising, each once, never none."""

    places: tuple[int, ...]

    @classmethod
    def run(cls, first: int, last: int) -> Bars:
        """The bars from place ``first`` to place ``last``, both included, counted from 0."""
        return cls(tuple(range(first, last + 1)))

    @classmethod
    def named(cls, bars: Sequence[Bar], text: str) -> Bars:
        """The bars that text such as ``5-8`` or ``8a, 12-`` names by their printed numbers.

        Raises RequestError where a number is not in the score or a range runs backwards.
        """
        numbers = [bar.number for bar in bars]
        found: set[int] = set()
        for entry in text.split(","):
            entry = entry.strip()
            if entry in numbers:
                found.add(numbers.index(entry))
                continue
            first, dash, last = (side.strip() for side in entry.partition("-"))
            if not dash or not (first or last):
                raise _no_bar(entry, numbers)
            start = _place(numbers, first, 0) if first else 0
            end = _place(numbers, last, start) if last else len(numbers) - 1
            found.update(range(start, end + 1))
        return cls(tuple(sorted(found)))

    @property
    def first(self) -> int:
        """The place of the first bar."""
        return self.places[0]

    @property
    def last(self) -> int:
        """The place of the last bar."""
        return self.places[-1]

    @property
    def is_run(self) -> bool:
        """Whether no bar between the first and the last is left out."""
        return len(self.places) == self.last - self.first + 1

    def required_run(self) -> Bars:
        """These bars; raises RequestError where they are no single run."""
        if not self.is_run:
            raise RequestError(
                "the bars named have gaps between them", legal="one run of bars, such as 5-8"
            )
        return self

    def __contains__(self, place: object) -> bool:
        if not isinstance(place, int):
            return False
        at = bisect_left(self.places, place)
        return at < len(self.places) and self.places[at] == place

    def __iter__(self) -> Iterator[int]:
        return iter(self.places)

    def __len__(self) -> int:
        return len(self.places)


@dataclass(frozen=True, slots=True)
class Selection:
    """What of ``score`` is meant: bars (None for all), parts by their place, a voice (None: all).

    ``parts`` are those asked for that have the voice asked for.
    """

    score: Score
    bars: Bars | None
    parts: tuple[int, ...]
    voice: str | None

    @property
    def has_all_voices(self) -> bool:
        """Whether neither part nor voice leaves anything out."""
        return all(
            self.has_voice(p, voice.name)
            for p, part in enumerate(self.score.parts)
            for voice in part.voices
        )

    def has_bar(self, place: int) -> bool:
        """Whether the bar at this place is meant."""
        return self.bars is None or place in self.bars

    def has_voice(self, part: int, voice: str) -> bool:
        """Whether this voice of the part at this place is meant."""
        return part in self.parts and self.voice in (None, voice)

    @property
    def run(self) -> tuple[int, int]:
        """The places of the first and last bar meant; RequestError where they are no single run.

        Of a score without bars (0, -1).
        """
        if self.bars is None:
            return 0, len(self.score.bars) - 1
        bars = self.bars.required_run()
        return bars.first, bars.last

    def voices(self) -> Iterator[tuple[int, Part, Voice]]:
        """Every voice meant, with its part and the part's place."""
        for p in self.parts:
            part = self.score.parts[p]
            for voice in part.voices:
                if self.voice in (None, voice.name):
                    yield p, part, voice


def select(
    score: Score,
    *,
    bars: str | Bars | None = None,
    part: str | None = None,
    voice: str | None = None,
) -> Selection:
    """What of the score is meant. Raises RequestError, naming the nearest, for what it has not."""
    parts = _parts(score, part)
    if voice is not None:
        parts = _with_voice(score, parts, voice)
    return Selection(score, _bars(score, bars), parts, voice)


def _bars(score: Score, bars: str | Bars | None) -> Bars | None:
    if bars is None or isinstance(bars, str):
        return None if bars is None else Bars.named(score.bars, bars)
    if not isinstance(bars, Bars):
        raise RequestError(
            f"bars cannot be {bars!r}", legal="bars as printed, in quotes: '5', '5-8' or '5-8,12'"
        )
    if not bars.places or not 0 <= bars.first <= bars.last < len(score.bars):
        raise RequestError("the bars lie outside the score", legal=f"it has {len(score.bars)} bars")
    return bars


def _parts(score: Score, part: str | None) -> tuple[int, ...]:
    if part is None:
        return tuple(range(len(score.parts)))
    _require_text("part", part)
    found = tuple(p for p, each in enumerate(score.parts) if part in (each.id, each.name))
    if not found:
        names = [name for each in score.parts for name in (each.name, each.id) if name]
        shown = _shown(score)
        raise RequestError(f"there is no part {part!r}", legal=_legal(part, names, shown))
    return found


def _shown(score: Score) -> list[str]:
    """The parts' names, with the id where several have one name."""
    often = Counter(each.name for each in score.parts)
    names = []
    for each in score.parts:
        alone = each.name or each.id
        names.append(alone if often[each.name] == 1 or not each.name else f"{alone} ({each.id})")
    return names


def _with_voice(score: Score, parts: Sequence[int], voice: str) -> tuple[int, ...]:
    _require_text("voice", voice)
    found = tuple(p for p in parts if any(v.name == voice for v in score.parts[p].voices))
    if not found:
        names = list(dict.fromkeys(v.name for p in parts for v in score.parts[p].voices))
        where = ""
        if len(parts) < len(score.parts):
            where = f" in part {score.parts[parts[0]].name or score.parts[parts[0]].id}"
        raise RequestError(f"there is no voice {voice!r}{where}", legal=_legal(voice, names, names))
    return found


def _require_text(what: str, given: object) -> None:
    if not isinstance(given, str):
        raise RequestError(f"{what} cannot be {given!r}", legal=f"a {what}'s name, in quotes")


def _legal(asked: str, names: Sequence[str], shown: Sequence[str]) -> str:
    """What there is; the nearest first where one is near."""
    each = list(dict.fromkeys(shown))
    are = "are" if len(each) > 1 else "is only"
    there = f"there {are} {', '.join(each)}" if each else "there are none"
    near = nearest(asked, names)
    return f"did you mean {near}? {there}" if near else there


def _place(numbers: Sequence[str], number: str, start: int) -> int:
    try:
        return numbers.index(number, start)
    except ValueError:
        if number in numbers:
            raise RequestError(
                f"the range of bars ends at {number}, before it begins",
                legal="write the earlier bar first, as in 5-8",
            ) from None
        raise _no_bar(number, numbers) from None


def _no_bar(text: str, numbers: Sequence[str]) -> RequestError:
    if not numbers:
        return RequestError(f"there is no bar {text!r}", legal="the score has no bars")
    first, last = (n if len(n) < 20 else f"{n[:20]}..." for n in (numbers[0], numbers[-1]))
    return RequestError(
        f"there is no bar {text!r}",
        legal=f"bars run from {first} to {last}; write 5, 5-8 or 5-8,12",
    )
