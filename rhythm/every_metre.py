"""A theme in every metre and feel that suits it: to choose by ear, not by reckoning.

The first bars of the theme are put through some forty restatements and regroupings, those that
suit its metre, its shortest values and its upbeat. What cannot be made, and what comes out like one
before it, is left out. The order is one of sense: the lilts first, then the same beats in other
numbers, uneven metres, bars in turn, other bar lines and other groups.

Conventions
-----------
Values are ``gmpy2.mpq`` in whole notes. ``lilting`` is the share of beats that were bent and not
only stretched, ``moved`` the share of notes that stand elsewhere in their bar than before, ``far``
how far at most, as a part of the bar.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from gmpy2 import mpq

from rhythm.chain import Step, followed
from rhythm.exact.errors import RemetreError, RequestError
from rhythm.exact.frozen import dataclass
from rhythm.exact.metre import Metre
from rhythm.score.model import Score
from rhythm.score.select import Bars

if TYPE_CHECKING:
    from rhythm.show.gallery import Entry

__all__ = ["Guise", "count_of_ways", "guises", "guises_page", "tried"]

_MOST_BARS = 64


@dataclass(frozen=True, slots=True)
class Guise:
    """The theme in one metre or feel: what to call it, under which head, how it is made.

    ``score`` is the music, ``level`` how hard it is to read (1 to 10), ``line`` what was done;
    guises that are ``heard`` alike are one.
    """

    name: str
    head: str
    step: Step
    score: Score
    lilting: mpq
    moved: mpq
    far: mpq
    level: mpq
    line: str
    heard: str

    @property
    def entry(self) -> Entry:
        """The guise as a gallery shows it."""
        from rhythm.practice.measures import tenths
        from rhythm.show.gallery import Entry

        said = filter(None, (f"level {tenths(self.level)}", self.line, self._moving))
        return Entry(self.name, self.head, "; ".join(said), self.score)

    @property
    def _moving(self) -> str:
        """How many notes moved, and how far."""
        if not self.moved:
            return "every note keeps its place in the bar"
        percent = max(1, int(self.moved * 100))
        near = next((part for part in _PARTS if self.far <= mpq(1, part)), 1)
        by = f"by up to 1/{near} of a bar" if near > 1 else "by up to a bar"
        return f"{percent}% of the notes move, {by}"

    def to_dict(self) -> dict[str, object]:
        """Plain values for JSON; exact values as texts."""
        return {
            "name": self.name,
            "head": self.head,
            "verb": self.step.verb,
            "options": dict(self.step.options),
            "lilting": str(self.lilting),
            "moved": str(self.moved),
            "far": str(self.far),
            "level": str(self.level),
            "line": self.line,
        }


def guises(score: Score, *, first: int = 8, most: int = 60) -> tuple[Guise, ...]:
    """The ``first`` so many bars (1 to 64) of ``score`` in at most ``most`` guises (1 to 200).

    Raises RequestError for numbers out of range or a score without bars.
    """
    if not 1 <= most <= 200:
        raise RequestError(f"{most} guises", legal="1 to 200")
    found: list[Guise] = []
    seen: set[str] = set()
    for _, made in tried(score, first=first):
        if made is not None and made.heard not in seen:
            seen.add(made.heard)
            found.append(made)
        if len(found) == most:
            break
    return tuple(found)


def tried(score: Score, *, first: int = 8, after: int = 0) -> Iterator[tuple[int, Guise | None]]:
    """Every way but the ``after`` first ones, one after the other: its number, and what it makes.

    That is None where it cannot be made or leaves the theme as it is. Those that are ``heard``
    alike are for the caller to leave out. Raises as :func:`guises` does.
    """
    if not 1 <= first <= _MOST_BARS:
        raise RequestError(f"the first {first} bars", legal=f"1 to {_MOST_BARS}")
    theme = _theme(score, first)
    as_it_is = _heard(theme)
    for number, (head, name, verb, options) in enumerate(_ways(theme)):
        if number >= after:
            made = _made(theme, head, name, Step(verb, options))
            yield number, None if made is None or made.heard == as_it_is else made


def count_of_ways(score: Score) -> int:
    """How many ways :func:`tried` tries."""
    return sum(1 for _ in _ways(score))


def guises_page(score: Score, found: Sequence[Guise]) -> str:
    """The guises of ``score`` as a page for the browser, to be heard one after the other.

    Raises MusicError where one cannot be engraved.
    """
    from rhythm.show.gallery import gallery

    title = score.title or "The theme"
    return gallery(f"{title} in {len(found)} guises", [each.entry for each in found])


def _theme(score: Score, bars: int) -> Score:
    from rhythm.score.excerpt import excerpt

    if not score.bars:
        raise RequestError("the score has no bars", legal="a score with music")
    upbeat = 1 if score.bars[0].shift else 0
    last = min(bars + upbeat, len(score.bars)) - 1
    return score if last + 1 == len(score.bars) else excerpt(score, bars=Bars.run(0, last))


def _made(theme: Score, head: str, name: str, step: Step) -> Guise | None:
    from rhythm.practice.difficulty import difficulty
    from rhythm.writing import faults_of

    try:
        (done,) = followed(theme, [step])
        if len(faults_of(done.score)) > len(faults_of(theme)):
            return None
        level = difficulty(done.score).exact
    except RemetreError:
        return None
    told: Mapping[str, Any] = done.report.to_dict() if done.report is not None else {}
    tally = told.get("tally")
    bent, beats = (tally["bent"], tally["beats"]) if isinstance(tally, Mapping) else (0, 0)
    lilting = mpq(bent, beats) if beats else mpq(0)
    moved, far = _moved(theme, done.score)
    line = str(done.report or "")
    heard = _heard(done.score)
    return Guise(name, head, step, done.score, lilting, moved, far, level, line, heard)


def _heard(score: Score) -> str:
    """What makes two guises one to the ear and the eye: metres, places, values and accents."""
    said = (
        tuple((str(bar.metre), bar.length) for bar in score.bars),
        tuple(
            (event.onset, event.duration, tuple(each.kind for each in event.additions),
             tuple(piece.beams for piece in event.pieces))
            for _, _, event in score.events() if event.visible and not event.is_rest
        ),
    )  # fmt: skip
    return hashlib.sha256(repr(said).encode()).hexdigest()


_PARTS = (24, 16, 12, 8, 6, 4, 3, 2)


def _moved(before: Score, after: Score) -> tuple[mpq, mpq]:
    """The share of notes that stand at another place of their bar, and how far off at most."""
    old, new = _places(before), _places(after)
    if not old or len(old) != len(new):
        return mpq(1), mpq(1)
    steps = [min(abs(a - b), 1 - abs(a - b)) for a, b in zip(old, new, strict=True)]
    return mpq(sum(step != 0 for step in steps), len(steps)), max(steps)


def _places(score: Score) -> list[mpq]:
    return [
        (event.onset - part.bars[event.bar].start) / (part.bars[event.bar].length or 1)
        for part, _, event in score.events()
        if event.visible and not event.is_rest and event.duration > 0
    ]


Way = tuple[str, str, str, dict[str, Any]]

_ROMAN = {"trochee": "long first", "iamb": "short first"}


def _ways(theme: Score) -> Iterator[Way]:
    """What is tried, in order."""
    metre = next((bar.metre for bar in theme.bars if bar.metre and bar.metre.length), None)
    metre = metre or Metre.parse("4/4")
    if metre.is_compound:
        yield from _restated(
            "Made plain", [("simple", "in simple time"), ("duplets", "in duplets")]
        )
    else:
        yield from _lilts()
    yield from _counted(metre)
    yield from _uneven()
    yield from _in_turn()
    yield from _other_lines(metre)
    yield from _other_groups()


def _restated(head: str, targets: Sequence[tuple[str, str]]) -> Iterator[Way]:
    for to, name in targets:
        yield head, name, "restate", {"to": to}


def _lilts() -> Iterator[Way]:
    for to, where in (("compound", "in compound time"), ("triplets", "in triplets")):
        for lilt, how in _ROMAN.items():
            yield "Lilting", f"{where}, {how}", "restate", _told(to, lilt)
    for ratio in ("2:1", "3:2", "3:1"):
        yield "Lilting", f"swung {ratio}", "restate", _told("triplets", ratio)


def _told(to: str, lilt: str) -> dict[str, Any]:
    return {"to": to} if lilt == "trochee" else {"to": to, "lilt": lilt}


def _counted(metre: Metre) -> Iterator[Way]:
    """The same theme in other numbers of beats, simple and compound."""
    for head, targets in (
        ("In two, three and four", ("2/4", "3/4", "4/4", "2/2", "3/2", "6/4")),
        ("In lilting bars", ("6/8", "9/8", "12/8", "3/8")),
    ):
        for to in targets:
            if Metre.parse(to) == metre:
                continue
            for lilt, how in _ROMAN.items():
                yield head, f"in {to}, {how}", "restate", _told(to, lilt)


def _uneven() -> Iterator[Way]:
    for to in ("5/8", "3+2/8", "5/4", "7/8", "3+2+2/8", "2+3+2/8", "7/4", "3+3+2/8", "2+2+2+3/8",
               "3+3+2+2/8", "11/8"):  # fmt: skip
        for lilt, how in _ROMAN.items():
            yield "Limping", f"in {to}, {how}", "restate", _told(to, lilt)


def _in_turn() -> Iterator[Way]:
    for to in ("3/4 2/4", "7/8 7/8 5/8", "6/8 3/4", "5/8 6/8", "4/4 3/4"):
        yield "Bars in turn", f"in {to} by turns", "restate", {"to": to}


def _other_lines(metre: Metre) -> Iterator[Way]:
    for to in ("2/4", "3/4", "4/4", "5/8", "7/8", "5/4"):
        if Metre.parse(to) != metre:
            yield "The same values, other bar lines", f"barred in {to}", "rebar", {"to": to}


def _other_groups() -> Iterator[Way]:
    for groups in ("3+3+2", "3", "5"):
        yield (
            "The same notes, other groups",
            f"in groups of {groups}, with accents",
            "group",
            {"groups": groups, "show": "accents"},
        )
    for device, name in (
        ("syncopation", "syncopated"),
        ("dotting", "dotted"),
        ("displacement:1/8", "an eighth late"),
        ("augmentation:2", "twice as long"),
        ("diminution:2", "half as long"),
    ):
        yield "Devices", name, "vary", {"devices": device}
