"""The map of a transformation: where each event of the source went, bar by bar.

A note of the result carries what its source was read from, so it can be followed through every
verb, whatever became of its place, its length or its neighbours. Two scores that were read from
different files are matched voice by voice, by their pitches in order.

Conventions
-----------
Events are named by :mod:`rhythm.score.identity`, bars by index. Only what is struck is followed:
silence is written anew. A *place* is the beat's number and what is said there ("2 &"), as the
caller's way of counting has it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence

from gmpy2 import mpq

from rhythm.exact.frozen import dataclass
from rhythm.exact.values import name_value
from rhythm.formats.musicxml.write.note_sources import read_from
from rhythm.score.identity import Named, named_events
from rhythm.score.model import Bar, Event, Score
from rhythm.show.beats import beat_number
from rhythm.show.note_signs import event_signs

__all__ = ["Counting", "Mapped", "Strand", "Value", "columns", "mapped", "values_of"]

Counting = Callable[[Sequence[Event], Sequence[Bar]], Sequence[str]]
"""What is said on each event of a voice; :func:`rhythm.practice.counting.syllables` is one."""


@dataclass(frozen=True, slots=True)
class Value:
    """One event to look at: its bar, place and value, as signs of music and in words."""

    event: str
    bar: int
    place: str
    signs: str
    words: str
    pitch: str


@dataclass(frozen=True, slots=True)
class Strand:
    """An event of the source with its images, and why it is not where the plain map sends it."""

    before: Value
    after: tuple[Value, ...]
    why: str = ""


@dataclass(frozen=True, slots=True)
class Mapped:
    """Every struck event of the source with its images; and the events that came of none."""

    strands: tuple[Strand, ...]
    new: tuple[Value, ...]


def mapped(
    before: Score,
    after: Score,
    *,
    prefixes: tuple[str, str] = ("a", "b"),
    counting: Counting | None = None,
    why: Callable[[int, mpq], str] | None = None,
    bare: bool = False,
) -> Mapped:
    """Where every struck event of ``before`` went in ``after``.

    ``prefixes`` go before the names of events. ``why`` tells for a bar of the source and an offset
    from its start why what stands there was moved, "" where it was not. With ``bare`` the values
    are told by their bars alone, which is quick.
    """
    sources = [each for each in named_events(before, prefixes[0]) if _struck(each.event)]
    images = [each for each in named_events(after, prefixes[1]) if _struck(each.event)]
    old: Mapping[str, Value]
    new: Mapping[str, Value]
    if bare:
        old, new = (
            {each.name: Value(each.name, each.event.bar, "", "", "", "") for each in some}
            for some in (sources, images)
        )
    else:
        old = values_of(before, prefixes[0], counting)
        new = values_of(after, prefixes[1], counting)
    pairs = _traced(sources, images) or _alike(sources, images)
    found: dict[str, list[Value]] = {}
    for image, source in pairs.items():
        found.setdefault(source, []).append(new[image])
    starts = [bar.start for bar in before.bars]
    strands = tuple(
        Strand(
            old[each.name],
            tuple(found.get(each.name, ())),
            why(each.event.bar, each.event.onset - starts[each.event.bar]) if why else "",
        )
        for each in sources
    )
    return Mapped(strands, tuple(new[each.name] for each in images if each.name not in pairs))


def _struck(event: Event) -> bool:
    return event.visible and not event.is_rest and event.duration > 0


def _traced(sources: Iterable[Named], images: Iterable[Named]) -> dict[str, str]:
    """By image, the event whose notes it was made from; nothing where none was."""
    owners: dict[int, str] = {}
    for each in sources:
        for origin in _origins(each.event):
            owners.setdefault(origin, each.name)
    found: dict[str, str] = {}
    for each in images:
        for origin in _origins(each.event):
            if origin in owners:
                found[each.name] = owners[origin]
                break
    return found


def _origins(event: Event) -> list[int]:
    roots = (read_from(source) for note in event.notes for source in note.sources)
    return [id(root) for root in roots if root is not None]


def _alike(sources: Sequence[Named], images: Sequence[Named]) -> dict[str, str]:
    """By image, the event of the same pitches in the same voice, where they mostly go together."""
    from difflib import SequenceMatcher

    found: dict[str, str] = {}
    theirs = _by_voice(images)
    for key, ours in _by_voice(sources).items():
        others = theirs.get(key, [])
        one = [str(each.event.pitches) for each in ours]
        two = [str(each.event.pitches) for each in others]
        if one == two:
            blocks = [(0, 0, len(one))]
        else:
            matcher = SequenceMatcher(None, one, two, autojunk=False)
            blocks = [(b.a, b.b, b.size) for b in matcher.get_matching_blocks()]
        if 2 * sum(length for *_, length in blocks) < min(len(one), len(two)):
            continue  # what little is alike is so by chance
        for first, second, length in blocks:
            for i in range(length):
                found[others[second + i].name] = ours[first + i].name
    return found


def _by_voice(events: Iterable[Named]) -> dict[tuple[str, str], list[Named]]:
    found: dict[tuple[str, str], list[Named]] = {}
    for each in events:
        found.setdefault((each.name.lstrip("ab").partition("-")[0], each.voice.name), []).append(
            each
        )
    return found


def values_of(
    score: Score, prefix: str = "", counting: Counting | None = None
) -> Mapping[str, Value]:
    """Every event of a score to look at, by name."""
    bars = score.bars
    found: dict[str, Value] = {}
    said: dict[int, Sequence[str]] = {}
    if counting is not None:
        for part in score.parts:
            for voice in part.voices:
                said[id(voice)] = counting(voice.events, part.bars)
    for name, _part, voice, event in named_events(score, prefix):
        index = int(name.rpartition("-")[2])
        word = said[id(voice)][index] if counting is not None else ""
        bar = bars[event.bar]
        found[name] = Value(
            name,
            event.bar,
            _place(beat_number(bar, event.onset - bar.start), word),
            event_signs(event),
            _words(event),
            " ".join(map(_pitch_name, event.pitches)) or ("rest" if event.is_rest else "stroke"),
        )
    return found


def _words(event: Event) -> str:
    """The value of an event as it is written, piece by piece."""
    lengths = [piece.duration for piece in event.pieces] or [event.duration]
    return " tied to ".join(map(name_value, lengths))


def _place(beat: int, word: str) -> str:
    """The beat's number and what is said there, without the silent beats in brackets."""
    spoken = " ".join(each for each in word.split() if not each.startswith("("))
    return spoken if spoken.startswith(str(beat)) else f"{beat} {spoken}".strip()


