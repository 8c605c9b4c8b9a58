"""Learning an editor's hand from the score it wrote.

Each distinct bar is spelled as the house would. Whatever is asked on the way is answered otherwise,
once, and the bar spelled again: where the two spellings differ, the editor's symbols match one of
them, or neither. That is a vote. An answer holds with at least two votes and 60 in 100 of them (for
beams that part at slurs four and 75). What is still beamed otherwise is remembered by its rhythm.

Nothing but the score's own symbols is looked at, and of a bar only the part that the question is
about: a bar may vote on one question though it goes its own way elsewhere.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass

from gmpy2 import mpq

from rhythm.exact.errors import RequestError
from rhythm.notate.bar_notation import Spelled, spell_on, stems_of
from rhythm.notate.beam_memory import known_cells
from rhythm.notate.metric_grid import asking_grid, bar_grid
from rhythm.notate.observation import ObservedBar, observed_bars
from rhythm.notate.usage import HOUSE, QUESTIONS, Answer, Beaming, CellKey, Usage
from rhythm.score.model import Score

__all__ = ["Habit", "Hand", "in_manner", "learn", "manner", "usage_of"]

_MOST_TELLING = 96
"""So many distinct bars are asked, the commonest first: more cost time and say little new."""

_MOST_ITEMS = 256
"""A bar with more in it than this shows no habit."""

_ASKED_AT_ONCE = 24
"""A bar that raises more questions than this is no evidence for any."""


@dataclass(frozen=True, slots=True)
class Habit:
    """One question as a score answers it: by ``votes`` of ``asked`` bars, two of them named.

    ``metre`` is empty where the bars of all metres were counted together. ``answer`` is empty where
    the bars do not agree, and the house's answer stands. ``bars`` are pairs of part and bar number.
    """

    question: str
    text: str
    metre: str
    place: str
    answer: str
    votes: int
    asked: int
    house: bool
    bars: tuple[tuple[str, str], ...]

    def to_dict(self) -> dict[str, object]:
        """Plain values for JSON."""
        return {
            "question": self.question,
            "about": self.text,
            "metre": self.metre or None,
            "place": self.place or None,
            "answer": self.answer or None,
            "votes": self.votes,
            "asked": self.asked,
            "house": self.house,
            "bars": [{"part": part, "bar": bar} for part, bar in self.bars],
        }


class _Listener:
    """Answers as the house does, but for one question, and notes what is asked."""

    beams: tuple[Beaming, ...] = ()

    def __init__(self, other: tuple[str, str] = ("", ""), answer: str = "") -> None:
        self.other = other
        self.given = answer
        self.heard: dict[tuple[str, str], None] = {}

    def answer(self, question: str, metre: str, place: str = "") -> str:
        key = (question, place)
        if key == self.other:
            return self.given
        self.heard[key] = None
        return QUESTIONS[question].answers[0]

    def beaming(self, cell: CellKey) -> tuple[tuple[str, ...], ...] | None:
        return None


class Hand:
    """Whose manner a score is notated in: an editor's, learned when it is first asked for."""

    def __init__(self, editor: Score | None = None) -> None:
        self._editor = editor
        self._known: dict[frozenset[str], Usage] = {}

    def usage(self, metres: frozenset[str]) -> Usage:
        """What the editor's score shows for bars of these metres; the house's without an editor."""
        if self._editor is None:
            return HOUSE
        found = self._known.get(metres)
        if found is None:
            found = self._known[metres] = learn(self._editor, metres=metres)
        return found


def in_manner(score: Score, manner: str | Score = "source") -> Score:
    """``score``, to be notated in a manner from here on.

    ``source`` is that of its own editor, or the one that it is being notated in already; ``house``
    this house's; another score, that of its editor. Raises RequestError for another word.
    """
    if isinstance(manner, Score):
        return score.replace(hand=Hand(manner))
    if manner == "source":
        return score if score.hand is not None else score.replace(hand=Hand(score))
    if manner == "house":
        return score.replace(hand=Hand())
    raise RequestError(f"manner {manner!r} is not known", legal="source, house, or a score")


