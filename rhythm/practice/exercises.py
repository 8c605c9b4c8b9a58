"""One theme, a sheet of exercises: varied, named, put in order, counted, with the answers.

Conventions
-----------
The theme comes first, the exercises after it, easiest first unless the plan says otherwise. Without
a plan, the theme is its first phrase (:mod:`rhythm.practice.phrases`) and eight exercises are made.
Levels are those of :mod:`rhythm.practice.difficulty`. The same theme, plan and seed give the same
sheet on any machine.
"""

from __future__ import annotations

import os
from bisect import bisect_right
from collections.abc import Callable, Sequence
from dataclasses import replace

from gmpy2 import mpq

from rhythm.exact.errors import MusicError, Place, ProofError, RemetreError, RequestError
from rhythm.formats.musicxml.titles import in_words
from rhythm.notate.manner import in_manner
from rhythm.practice.builtin_plan import builtin_plan, ear_plan
from rhythm.practice.difficulty import difficulty
from rhythm.practice.instrument_parts import for_instrument
from rhythm.practice.instruments import Instrument, instrument_named
from rhythm.practice.likeness import alike, values_of
from rhythm.practice.page_room import fits
from rhythm.practice.phrases import LONGEST, SHORT, phrase_of
from rhythm.practice.players import players_named
from rhythm.practice.recipes import Exercise, make
from rhythm.practice.sheet import Sheet
from rhythm.practice.sheet_layout import (
    lay_out,
    lone_part,
    open_ended,
    rhythm_only,
    says_tempo,
    unrepeated,
)
from rhythm.practice.sheet_plan import Plan, Recipe, read_levels, read_plan
from rhythm.practice.steps import around, checked_steps, hardest_bar
from rhythm.practice.task import hand_of
from rhythm.score.concatenation import extract
from rhythm.score.model import Mark, Part, Pitch, Score
from rhythm.score.select import Bars, select

__all__ = ["Sheet", "exercises"]

_ALIKE = ("steps", "players")
"""Verbs whose exercises go on from one another, and are meant to be alike."""

_USUAL = 8
"""So many exercises are made where no plan says how many: a page or two."""

_FEWEST = 2
"""So many at least, however long they are."""


