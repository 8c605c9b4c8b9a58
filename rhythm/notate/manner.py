"""Learning an editor's hand from the score it wrote.

Each distinct bar is looked at once. Where handbooks leave a question open, and the bar answers it
one way or the other, that is a vote (:mod:`rhythm.notate.value_evidence`, ``beam_evidence``). An
answer holds with at least two votes and 60 in 100 of them (for beams that part at slurs four and
75). The bars themselves are remembered by their rhythm (:mod:`rhythm.notate.bar_memory`).

Nothing but the score's own symbols is looked at, and of a bar only the part that the question is
about: a bar may vote on one question though it goes its own way elsewhere.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Collection, Sequence
from dataclasses import field
from operator import itemgetter

from rhythm.exact.errors import RequestError
from rhythm.exact.frozen import dataclass
from rhythm.notate.bar_memory import BarMemory
from rhythm.notate.beam_evidence import beam_ballots
from rhythm.notate.metric_grid import bar_grid
from rhythm.notate.observation import ObservedBar, observed_bars
from rhythm.notate.usage import HOUSE, QUESTIONS, Answer, Usage
from rhythm.notate.value_evidence import value_ballots
from rhythm.score.model import Score
from rhythm.score.uncollected import uncollected

__all__ = ["Habit", "Hand", "in_manner", "learn", "manner", "usage_of"]


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


class Hand:
    """Whose manner a score is notated in: an editor's, learned when it is first asked for.

    ``own`` says that the editor's score is the one that is notated.
    """

    def __init__(self, editor: Score | None = None, *, own: bool = False) -> None:
        self._editor = editor
        self._own = own
        self._usage: Usage | None = None

    @property
    def usage(self) -> Usage:
        """What the editor's score shows; the house's without an editor."""
        if self._usage is None:
            editor = self._editor
            self._usage = HOUSE if editor is None else learn(editor, own=self._own)
        return self._usage


def in_manner(score: Score, manner: str | Score = "source") -> Score:
    """``score``, to be notated in a manner from here on.

    ``source`` is that of its own editor, or the one that it is being notated in already; ``house``
    this house's; another score, that of its editor. Raises RequestError for another word.
    """
    if isinstance(manner, Score):
        return score.replace(hand=Hand(manner))
    if manner == "source":
        return score if score.hand is not None else score.replace(hand=Hand(score, own=True))
    if manner == "house":
        return score.replace(hand=Hand())
    raise RequestError(f"manner {manner!r} is not known", legal="source, house, or a score")


def usage_of(score: Score) -> Usage:
    """The usage that what is written anew in ``score`` follows."""
    return score.hand.usage if isinstance(score.hand, Hand) else HOUSE


_Key = tuple[str, str, str]
"""Question, metre and place."""


@dataclass(slots=True)
class _Tally:
    """The votes on one question by answer, which the house gives, and two bars for each."""

    votes: Counter[str] = field(default_factory=Counter)
    house: set[str] = field(default_factory=set)
    shown: dict[str, list[tuple[str, str]]] = field(default_factory=dict)


def learn(score: Score, bars: Collection[int] | None = None, *, own: bool = True) -> Usage:
    """The usage of the editor of ``score``, as the bars (at these indices; None: all) show it.

    ``own`` says that it is for writing that score itself: where its bars waver, near ones decide.
    """
    with uncollected():
        observed = observed_bars(score, bars)
        tallies = _tallies(observed)
    if not observed:
        return HOUSE
    answers = tuple(
        Answer(*key, winner)
        for key, tally in sorted(tallies.items(), key=lambda pair: pair[0])
        if (winner := _winner(key[0], tally.votes))
    )
    metres = {metre for bar in observed for metre in (bar.metre, bar.written_in)}
    written = frozenset({str(metre) for metre in metres})
    return Usage(answers, BarMemory(tuple(observed), own), written)


def manner(score: Score) -> tuple[Habit, ...]:
    """Each question that the score's bars answer, with the answer, its votes and two bars."""
    tallies = _tallies(observed_bars(score), every=True)
    order = {name: i for i, name in enumerate(QUESTIONS)}
    found: list[Habit] = []
    for key in sorted(tallies, key=lambda key: (order[key[0]], key[1:])):
        question, metre, place = key
        votes = tallies[key].votes
        winner = _winner(question, votes)
        most = winner or votes.most_common(1)[0][0]
        if metre:
            found.append(
                Habit(
                    question,
                    QUESTIONS[question].text,
                    metre,
                    _IN_WORDS.get(place, place),
                    _IN_WORDS.get(winner, winner),
                    votes[most],
                    votes.total(),
                    most in tallies[key].house,
                    tuple(tallies[key].shown[most]),
                )
            )
    return tuple(found)


_IN_WORDS = {
    **dict.fromkeys(("2r", "2.r", "4.r", "4r 8", "8.r 16"), "one rest"),
    **dict.fromkeys(("4r 4r", "4.r 4.r", "4r 8r", "8r 8r 8", "8r 16r 16"), "two rests"),
    "8 8r 8": "eighth, rest, eighth",
    "8 16r 16": "eighth, sixteenth rest, sixteenth",
}
"""What is said for the signs in which questions and figures are written down here."""


def _winner(question: str, counted: Counter[str]) -> str:
    answer, most = max(counted.items(), key=itemgetter(1))  # Counter's own imports heapq
    asked = QUESTIONS[question]
    enough = most >= asked.least and most * 100 >= asked.share * counted.total()
    return answer if enough else ""


def _tallies(observed: Sequence[ObservedBar], *, every: bool = False) -> dict[_Key, _Tally]:
    """The votes on every question, by metre and place, and by place in any metre.

    Where all agree with the house votes are left out, but for those who want ``every`` one.
    """
    found: dict[_Key, _Tally] = defaultdict(_Tally)
    for bar, cast in zip(observed, value_ballots(observed, every=every), strict=True):
        if bar.has_beams:
            grid = bar_grid(bar.written_in, bar.length, bar.shift)
            cast += beam_ballots(grid, bar.stems, bar.beams)
        for question, place, answer, is_house in dict.fromkeys(cast):
            asked = bar.metre if question == "plain beats" else bar.written_in
            tally = found[question, str(asked), place]
            tally.votes[answer] += bar.times
            if is_house:
                tally.house.add(answer)
            shown = tally.shown.setdefault(answer, [])
            shown += bar.places[: 2 - len(shown)]
    for (question, _, place), tally in list(found.items()):
        found[question, "", place].votes.update(tally.votes)
    return found
