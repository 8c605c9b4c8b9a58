"""From one line of a plan to music: every verb of an exercise, applied to the theme.

Each exercise says in words what was done, and in one line of arithmetic how.

Conventions
-----------
A theme is a score of one part. What is drawn by lot depends on the seed and the exercise alone, by
a hash, so that the same seed gives the same sheet on any machine.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from hashlib import sha256
from typing import Any

from gmpy2 import mpq

from rhythm.exact.errors import RequestError
from rhythm.exact.expressions import evaluate
from rhythm.exact.frozen import dataclass
from rhythm.exact.metre import Metre
from rhythm.exact.time_map import TimeMap
from rhythm.exact.values import format_value, name_value
from rhythm.practice.difficulty import Difficulty, difficulty
from rhythm.practice.drills import Drill, drills, ostinato, two_parts
from rhythm.practice.players import class_score, players_named, roles_of
from rhythm.practice.sheet_layout import numbered
from rhythm.practice.sheet_plan import THEN, Recipe
from rhythm.practice.staff_drills import set_on_staves
from rhythm.practice.steps import steps
from rhythm.practice.tasks import Task, set_task
from rhythm.score.concatenation import extract
from rhythm.score.model import Pitch, Score
from rhythm.score.select import select

__all__ = ["Exercise", "make"]


@dataclass(frozen=True, slots=True)
class Exercise:
    """One exercise: its heading in words, its arithmetic in a line, its music, its difficulty."""

    heading: str
    arithmetic: str
    score: Score
    difficulty: Difficulty
    recipe: Recipe
    task: Task | None = None

    @property
    def told(self) -> str:
        """What is said of it when it is made, "" mostly."""
        return self.arithmetic if self.recipe.verb == "players" else ""

    @property
    def pupil(self) -> Score:
        """What the pupil sees: the music, or the task that was made of it."""
        return self.score if self.task is None else self.task.pupil

    @property
    def key(self) -> Score:
        """What the teacher sees: the music with nothing missing."""
        return self.score if self.task is None else self.task.key


Made = tuple[str, str, Score]


def make(
    recipe: Recipe,
    theme: Score,
    seed: int = 0,
    pitch: Pitch | None = None,
    system: str = "numbers",
) -> list[Exercise]:
    """The exercises of one recipe; a drill can give several.

    ``pitch`` is what drills are written on, a one-line staff where it is None; ``system`` is the
    way of counting that a task asks for. Raises RequestError where the recipe asks for what there
    is not, MusicError where the music does not allow it; both name the exercise.
    """
    music = theme
    if recipe.bars:
        music = extract(theme, *select(theme, bars=recipe.bars).run)
    found = []
    for heading, arithmetic, score in _VERBS[recipe.verb](recipe, music, seed, pitch):
        if recipe.name:
            heading = recipe.name
        if recipe.bars:
            heading += f" (bars {recipe.bars})"
        task = None
        if recipe.task:
            task = set_task(
                recipe.task, score, seed=seed + recipe.number, system=system, near=recipe.near
            )
            of_theme = recipe.verb == "theme" and not recipe.name
            heading = task.asks if of_theme else f"{heading}: {task.asks}"
        found.append(Exercise(heading, arithmetic, score, difficulty(score), recipe, task))
    return found


def _restate(recipe: Recipe, theme: Score, seed: int, pitch: Pitch | None) -> Iterator[Made]:
    from rhythm.restate.restate import restated

    options = dict(recipe.options)
    if "map" in options:
        options["mapping"] = options.pop("map")
    done = restated(theme, recipe.argument, **options)
    lilt = str(options.get("lilt", "trochee"))
    arithmetic = [
        f"{bar_map.source} to {bar_map.written}: {_sent(bar_map.source, points)}"
        for bar_map, points in done.report.points
    ]
    heading = recipe.argument
    if heading in _FEELS:
        heading = _FEELS[heading]
    elif "map" not in recipe.options:
        heading = f"In {heading}"
    if lilt != "trochee" or recipe.argument in ("compound", "triplets"):
        heading += f", {_LILTS.get(lilt, lilt)}"
    if options.get("by") == "beat":
        heading += ", beat by beat"
    yield heading, "; ".join(arithmetic), done.score


def _sent(metre: Metre, points: Sequence[tuple[mpq, mpq]]) -> str:
    """Where a bar's positions go; said of one beat where all beats go the same way."""
    warp = TimeMap(tuple(points))
    node = metre.beat_nodes[0]
    starts = [each.start for each in metre.beat_nodes]
    within = [a for a, _ in points if a <= node.end]
    if len(within) < 2 or within[-1] != node.end:
        within = sorted({*within, node.end})
    alike = all(
        each.length == node.length
        and all(warp(each.start + a) - warp(each.start) == warp(node.start + a) for a in within)
        and all(a - each.start in within for a, _ in points if each.start <= a <= each.end)
        for each in metre.beat_nodes
    )
    if alike and len(starts) > 1:
        sent, to = within, [warp(a) for a in within]
        where = f"in each {name_value(node.length)} "
    else:
        sent, to, where = [a for a, _ in points], [b for _, b in points], ""
    return f"{where}{', '.join(map(format_value, sent))} go to {', '.join(map(format_value, to))}"