def exercises(
    theme: Score,
    plan: Plan | str | os.PathLike[str] | None = None,
    *,
    seed: int | None = None,
    only: str | None = None,
    count: str | None = None,
    most: int | None = None,
    levels: tuple[mpq, mpq] | str | None = None,
    bars: str | Bars | None = None,
    part: str | None = None,
    voice: str | None = None,
    title: str | None = None,
    instrument: str | None = None,
    steps: int | None = None,
    players: str | None = None,
    listen: int | None = None,
    beats: bool | None = None,
    manner: str | Score = "source",
    proof: Callable[[Score], object] | None = None,
) -> Sheet:
    """A sheet of exercises made of ``theme``.

    ``plan`` (a checked plan or the path of one; None: a built-in one that fits the theme's metre)
    says which; the other arguments override its settings. ``seed`` draws what is drawn by lot;
    ``only`` "rhythm" takes the pitches away; ``count`` (numbers, takadimi, gordon, kodaly) writes
    syllables under the notes; ``most``
    keeps so many exercises, spread from easy to hard (8 where there is no plan); ``levels`` keeps
    those between two levels, also written ``2-6.5``. ``bars`` (``5-8``; ``1-`` for all), ``part``
    and ``voice`` choose the theme in the score; by default it is the first part that sounds and,
    where there is no plan, its first phrase. ``title`` is by default the plan's, or names
    the theme's. ``instrument`` (``clarinet``) writes all in its clef, key and compass
    (:mod:`rhythm.practice.instruments`). ``steps`` (4 to 6) makes so many steps to the hardest bar
    instead, with the bars around it for the theme. ``players`` (``flute, clarinet: division,
    clapping``) makes a score for a mixed class instead (:mod:`rhythm.practice.players`). ``listen``
    makes so many tasks for the ear instead, from clear to close. ``beats`` gives every section a
    bar of count-in and the beat on a line under it. ``manner`` says how what handbooks leave open
    is written: as the ``source``'s editor did, as the ``house`` does, or as the editor of another
    score. ``proof`` raises MusicError for an exercise
    that cannot be written. What cannot be made or written, and what is too like the theme or an
    exercise before it (fewer than one value in five differs), is left out, and the sheet says why.

    Raises RequestError for what there is not in the score or in a plan, MusicError where no
    exercise is left.
    """
    from rhythm.check.ledger import check

    if isinstance(plan, str | os.PathLike):
        plan = read_plan(plan)
    if isinstance(levels, str):
        levels = read_levels(levels)
    theme = in_manner(theme, manner)
    phrased = plan is None and steps is None
    if steps is not None:
        plan = _only(plan, Recipe("steps", str(checked_steps(steps))), "steps")
    if players is not None:
        plan = _only(plan, Recipe("players", _line_up(players)), "players")
        phrased = True
    if listen is not None:
        plan = _only(plan, None, "tasks for the ear")
    sized = phrased and bars is None and most is None and players is None and listen is None
    own = _theme(theme, bars, part, voice, LONGEST if phrased else None)
    if sized and not _has_room(own, beats=bool(beats)):
        own = _theme(theme, bars, part, voice, SHORT)
    if steps is not None and bars is None:
        own = around(own, hardest_bar(own))
    heard = ""
    if listen is not None:
        own, heard = _to_hear(own)
        plan = ear_plan(own, listen)
    sound = check(theme).is_right
    most = most or (plan.most if plan is not None else _USUAL)
    plan = plan or builtin_plan(own)
    instrument = instrument or plan.instrument
    player = instrument_named(instrument) if instrument else None
    moved = ""
    if player is not None:
        own, moved = for_instrument(own, player)
    seed = seed if seed is not None else plan.seed or 0
    only, syllables = only or plan.only, count or plan.count
    if only not in ("", "rhythm"):
        raise RequestError(f"exercises of {only!r} only", legal="rhythm, or leave it out")
    first = Exercise("Theme", "as it is", own, difficulty(own), Recipe("theme", ""))
    pitch = None if only else _pitch(own)
    made, left_out = _made(plan, first, seed, pitch, syllables or "numbers")
    settings = most, levels or plan.levels
    chosen = _chosen(plan, made, *settings)

    def alone(each: Exercise) -> Sheet:
        each = _bare(each) if only else each
        beaten = plan.beats if beats is None else beats
        return Sheet("", each, (each,), (), syllables, (), False, beaten)

    while failed := _unwritable(chosen, bool(only), proof, alone, sound):
        left_out += failed.values()
        made = [each for each in made if id(each) not in failed]
        chosen = _chosen(plan, made, *settings)
    notes = [heard, moved]
    if sized:
        kept = _on_two_pages(
            first, chosen, lambda fewer: _chosen(plan, made, fewer, settings[1]), alone
        )
        if len(kept) < len(chosen):
            notes.append(f"fewer than {len(chosen)} exercises: more would not fit two pages")
        chosen = kept
    if not chosen:
        raise MusicError(
            "no exercise is left" if made else "no exercise can be made of this theme",
            legal="widen the levels, or plan others",
        )
    if only:
        first = replace(first, score=rhythm_only(first.score))
        chosen = [_bare(each) for each in chosen]
    named = title or plan.title or _title(theme, player, plan.together)
    notes += [each.told for each in chosen]
    sheet = Sheet(
        named,
        first,
        tuple(chosen),
        tuple(left_out),
        syllables,
        tuple(filter(None, notes)),
        plan.opens,
        plan.beats if beats is None else beats,
    )
    return _sound(sheet) if sound else sheet


def _to_hear(theme: Score) -> tuple[Score, str]:
    """The theme in one voice, that which carries the rhythm, and what is said of it."""
    voice, where = hand_of(theme)
    return (lone_part(theme, 0, voice.name), f"what is played is {where}") if where else (theme, "")


def _has_room(theme: Score, *, beats: bool) -> bool:
    """Whether the usual number of exercises as long as the theme would fit two pages.

    One more is counted, since augmentation takes twice as much.
    """
    each = Exercise("Theme", "as it is", theme, difficulty(theme), Recipe("theme", ""))
    (section,) = Sheet("", each, (), beats=beats).sections
    return fits([section] * (_USUAL + 2))


def _on_two_pages(
    first: Exercise,
    chosen: list[Exercise],
    choose: Callable[[int], list[Exercise]],
    alone: Callable[[Exercise], Sheet],
) -> list[Exercise]:
    """So many of the exercises that they fit two pages with the theme, two at least."""
    drawn: dict[int, tuple[tuple[str, Score], ...]] = {}

    def sections(each: Exercise) -> tuple[tuple[str, Score], ...]:
        if id(each) not in drawn:
            drawn[id(each)] = alone(each).sections
        return drawn[id(each)]

    while len(chosen) > _FEWEST and not fits(
        section for each in (first, *chosen) for section in sections(each)
    ):
        chosen = choose(len(chosen) - 1)
    return chosen


def _only(plan: Plan | None, recipe: Recipe | None, word: str) -> Plan | None:
    """A plan of one recipe; raises RequestError where there is another plan."""
    if plan is not None:
        raise RequestError(
            f"a plan and {word} at once", legal=f"one of the two; a plan can have {word} in it"
        )
    return None if recipe is None else Plan((recipe,), order="plan")