def usage_of(score: Score, bars: Collection[int] | None = None) -> Usage:
    """The usage that what is written anew in ``score`` (in bars at these indices) follows."""
    if not isinstance(score.hand, Hand):
        return HOUSE
    metres = {
        bar.metre for part in score.parts for bar in part.bars if bars is None or bar.index in bars
    }
    return score.hand.usage(frozenset(map(str, metres)))


_Votes = dict[tuple[str, str, str], Counter[str]]
_Shown = dict[tuple[str, str, str, str], list[tuple[str, str]]]


def learn(
    score: Score, bars: Collection[int] | None = None, metres: Collection[str] | None = None
) -> Usage:
    """The usage of the editor of ``score``, as the bars (at these indices; None: all) show it.

    Beams are remembered for bars of these ``metres`` alone (None: all).
    """
    observed = observed_bars(score, bars)
    votes, _ = _votes(observed)
    answers = tuple(
        Answer(*key, winner)
        for key, counted in sorted(votes.items())
        if (winner := _winner(key[0], counted))
    )
    written = frozenset(str(bar.metre) for bar in observed)
    plain = Usage(answers, (), written)
    asked = [bar for bar in observed if metres is None or str(bar.metre) in metres]
    return Usage(answers, _remembered(asked, plain), written)


def manner(score: Score) -> tuple[Habit, ...]:
    """Each question that the score's bars answer, with the answer, its votes and two bars."""
    votes, shown = _votes(observed_bars(score))
    order = {name: i for i, name in enumerate(QUESTIONS)}
    found: list[Habit] = []
    for key in sorted(votes, key=lambda key: (order[key[0]], key[1:])):
        question, metre, place = key
        counted = votes[key]
        winner = _winner(question, counted)
        most = winner or counted.most_common(1)[0][0]
        asked = QUESTIONS[question]
        found.append(
            Habit(
                question,
                asked.text,
                metre,
                place,
                winner,
                counted[most],
                counted.total(),
                _is_house(shown, key, most),
                tuple(shown[*key, most][:2]),
            )
        )
    return tuple(each for each in found if each.metre)


def _is_house(shown: _Shown, key: tuple[str, str, str], answer: str) -> bool:
    return (*key, "house " + answer) in shown


def _winner(question: str, counted: Counter[str]) -> str:
    answer, most = counted.most_common(1)[0]
    asked = QUESTIONS[question]
    enough = most >= asked.least and most * 100 >= asked.share * counted.total()
    return answer if enough else ""


def _votes(observed: Sequence[ObservedBar]) -> tuple[_Votes, _Shown]:
    """The votes on every question, by metre and place, and by place in any metre."""
    votes: _Votes = defaultdict(Counter)
    shown: _Shown = defaultdict(list)
    sane = [bar for bar in observed if len(bar.items) <= _MOST_ITEMS]
    telling = sorted(sane, key=lambda bar: -bar.times)[:_MOST_TELLING]
    for bar in telling:
        metre = str(bar.metre)
        for question, place, answer, is_house in _ballots(bar):
            for key in _keys(question, metre, place):
                votes[key][answer] += bar.times
                here = shown[*key, answer]
                here += bar.places[: 2 - len(here)]
                if is_house:
                    shown[*key, "house " + answer]
    return votes, shown


def _keys(question: str, metre: str, place: str) -> Iterator[tuple[str, str, str]]:
    places = [place]
    if question == "joined" and ", eighths " in place:
        places.append(place.partition(", eighths ")[0] + ", eighths")
    for each in places:
        yield question, metre, each
        yield question, "", each


def _ballots(bar: ObservedBar) -> Iterator[tuple[str, str, str, bool]]:
    """Question, place, the answer that the editor's symbols give, and whether it is the house's."""
    listener = _Listener()
    ours = _spelled(bar, listener)
    if len(listener.heard) > _ASKED_AT_ONCE:
        return
    for question, place in listener.heard:
        if question == "joined" and place.endswith(", eighths"):
            continue
        known = QUESTIONS[question].answers
        house, tried = known[0], []
        for answer in known[1:]:
            other = _spelled(bar, _Listener((question, place), answer))
            if other == ours:
                house = house or answer
            else:
                tried.append((answer, other))
        for answer, other in tried:
            verdict = _match(bar, ours, other)
            if verdict > 0:
                yield question, place, answer, False
                break
        else:
            if tried and house and all(_match(bar, ours, other) < 0 for _, other in tried):
                yield question, place, house, True