_FEELS = {
    "compound": "In compound time",
    "simple": "In simple time",
    "triplets": "In triplets",
    "duplets": "In duplets",
}
_LILTS = {"trochee": "long-short", "iamb": "short-long", "even": "even"}


def _rebar(recipe: Recipe, theme: Score, seed: int, pitch: Pitch | None) -> Iterator[Made]:
    from rhythm.rebar.rebar import pattern_of, rebar

    pattern = pattern_of(recipe.argument)
    done = rebar.outcome(theme, pattern)
    turn = sum((metre.length for metre in pattern.metres), mpq(0))
    terms = " + ".join(format_value(metre.length) for metre in pattern.metres)
    line = f"every value stays; the bar lines stand after {terms}"
    if len(pattern.metres) > 1:
        line += f" = {format_value(turn)}"
    if filled := done.report.data.get("filled"):
        line += f"; {format_value(filled)} of silence fills the last bar"
    yield f"Barred in {pattern}", line, done.score


def _group(recipe: Recipe, theme: Score, seed: int, pitch: Pitch | None) -> Iterator[Made]:
    from rhythm.rebar.group import group

    done = group.outcome(theme, recipe.argument, **recipe.options)
    unit = str(recipe.options.get("unit", "1/8"))
    line = f"groups of {recipe.argument} × {unit}"
    if meeting := done.report.data.get("meeting"):
        line += f" meet the bar line again after {meeting[0]} × {unit}"
    yield f"In groups of {recipe.argument}", line, done.score


def _tuplet(recipe: Recipe, theme: Score, seed: int, pitch: Pitch | None) -> Iterator[Made]:
    from rhythm.rebar.tuplet import parse_ratio, squeeze

    unit = str(recipe.options.get("unit", "1/8"))
    actual, normal = parse_ratio(recipe.argument)
    done = squeeze(theme, recipe.argument, unit, None)
    each = evaluate(unit) * normal / actual
    words = name_value(evaluate(unit))
    line = f"{actual} × {unit} in the time of {normal} × {unit}: each lasts {format_value(each)}"
    yield f"{actual} {words}s in the time of {normal}", line, done.score


def _vary(recipe: Recipe, theme: Score, seed: int, pitch: Pitch | None) -> Iterator[Made]:
    from rhythm.devices.registry import device_named
    from rhythm.devices.vary import varied

    devices = recipe.argument.split(THEN)
    done = varied(select(theme), devices)
    named = [device_named(text) for text in devices]
    heading = ", then ".join(
        device.name.replace("-", " ") + _told(argument) for device, argument in named
    )
    line = ", then ".join(device.summary for device, _ in named)
    line += f": {_first_values(theme)} become {_first_values(done.score)}"
    told = done.report.data.get("told", ())  # nothing where the device changed nothing
    yield heading[0].upper() + heading[1:], "; ".join((line, *told)), done.score


def _told(argument: str) -> str:
    """An argument in the heading: ``(2)``, ``(2), the metre too``."""
    ratio, _, metre = argument.partition(" ")
    if metre == "metre":
        return f" ({ratio}), the metre too"
    return f" ({argument})" if argument else ""


def _first_values(score: Score, most: int = 6) -> str:
    """The first few values of the first voice, rests with an r."""
    events = [event for event in score.parts[0].voices[0].events if event.duration > 0][:most]
    return " ".join(("r" if e.is_rest else "") + format_value(e.duration) for e in events)