def _line_up(players: str) -> str:
    return ", ".join(map(str, players_named(players)))


def _title(theme: Score, player: Instrument | None, together: bool) -> str:
    name = in_words(theme)
    if together:
        return f"{name}, for a mixed class" if name else "For a mixed class"
    on = f"Exercises on {name}" if name else "Exercises"
    return on if player is None else f"{on}, for {player.name}"


def _theme(
    score: Score,
    bars: str | Bars | None,
    part: str | None,
    voice: str | None,
    longest: int | None,
) -> Score:
    """The chosen part, voice and bars as a score of one part.

    Where no bars are chosen it is a phrase of the ``longest`` number of bars, or all for None.
    """
    wanted = select(score, bars=bars, part=part, voice=voice)
    for index in wanted.parts:
        if part is None and not _sounds(score.parts[index]):
            continue
        alone = open_ended(lone_part(score, index, voice))
        if wanted.bars is not None:
            return extract(alone, *wanted.run)
        if longest is None:
            return alone
        return unrepeated(phrase_of(alone, longest))
    raise MusicError("the score has no notes to make exercises of")


def _bare(exercise: Exercise) -> Exercise:
    """The exercise without pitches."""
    task = exercise.task
    if task is not None:
        sounds = tuple((name, rhythm_only(music)) for name, music in task.sounds)
        pupil, key = rhythm_only(task.pupil), rhythm_only(task.key)
        task = replace(task, pupil=pupil, key=key, sounds=sounds)
    return replace(exercise, score=rhythm_only(exercise.score), task=task)


def _sounds(part: Part) -> bool:
    return any(event.visible and not event.is_rest for line in part.voices for event in line.events)


def _pitch(theme: Score) -> Pitch | None:
    """The pitch that drills are written on: the first of the theme."""
    return next((event.pitches[0] for _, _, event in theme.events() if event.pitches), None)


def _made(
    plan: Plan, theme: Exercise, seed: int, pitch: Pitch | None, system: str
) -> tuple[list[Exercise], list[str]]:
    """Every exercise of the plan that can be made and is unlike the theme and those before."""
    from rhythm.check.ledger import check

    made: list[Exercise] = []
    left_out: list[str] = []
    sound = check(theme.score).is_right
    seen = [("the theme", values_of(theme.score))]
    for recipe in plan.recipes:
        try:
            found = make(recipe, theme.score, seed, pitch, system)
        except RequestError as error:
            if not recipe.optional:
                raise _located(error, plan, recipe) from None
            left_out.append(f"{_asked(recipe)}: {error}")
            continue
        except MusicError as error:
            left_out.append(f"{_asked(recipe)}: {error}")
            continue
        except RemetreError:
            raise
        except Exception as error:  # a defect of ours loses an exercise, never the sheet
            left_out.append(f"{_asked(recipe)}: {_defect(error)}")
            continue
        for each in found:
            each = _in_tempo(each, theme.score)
            faults = check(each.score).faults if sound else ()
            values = values_of(each.score)
            twin = next((name for name, other in seen if alike(values, other)), "")
            twin = "" if each.task is not None or recipe.verb in _ALIKE else twin
            problem = str(faults[0]) if faults else f"too much like {twin}" if twin else ""
            if problem:
                left_out.append(f"{each.heading}: {problem}")
                continue
            seen.append((each.heading, values))
            made.append(each)
    return made, left_out


def _in_tempo(exercise: Exercise, theme: Score) -> Exercise:
    """The exercise in the theme's tempo, where it says none of its own and has the same metre."""
    opening = exercise.score.bars[0]
    said = [
        mark for mark in theme.parts[0].marks
        if says_tempo(mark) and mark.bar == 0 and mark.onset <= theme.bars[0].start
    ]  # fmt: skip
    silent = not any(says_tempo(mark) for part in exercise.score.parts for mark in part.marks)
    if not said or not silent or exercise.task or opening.metre != theme.bars[0].metre:
        return exercise
    first, *others = exercise.score.parts
    shown = next((mark for mark in said if mark.metronome is not None), said[0])
    kind = "sound" if shown.metronome is None else "metronome"
    mark = Mark(
        opening.start, 0, kind, order=-9, metronome=shown.metronome,
        tempo=next((mark.tempo for mark in said if mark.tempo is not None), None),
    )  # fmt: skip
    first = first.replace(marks=(mark, *first.marks))
    return replace(exercise, score=exercise.score.replace(parts=(first, *others)))


