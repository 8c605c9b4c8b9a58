"""The built-in plan: what a teacher would do with a theme first, by the theme's own metre.

Every exercise is optional: what a theme does not allow, and what would change nothing in it, is
left out.
"""

from __future__ import annotations

from collections import Counter
from typing import Any

from rhythm.exact.errors import RequestError
from rhythm.exact.metre import Metre
from rhythm.practice.near_misses import NEARNESS
from rhythm.practice.sheet_plan import Plan, Recipe
from rhythm.score.model import Score

__all__ = ["builtin_plan", "ear_plan"]

_EITHER = (
    ("vary", "reduction"),
    ("vary", "displacement:1/8"),
    ("vary", "syncopation"),
    ("vary", "retrograde:rhythm"),
    ("vary", "augmentation:2"),
    ("vary", "dotting"),
    ("vary", "embellishment"),
)
_SIMPLE = (
    ("restate", "compound"),
    ("restate", "compound", {"lilt": "iamb"}),
    ("restate", "triplets"),
)
_COMPOUND = (
    ("restate", "simple"),
    ("restate", "duplets"),
    ("vary", "hemiola"),
)
# By the number of beats in the theme's bar: metres it is restated in, and new bar lines.
_BY_BEATS: dict[tuple[bool, int], tuple[tuple[Any, ...], ...]] = {
    (False, 2): (("restate", "3/4"), ("restate", "5/8"), ("rebar", "3/4")),
    (False, 3): (
        ("restate", "4/4"), ("restate", "7/8"), ("restate", "2/4"), ("rebar", "4/4"),
        ("vary", "hemiola"),
    ),
    (False, 4): (
        ("restate", "3/4"), ("restate", "7/8"), ("restate", "5/4"), ("rebar", "3/4"),
        ("group", "3+3+2", {"show": "accents"}),
    ),
    (True, 2): (
        ("restate", "9/8"), ("restate", "5/8"), ("restate", "7/8"), ("rebar", "9/8"),
        ("group", "2+2+2", {"show": "accents"}),
    ),
    (True, 3): (
        ("restate", "6/8"), ("restate", "12/8"), ("restate", "7/8"), ("rebar", "6/8"),
        ("group", "2+2+2+3", {"show": "accents"}),
    ),
    (True, 4): (
        ("restate", "9/8"), ("restate", "11/8"), ("rebar", "6/8"), ("rebar", "9/8"),
        ("group", "3+3+2+2+2", {"show": "accents"}),
    ),
}  # fmt: skip


_MOST_HEARD = 12
_TASKS = ("fill", "barlines", "mistakes")


def builtin_plan(theme: Score) -> Plan:
    """The plan for a theme, by its commonest metre; drills in that metre come with it.

    A theme in changing metres is not pressed into one: it keeps its bars.
    """
    metres = Counter(bar.metre for bar in theme.bars if bar.metre and bar.metre.length)
    metre = metres.most_common(1)[0][0] if metres else Metre.parse("4/4")
    rows: list[tuple[Any, ...]] = [*_EITHER, *(_COMPOUND if metre.is_compound else _SIMPLE)]
    if len(metres) < 2:
        rows += _BY_BEATS.get((metre.is_compound, len(metre.beats)), ())
    if len(metres) > 1 or len(set(metre.beats)) > 1:
        rows = [row for row in rows if row[1] not in ("triplets", "duplets")]
    if len(metre.beats) > 4 or len(set(metre.beats)) > 1:
        # Two bars for one would cut the beats elsewhere; bar for bar the metre grows: 5/4 to 5/2.
        grown = {"augmentation:2": "augmentation:2 metre"}
        rows = [(row[0], grown.get(row[1], row[1]), *row[2:]) for row in rows]
    pulses = metre.length * 8
    if pulses.denominator == 1 and 4 <= pulses <= 18:
        for strokes, rests in _strokes(theme, int(pulses)):
            options: dict[str, Any] = {"metre": str(metre), "pulse": "1/8"}
            rows.append(("drill", str(strokes), options | ({"rests": True} if rests else {})))
    rows.append(("against", "3:2"))
    recipes = [
        Recipe(verb, argument, options[0] if options else {}, optional=True)
        for verb, argument, *options in rows
    ]
    recipes += [Recipe("theme", "", task=kind, optional=True) for kind in _TASKS]
    return Plan(tuple(recipes))


def _strokes(theme: Score, pulses: int) -> list[tuple[int, bool]]:
    """How many strokes the drills have: about as many as a bar of the theme, and some more.

    The second has rests.
    """
    bars = Counter(
        event.bar for _, _, event in theme.events() if event.visible and not event.is_rest
    )
    usual = sorted(bars.values())[len(bars) // 2] if bars else pulses // 2
    few = max(2, min(usual, pulses * 5 // 8))
    many = max(few + 1, min(few + 2, pulses - 1))
    return [(few, False), (many, True)]


def ear_plan(theme: Score, count: int) -> Plan:
    """Tasks for the ear, from clear to close: which did you hear, at the end dictation.

    They go through the theme two bars at a time, and begin again where it ends. A third of them,
    one at least where there are several, is dictation. Raises RequestError for a count that is
    not 1 to 12.
    """
    if not 1 <= count <= _MOST_HEARD:
        raise RequestError(f"{count} tasks for the ear", legal=f"1 to {_MOST_HEARD}")
    part = theme.parts[0]
    numbers = [bar.number for bar in part.bars if not bar.shift]
    pairs = [numbers[i : i + 2] for i in range(0, max(1, len(numbers) - 1), 2)]
    dictated = count // 3 or int(count > 1)
    recipes = []
    for i in range(count):
        bars = pairs[i % len(pairs)]
        task = "dictation" if i >= count - dictated else "heard"
        near = NEARNESS[i * len(NEARNESS) // max(1, count - dictated)] if task == "heard" else ""
        span = f"{bars[0]}-{bars[-1]}"
        recipes.append(Recipe("theme", "", bars=span, task=task, near=near, number=i + 1))
    return Plan(tuple(recipes), order="plan")