def _drill(recipe: Recipe, theme: Score, seed: int, pitch: Pitch | None) -> Iterator[Made]:
    options: dict[str, Any] = dict(recipe.options)
    first = next((bar.metre for bar in theme.bars if bar.metre and bar.metre.length), None)
    text = options.get("metre")
    metre = Metre.parse(text) if text else first or Metre.parse("4/4")
    pulse = evaluate(options["pulse"]) if "pulse" in options else mpq(1, 8)
    kind = options.get("kind", "compositions")
    found = drills(int(recipe.argument), metre, pulse, kind=kind, levels=recipe.levels)
    place = f"{recipe.number}:{_first_values(theme, 64)}"
    for drill in _drawn(found, options.get("take", 1), seed, place):
        cut = _cut(drill, seed, place) if options.get("rests") else ()
        plain = "+".join(f"{beats}/{unit}" for beats, unit in metre.signature)
        heading = f"{len(drill.intervals)} strokes in {plain}: {drill.text}"
        if cut:
            heading += ", with rests"
        total = sum(drill.intervals)
        line = f"{' + '.join(map(str, drill.intervals))} = {total} pulses of {format_value(pulse)}"
        yield heading, line, set_on_staves(theme, drill.score(cut=cut), pitch)


def _cut(drill: Drill, seed: int, place: str) -> tuple[int, ...]:
    """The strokes after which there is a rest: half of those that last longer than a pulse."""
    long = [i for i, interval in enumerate(drill.intervals) if interval > 1]
    long.sort(key=lambda i: sha256(f"{seed}:{place}:{drill.text}:{i}".encode()).digest())
    return tuple(sorted(long[: -(-len(long) // 2)]))


def _drawn(found: tuple[Drill, ...], take: int, seed: int, place: str) -> list[Drill]:
    """So many drills drawn by lot, for this theme and place in the plan, easiest first."""

    def lot(drill: Drill) -> bytes:
        return sha256(f"{seed}:{place}:{drill.text}".encode()).digest()

    chosen = {drill.text for drill in sorted(found, key=lot)[:take]}
    return [drill for drill in found if drill.text in chosen]


def _against(recipe: Recipe, theme: Score, seed: int, pitch: Pitch | None) -> Iterator[Made]:
    from rhythm.devices.patterns import resultant

    sides = recipe.argument.split(":")
    if len(sides) != 2 or not all(side.strip().isdecimal() for side in sides):
        raise RequestError(f"{recipe.argument!r} is not a ratio", legal="write it as 3:2")
    a, b = map(int, sides)
    both = two_parts(a, b, recipe.options.get("turns", 2))
    steps = resultant(a, b)
    line = f"together {' + '.join(map(str, steps))} = {sum(steps)} pulses, then both begin again"
    yield f"{a} against {b}", line, set_on_staves(theme, both, pitch)


def _ostinato(recipe: Recipe, theme: Score, seed: int, pitch: Pitch | None) -> Iterator[Made]:
    from rhythm.exact.cycles import meet
    from rhythm.rebar.group import parse_groups

    steps = parse_groups(recipe.argument)
    unit = evaluate(str(recipe.options.get("unit", "1/8")))
    both = ostinato(theme, steps, unit)
    turn = sum(steps) * unit
    line = f"{recipe.argument} × {format_value(unit)} = {format_value(turn)}"
    metre = next((bar.metre for bar in theme.bars if bar.metre and bar.metre.length), None)
    if metre is not None:
        met = meet(turn, metre.length)
        line += f"; pattern and bar line meet after {met.turns[0]} turns and {met.turns[1]} bars"
    yield f"Over an ostinato of {recipe.argument}", line, both


def _players(recipe: Recipe, theme: Score, seed: int, pitch: Pitch | None) -> Iterator[Made]:
    players = players_named(recipe.argument)
    score, moved = class_score(theme, players)
    line = roles_of(score, players)
    yield "Score", "; ".join((line, *moved)), score


def _steps(recipe: Recipe, theme: Score, seed: int, pitch: Pitch | None) -> Iterator[Made]:
    index, found = steps(theme, int(recipe.argument))
    bar = theme.bars[index]
    named = numbered(theme.parts[0].bars)[index].number
    printed = f", printed {bar.number}," if bar.number != named else ""
    alone = difficulty(extract(theme, index, index)).text
    for number, step in enumerate(found, start=1):
        line = f"bar {named} of the theme{printed} is the hardest: level {alone} by itself"
        yield f"To bar {named}, step {number}. New: {step.new}", line, step.score


def _theme(recipe: Recipe, theme: Score, seed: int, pitch: Pitch | None) -> Iterator[Made]:
    yield "Theme", "the theme as it is", theme


_VERBS: dict[str, Callable[[Recipe, Score, int, Pitch | None], Iterator[Made]]] = {
    "restate": _restate,
    "vary": _vary,
    "rebar": _rebar,
    "group": _group,
    "tuplet": _tuplet,
    "drill": _drill,
    "against": _against,
    "ostinato": _ostinato,
    "players": _players,
    "steps": _steps,
    "theme": _theme,
}