def _unwritable(
    chosen: Sequence[Exercise],
    bare: bool,
    proof: Callable[[Score], object] | None,
    alone: Callable[[Exercise], Sheet],
    sound: bool,
) -> dict[int, str]:
    """Exercises that cannot be laid out and counted or do not stand the proof, and why.

    They are told by identity. ``alone`` makes a sheet of one exercise; where the theme is
    ``sound`` every bar of it has to add up.
    """
    from rhythm.check.ledger import check

    found: dict[int, str] = {}
    for each in chosen:
        try:
            sheet = alone(each)
            faults = [fault for fault in check(sheet.key).faults if sound]
            if faults:
                raise ProofError(str(faults[0]))
            _ = sheet.sections, sheet.key_sections, sheet.score, sheet.answers, sheet.tracks()
            for score in dict.fromkeys((each.pupil, each.key)):
                seen = rhythm_only(score) if bare else score
                if proof is not None:
                    proof(lay_out([(each.heading, seen)], each.heading))
        except (MusicError, ProofError) as error:
            found[id(each)] = f"{each.heading}: {error.problem}"
        except RemetreError:
            raise
        except Exception as error:  # as above
            found[id(each)] = f"{each.heading}: {_defect(error)}"
    return found


def _asked(recipe: Recipe) -> str:
    """What a recipe asks for, in its own words."""
    task = f"task {recipe.task}" if recipe.task else ""
    made = "" if task and recipe.verb == "theme" else f"{recipe.verb} {recipe.argument}".strip()
    return " ".join(filter(None, (made, task)))


def _defect(error: Exception) -> str:
    return f"it could not be made, by a defect of ours ({type(error).__name__}: {error})"


def _located(error: RemetreError, plan: Plan, recipe: Recipe) -> RemetreError:
    """The error with the plan and the exercise in front of it."""
    if not recipe.number:
        return error
    where = f"exercise {recipe.number} ({recipe.verb} {recipe.argument})"
    place = str(error.place)
    problem = f"{where}, {place}: {error.problem}" if place else f"{where}: {error.problem}"
    return type(error)(problem, place=Place(plan.path), legal=error.legal)


def _chosen(
    plan: Plan,
    made: Sequence[Exercise],
    most: int | None,
    levels: tuple[mpq, mpq] | None,
) -> list[Exercise]:
    """Those within the levels, in order, thinned out evenly to ``most``; tasks stand last.

    Tasks of the built-in plan take no more than a third of the places.
    """
    kept = [each for each in made if _within(each, each.recipe.levels or levels)]
    played = _ranked([each for each in kept if each.task is None or not each.recipe.optional])
    asked = [each for each in kept if each.task is not None and each.recipe.optional]
    if most is not None:
        asked = asked[: most // 3]
        played = _thinned(played, most - len(asked))
    ranked = [*played, *asked]
    if plan.order == "plan":
        wanted = {id(each) for each in ranked}
        return [each for each in kept if id(each) in wanted]
    return ranked


def _ranked(made: Sequence[Exercise]) -> list[Exercise]:
    """Easiest first; steps that lead on from one another stay together."""
    first = {id(each): each.difficulty.exact for each in made}
    for recipe in {id(each.recipe): each.recipe for each in made if each.recipe.verb in _ALIKE}:
        chain = [each for each in made if id(each.recipe) == recipe]
        first |= dict.fromkeys(map(id, chain), min(first[id(each)] for each in chain))
    return sorted(made, key=lambda each: first[id(each)])


def _thinned(ranked: list[Exercise], most: int) -> list[Exercise]:
    """So many at most, spread evenly from the first to the last."""
    if most >= len(ranked):
        return ranked
    if most < 2:
        return ranked[:most]
    return [ranked[i * (len(ranked) - 1) // (most - 1)] for i in range(most)]


def _within(exercise: Exercise, levels: tuple[mpq, mpq] | None) -> bool:
    return levels is None or levels[0] <= exercise.difficulty.level <= levels[1]


def _sound(sheet: Sheet) -> Sheet:
    """The sheet without the exercises in which, as they stand on it, a bar does not add up."""
    from rhythm.check.ledger import check

    while faults := check(key := sheet.key).faults:
        starts = [mark.bar for mark in key.parts[0].marks if mark.kind == "heading"]
        _, wrong = sheet.made[bisect_right(starts, faults[0].index) - 1]
        kept = tuple(each for each in sheet.exercises if each is not wrong)
        if not kept or len(kept) == len(sheet.exercises):
            raise ProofError(f"a bar of the sheet does not add up: {faults[0]}")
        left_out = (*sheet.left_out, f"{wrong.heading}: {faults[0]}")
        sheet = replace(sheet, exercises=kept, left_out=left_out)
    return sheet
