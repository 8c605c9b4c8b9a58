"""One theme, a sheet of exercises: varied, named, graded, counted, with the answers.

Conventions
-----------
The theme comes first, the exercises after it, easiest first unless the plan says otherwise.
Grades are those of :mod:`rhythm.practice.difficulty`. The same theme, plan and seed give the same
sheet on any machine.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import accumulate

from gmpy2 import mpq

from rhythm.exact.errors import MusicError, Place, ProofError, RemetreError, RequestError
from rhythm.practice.answer_key import answer_sheet
from rhythm.practice.builtin_plan import builtin_plan
from rhythm.practice.counting import count as counted
from rhythm.practice.difficulty import difficulty
from rhythm.practice.recipes import Exercise, make
from rhythm.practice.sheet_layout import lay_out, lone_part, open_ended, rhythm_only
from rhythm.practice.sheet_plan import Plan, Recipe, read_grades, read_plan
from rhythm.practice.system_breaks import with_systems
from rhythm.score.concatenation import extract
from rhythm.score.model import Event, Part, Pitch, Score
from rhythm.score.select import Bars, select

__all__ = ["Sheet", "exercises"]


@dataclass(frozen=True, slots=True)
class Sheet:
    """A practice sheet: the score, the theme it is made of, and its exercises in order.

    ``left_out`` says why exercises of the built-in plan are not there.
    """

    score: Score
    title: str
    theme: Exercise
    exercises: tuple[Exercise, ...]
    left_out: tuple[str, ...] = ()

    @property
    def answers(self) -> str:
        """The answer sheet, in Markdown: durations, sums bar by bar, arithmetic."""
        numbers = [bar.number for bar in self.score.bars]
        return answer_sheet(self.title, [self.theme, *self.exercises], numbers)


def exercises(
    theme: Score,
    plan: Plan | str | os.PathLike[str] | None = None,
    *,
    seed: int | None = None,
    only: str | None = None,
    count: str | None = None,
    most: int | None = None,
    grades: tuple[mpq, mpq] | str | None = None,
    bars: str | Bars | None = None,
    part: str | None = None,
    voice: str | None = None,
    title: str | None = None,
    proof: Callable[[Score], object] | None = None,
) -> Sheet:
    """A sheet of exercises made of ``theme``.

    ``plan`` (a checked plan or the path of one; None: a built-in one that fits the theme's metre)
    says which; the other arguments override its settings. ``seed`` draws what is drawn by lot;
    ``only`` "rhythm" takes the pitches away; ``count`` (numbers, takadimi, gordon, kodaly) writes
    syllables under the notes; ``most``
    keeps so many exercises, spread from easy to hard; ``grades`` keeps those between two grades,
    also written ``2-6.5``. ``bars`` (``5-8``), ``part`` and ``voice`` choose the theme in the
    score; by default it is the first part that sounds. ``title`` is by default the plan's, or names
    the theme's. ``proof`` raises MusicError for an exercise that cannot be written; one of the
    built-in plan is then left out.

    Raises RequestError for what there is not, MusicError where a planned exercise cannot be made.
    """
    if isinstance(plan, str | os.PathLike):
        plan = read_plan(plan)
    if isinstance(grades, str):
        grades = read_grades(grades)
    own = _theme(theme, bars, part, voice)
    plan = plan or builtin_plan(own)
    seed = seed if seed is not None else plan.seed or 0
    only, syllables = only or plan.only, count or plan.count
    if only not in ("", "rhythm"):
        raise RequestError(f"exercises of {only!r} only", legal="rhythm, or leave it out")
    first = Exercise("Theme", "as it is", own, difficulty(own), Recipe("theme", ""))
    pitch = None if only else _pitch(own)
    made, left_out = _made(plan, first, seed, pitch)
    settings = most or plan.most, grades or plan.grades
    chosen = _chosen(plan, made, *settings)
    while failed := _unwritable(plan, chosen, bool(only), proof):
        left_out += failed.values()
        made = [each for each in made if id(each) not in failed]
        chosen = _chosen(plan, made, *settings)
    if not chosen:
        raise MusicError(
            "no exercise is left" if made else "no exercise can be made of this theme",
            legal="widen the grades, or plan others",
        )
    if only:
        first = replace(first, score=rhythm_only(first.score))
        chosen = [replace(each, score=rhythm_only(each.score)) for each in chosen]
    named = title or plan.title or (f"Exercises on {theme.title}" if theme.title else "Exercises")
    score = _sheet(first, chosen, named, syllables)
    _prove(theme, score)
    return Sheet(score, named, first, tuple(chosen), tuple(left_out))


def _theme(score: Score, bars: str | Bars | None, part: str | None, voice: str | None) -> Score:
    """The chosen part, voice and bars as a score of one part."""
    wanted = select(score, bars=bars, part=part, voice=voice)
    for index in wanted.parts:
        if part is None and not _sounds(score.parts[index]):
            continue
        alone = open_ended(lone_part(score, index, voice))
        return alone if wanted.bars is None else extract(alone, *wanted.run)
    raise MusicError("the score has no notes to make exercises of")


def _sounds(part: Part) -> bool:
    return any(event.visible and not event.is_rest for line in part.voices for event in line.events)


def _pitch(theme: Score) -> Pitch | None:
    """The pitch that drills are written on: the first of the theme."""
    return next((event.pitches[0] for _, _, event in theme.events() if event.pitches), None)


def _made(
    plan: Plan, theme: Exercise, seed: int, pitch: Pitch | None
) -> tuple[list[Exercise], list[str]]:
    """Every exercise of the plan that can be made and is not the theme or one made before."""
    from rhythm.check.ledger import check

    made: list[Exercise] = []
    left_out: list[str] = []
    sound = check(theme.score).is_right
    seen = {_fingerprint(theme.score)}
    for recipe in plan.recipes:
        try:
            found = make(recipe, theme.score, seed, pitch)
        except (MusicError, RequestError) as error:
            if not recipe.optional:
                raise _located(error, plan, recipe) from None
            left_out.append(f"{recipe.verb} {recipe.argument}: {error}")
            continue
        for each in found:
            print_ = _fingerprint(each.score)
            faults = check(each.score).faults if sound else ()
            problem = str(faults[0]) if faults else "changes nothing" if print_ in seen else ""
            if problem and recipe.optional:
                left_out.append(f"{recipe.verb} {recipe.argument}: {problem}")
                continue
            if faults:
                raise _located(MusicError(problem), plan, recipe)
            seen.add(print_)
            made.append(each)
    return made, left_out


def _unwritable(
    plan: Plan,
    chosen: Sequence[Exercise],
    bare: bool,
    proof: Callable[[Score], object] | None,
) -> dict[int, str]:
    """Optional exercises that do not stand the proof, by identity, and why."""
    found: dict[int, str] = {}
    if proof is None:
        return found
    for each in chosen:
        score = rhythm_only(each.score) if bare else each.score
        try:
            proof(lay_out([(each.heading, score)], each.heading))
        except (MusicError, ProofError) as error:
            if not each.recipe.optional:
                raise _located(error, plan, each.recipe) from None
            found[id(each)] = f"{each.recipe.verb} {each.recipe.argument}: {error.problem}"
    return found


def _located(error: RemetreError, plan: Plan, recipe: Recipe) -> RemetreError:
    """The error with the plan and the exercise in front of it."""
    if not recipe.number:
        return error
    where = f"exercise {recipe.number} ({recipe.verb} {recipe.argument})"
    place = str(error.place)
    problem = f"{where}, {place}: {error.problem}" if place else f"{where}: {error.problem}"
    return type(error)(problem, place=Place(plan.path), legal=error.legal)


def _fingerprint(score: Score) -> tuple[object, ...]:
    """What makes two exercises the same to a player: metres, onsets, values and beams."""
    return (
        tuple((bar.metre, bar.length) for bar in score.bars),
        tuple(_seen(event) for _, _, event in score.events()),
    )


def _seen(event: Event) -> tuple[object, ...]:
    beams = tuple(piece.beams for piece in event.pieces)
    return event.onset, event.duration, event.is_rest, event.pitches, beams, event.additions


def _chosen(
    plan: Plan,
    made: Sequence[Exercise],
    most: int | None,
    grades: tuple[mpq, mpq] | None,
) -> list[Exercise]:
    """Those within the grades, in order, thinned out evenly to ``most``."""
    kept = [each for each in made if _within(each, each.recipe.grades or grades)]
    ranked = sorted(kept, key=lambda each: each.difficulty.grade)
    if most is not None and most < len(ranked):
        if most == 1:
            ranked = ranked[:1]
        else:
            ranked = [ranked[i * (len(ranked) - 1) // (most - 1)] for i in range(most)]
    if plan.order == "plan":
        wanted = {id(each) for each in ranked}
        return [each for each in kept if id(each) in wanted]
    return ranked


def _within(exercise: Exercise, grades: tuple[mpq, mpq] | None) -> bool:
    return grades is None or grades[0] <= exercise.difficulty.grade <= grades[1]


def _sheet(theme: Exercise, chosen: Sequence[Exercise], title: str, syllables: str) -> Score:
    sections = [(theme.heading, theme.score)]
    sections += [(f"{i}. {each.heading}", each.score) for i, each in enumerate(chosen, start=1)]
    sheet = lay_out(sections, title)
    if syllables:
        sheet = counted(sheet, syllables)
    lengths = [len(section.bars) for _, section in sections]
    return with_systems(sheet, [0, *accumulate(lengths[:-1])])


def _prove(theme: Score, sheet: Score) -> None:
    """Refuse a sheet in which a bar does not add up, unless the theme had that fault already."""
    from rhythm.check.ledger import check

    if not check(theme).is_right:
        return
    faults = check(sheet).faults
    if faults:
        raise ProofError(f"{len(faults)} bars of the sheet do not add up, the first: {faults[0]}")