def _pitch_name(pitch: object) -> str:
    text = str(pitch).rstrip("0123456789")
    return text.replace("##", " double sharp").replace("bb", " double flat").replace(
        "#", " sharp"
    ).replace("b", " flat") if len(text) > 1 else text  # fmt: skip


def columns(before: Score, after: Score, found: Mapped) -> list[tuple[range, range]]:
    """The runs of bars of both scores that say the same music and end together, in order.

    Every bar of both is in one. Where few bar lines coincide the runs are long; what has no image,
    or no source, stands with an empty run on the other side. Scores that have nothing in common
    are set bar against bar.
    """
    count, other = len(before.bars), len(after.bars)
    if not any(strand.after for strand in found.strands):
        return [
            (range(min(i, count), min(i + 1, count)), range(min(i, other), min(i + 1, other)))
            for i in range(max(count, other))
        ]
    reached = [-1] * (count + 1)  # the last bar of the result that anything before here went to
    needed = [other] * (count + 1)  # the first that anything from here on went to
    for strand in found.strands:
        if strand.after:
            bar, image = strand.before.bar, strand.after[0].bar
            reached[bar + 1] = max(reached[bar + 1], image)
            needed[bar] = min(needed[bar], image)
    for i in range(1, count + 1):
        reached[i] = max(reached[i], reached[i - 1])
    for i in range(count - 1, -1, -1):
        needed[i] = min(needed[i], needed[i + 1])
    made: list[tuple[range, range]] = []
    at = image_at = 0
    for i in range(1, count):
        if reached[i] < needed[i]:
            j = i if count == other and reached[i] < i <= needed[i] else max(image_at, needed[i])
            if needed[i] == other and reached[i] + 1 <= other:
                j = max(image_at, reached[i] + 1)
            made.append((range(at, i), range(image_at, j)))
            at, image_at = i, j
    closed = max(image_at, reached[count] + 1)
    later = [value for strand in found.strands for value in strand.after[1:]] + [*found.new]
    if not any(value.bar >= closed for value in later):
        closed = other
    made.append((range(at, count), range(image_at, closed)))
    if closed < other:
        made.append((range(count, count), range(closed, other)))
    return made
