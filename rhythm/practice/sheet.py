"""The sheet that exercises are handed out on: the pupil's, the teacher's key, and what is heard.

Conventions
-----------
Sections are counted in order: the theme, where it opens the sheet, has no number, the exercises
have theirs from 1. Whatever is written or played is made anew from the exercises when it is asked
for.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from itertools import accumulate
from typing import cast

from rhythm.exact.frozen import dataclass
from rhythm.practice.answer_key import answer_sheet
from rhythm.practice.counting import count as counted
from rhythm.practice.counting import count_in_place
from rhythm.practice.practice_track import (
    LADDER,
    at_tempo,
    read_ladder,
    with_beats,
    with_count_in,
)
from rhythm.practice.recipes import Exercise
from rhythm.practice.sheet_layout import (
    alone,
    lay_out,
    numbered,
    says_tempo,
    unrepeated,
    with_hidden_line,
)
from rhythm.practice.syllables import Counting
from rhythm.practice.system_breaks import with_systems
from rhythm.score.model import Part, Score

__all__ = ["Sheet"]

_TOLD_BY_COUNTING = (
    "barlines", "signature", "fill", "mistakes", "syllables", "rewrite", "dictation",
)  # fmt: skip
"""Tasks whose answer the counting would give away: it stands in the key alone."""


@dataclass(frozen=True, slots=True)
class Sheet:
    """A practice sheet: its title, the theme it is made of, and its exercises in order.

    ``left_out`` says why exercises are not there that the plan asked for, ``notes`` what else was
    done to the theme. ``syllables`` names the way of counting, "" for none; the theme ``opens``
    the sheet, or does not; with ``beats`` every section has a bar of count-in and the beat under
    it.
    """

    title: str
    theme: Exercise
    exercises: tuple[Exercise, ...]
    left_out: tuple[str, ...] = ()
    syllables: str = ""
    notes: tuple[str, ...] = ()
    opens: bool = True
    beats: bool = False

    @property
    def made(self) -> tuple[tuple[int, Exercise], ...]:
        """What stands on the sheet, with its number: the theme, 0, where it ``opens``, and all."""
        return _counted_up((self.theme,) if self.opens else (), self.exercises)

    @property
    def sections(self) -> tuple[tuple[str, Score], ...]:
        """The theme and every exercise as a score of its own, each under its heading.

        A page sets them one after another, so that no signature announces the next exercise. After
        a score for several players comes the part of each.
        """
        found = []
        for number, each in self.made:
            pupil = self._prepared(each.pupil, each, self.syllables)
            found.append((_numbered(number, each), alone(each.heading, pupil, self._under)))
            if each.recipe.verb == "players":
                found += [
                    (part.name, alone(part.name, _part_of(pupil, part), self._under))
                    for part in pupil.parts
                ]
        return tuple(found)

    @property
    def key_sections(self) -> tuple[tuple[str, Score], ...]:
        """The same with nothing missing, counted, for the teacher."""
        found = []
        for number, each in self.made:
            system = self.syllables or "numbers"
            key = self._prepared(each.key, each, system, key=True)
            found.append((_numbered(number, each), alone(each.heading, key, self._under)))
        return tuple(found)

    @property
    def key_words(self) -> tuple[str, ...]:
        """What the key says in words under the heading of each of its sections, "" for nothing."""
        return tuple(each.task.answer if each.task is not None else "" for _, each in self.made)

    @property
    def score(self) -> Score:
        """The pupil's sheet as one score."""
        made = [
            (_numbered(number, each), self._prepared(each.pupil, each, self.syllables))
            for number, each in self.made
        ]
        return _laid_out(made, self.title, self._under_all)

    @property
    def key(self) -> Score:
        """The teacher's key as one score: every exercise with nothing missing, counted."""
        system = self.syllables or "numbers"
        made = [
            (_numbered(number, each), self._prepared(each.key, each, system, key=True))
            for number, each in self.made
        ]
        return _laid_out(made, f"Key: {self.title}", self._under_all)

    def _prepared(self, section: Score, each: Exercise, system: str, *, key: bool = False) -> Score:
        """A section counted, where it is, and with a bar of count-in, where the sheet has them.

        Numbers stand in a row of words, each at its own place, so that beats on which nothing
        begins have one of their own; other syllables are a verse under the notes.
        """
        if system and (key or each.recipe.task not in _TOLD_BY_COUNTING):
            if system == "numbers":
                section = count_in_place(section)
            else:
                section = counted(section, cast(Counting, system))
        return with_count_in(section) if self.beats and _is_beaten(each) else section

    def _under(self, section: Score) -> Score:
        """The beat under a section, where the sheet and the section have it."""
        waiting = 0
        while waiting < len(section.bars) and section.bars[waiting].number == "X":
            waiting += 1
        return with_beats(section, waiting) if waiting else section

    def _under_all(self, section: Score) -> Score:
        """The same in a score of all sections, in which each has a line for it, seen or not."""
        under = self._under(section)
        return with_hidden_line(section) if self.beats and under is section else under

    def tracks(self, ladder: str = LADDER) -> tuple[tuple[str, Score], ...]:
        """What to practise with, one score for each file: its name, and what is heard.

        Every exercise comes at each tempo of the ladder (``60% 80% 100%``, or beats a minute as in
        ``60 72 84``) after a bar to count in. Of a task for the ear there is what is played to the
        class, three times over, and each version by itself. Raises RequestError for a ladder that
        is none.
        """
        return tuple((name, _track(turns)) for name, turns, _ in self._heard(ladder))

    def track(self, ladder: str = LADDER) -> Score:
        """The same in one; of a task for the ear there is only what is played to the class."""
        made = [_track(turns) for _, turns, aloud in self._heard(ladder) if aloud]
        return lay_out([("", music) for music in made], self.title)

    def _heard(self, ladder: str) -> Iterator[tuple[str, list[Score], bool]]:
        """What is heard: its name, its turns, and whether it is played to all."""
        rungs = read_ladder(ladder)
        for number, each in self.made:
            if each.task is not None and each.task.sounds:
                for name, music in each.task.sounds:
                    aloud = name == "play"
                    yield f"{number:02} {name}", [music] * (3 if aloud else 1), aloud
            else:
                slow = [at_tempo(each.key, rung) for rung in rungs]
                yield f"{number:02} {_short(each.heading)}", slow, True

    @property
    def size(self) -> str:
        """How much it is: ``8 exercises, 34 bars``."""
        exercises, bars = len(self.exercises), sum(len(e.score.bars) for e in self.exercises)
        return f"{exercises} exercise{'s' * (exercises != 1)}, {bars} bar{'s' * (bars != 1)}"

    @property
    def answers(self) -> str:
        """The answer sheet, in Markdown: durations, sums bar by bar, arithmetic."""
        numbers = [
            bar.number for _, each in self.made for bar in numbered(each.pupil.parts[0].bars)
        ]
        return answer_sheet(self.title, self.made, numbers)