_Said = tuple[mpq, mpq, bool, str, int, tuple[int, int], bool]
_Signs = list[tuple[_Said, tuple[str, ...]]]


def _spelled(bar: ObservedBar, listener: _Listener) -> _Signs:
    """Each symbol as what an editor's sign says, and its beams."""
    grid = asking_grid(bar.metre, bar.length, bar.shift, "", listener)
    return [(_said(spelled, bar), _plain(spelled.beams)) for spelled in spell_on(grid, bar.items)]


def _said(spelled: Spelled, bar: ObservedBar) -> _Said:
    sign = spelled.sign
    item = bar.items[sign.item]
    tied = not item.rest and sign.start != item.offset
    return (sign.start, sign.end, item.rest, sign.type, sign.dots, sign.ratio, tied)


def _plain(beams: tuple[str, ...]) -> tuple[str, ...]:
    """The words of beams, whichever way a hook points."""
    return tuple(["hook" if word.endswith("hook") else word for word in beams])


def _match(bar: ObservedBar, ours: _Signs, other: _Signs) -> int:
    """Where the two spellings differ: 1 if the editor wrote the other one, -1 if ours, else 0."""
    theirs: _Signs = [(sign[:-1], _plain(sign.beams)) for sign in bar.signs]
    values = {said for said, _ in ours} ^ {said for said, _ in other}
    if values:
        lo, hi = _reach(values)
        cut = [_within(signs, lo, hi, beams=False) for signs in (theirs, ours, other)]
    else:
        if not bar.beamed:
            return 0
        lo, hi = _reach({a[0] for a, b in zip(ours, other, strict=True) if a != b})
        cut = [_within(signs, lo, hi, beams=True) for signs in (theirs, ours, other)]
    return 1 if cut[0] == cut[2] else -1 if cut[0] == cut[1] else 0


def _reach(said: Collection[_Said]) -> tuple[mpq, mpq]:
    return min(each[0] for each in said), max(each[1] for each in said)


def _within(signs: _Signs, lo: mpq, hi: mpq, *, beams: bool) -> list[object]:
    return [sign if beams else sign[0] for sign in signs if sign[0][0] < hi and sign[0][1] > lo]


# Beams by memory


def _remembered(observed: Sequence[ObservedBar], usage: Usage) -> tuple[Beaming, ...]:
    """The rhythms that the editor beams otherwise than the answers say, and mostly alike."""
    counts: dict[CellKey, Counter[tuple[tuple[str, ...], ...] | None]] = defaultdict(Counter)
    differing: set[CellKey] = set()
    for bar in observed:
        if not bar.beamed:
            continue
        grid = bar_grid(bar.metre, bar.length, bar.shift, "", usage)
        spelled = spell_on(grid, bar.items)
        if not _same_values(bar, spelled):
            continue
        theirs = [sign.beams for sign in bar.signs]
        ours = [each.beams for each in spelled]
        stems = stems_of([each.sign for each in spelled], bar.items)
        for _, inside, keys in known_cells(grid, stems):
            said = tuple(theirs[i] for i in inside)
            words = said if _is_closed(said) else None
            differs = [_plain(theirs[i]) for i in inside] != [_plain(ours[i]) for i in inside]
            for key in keys:
                counts[key][words] += bar.times
                if differs:
                    differing.add(key)
    found: list[Beaming] = []
    for key in differing:
        best, most = counts[key].most_common(1)[0]
        if best is not None and most >= 2 and most * 100 >= 60 * counts[key].total():
            found.append(Beaming(key, best))
    return tuple(sorted(found, key=repr))


def _same_values(bar: ObservedBar, spelled: Sequence[Spelled]) -> bool:
    return [_said(each, bar) for each in spelled] == [sign[:-1] for sign in bar.signs]


def _is_closed(words: Sequence[tuple[str, ...]]) -> bool:
    """Do all beams that run here begin and end here?"""
    open_ = False
    for each in words:
        first = each[0] if each else ""
        if first == "begin":
            open_ = True
        elif first == "continue" and not open_:
            return False
        elif first == "end":
            if not open_:
                return False
            open_ = False
    return not open_