def _is_beaten(exercise: Exercise) -> bool:
    """Whether the beat may be seen: not where bar lines or the signature are asked for."""
    return exercise.recipe.task not in ("barlines", "signature")


def _numbered(number: int, exercise: Exercise) -> str:
    return f"{number}. {exercise.heading}" if number else exercise.heading


def _laid_out(
    sections: Sequence[tuple[str, Score]], title: str, under: Callable[[Score], Score]
) -> Score:
    lengths = [len(section.bars) for _, section in sections]
    return with_systems(lay_out(sections, title, under), [0, *accumulate(lengths[:-1])])


def _track(turns: Sequence[Score]) -> Score:
    """These one after another, each after a bar to count in."""
    return lay_out([("", with_count_in(unrepeated(turn))) for turn in turns], "")


def _short(heading: str) -> str:
    """A heading as the name of a file."""
    return " ".join("".join(c if c.isalnum() else " " for c in heading.lower()).split())[
        :40
    ].strip()


def _counted_up(
    opening: Sequence[Exercise], made: Sequence[Exercise]
) -> tuple[tuple[int, Exercise], ...]:
    """Everything with its number; where no theme opens the sheet a lone exercise has none."""
    first = 1 if opening or len(made) > 1 else 0
    return (*((0, each) for each in opening), *enumerate(made, start=first))


def _part_of(score: Score, part: Part) -> Score:
    """The part of one player, as a score of its own, with the tempo of the first."""
    tempi = [mark for mark in score.parts[0].marks if says_tempo(mark)]
    if not any(map(says_tempo, part.marks)):
        marks = sorted((*part.marks, *tempi), key=lambda m: (m.bar, m.onset, m.order))
        part = part.replace(marks=tuple(marks))
    return score.replace(parts=(part.replace(name=""),))
