"""The order of exercises is one that a teacher agrees with: pairs of rhythms, easier first."""

from __future__ import annotations

from gmpy2 import mpq

from rhythm.exact.metre import Metre
from rhythm.practice.difficulty import Difficulty, difficulty
from rhythm.practice.drills import two_parts
from rhythm.practice.stroke_scores import Strokes, rhythm_score
from rhythm.score.model import Score
from tests.practice.ladder import PAIRS


def music(text: str) -> Score:
    """The score of a row: twice the same bars, so that there is a way from bar to bar."""
    if text.startswith("hands"):
        a, b = map(int, text.removeprefix("hands").split(":"))
        return two_parts(a, b)
    metres, onsets, lengths = [], [], []
    now, metre = mpq(0), Metre.parse("4/4")
    for bar in (text + " ; " + text).split(";"):
        signature, _, values = bar.rpartition("|")
        metre = Metre.parse(signature.strip()) if signature.strip() else metre
        start = now
        for each in values.split():
            length = mpq(each.lstrip("r"))
            if not each.startswith("r"):
                onsets.append(now)
                lengths.append(length)
            now += length
        assert now - start == metre.length, text
        metres.append(metre)
    return rhythm_score("", [Strokes("", tuple(onsets), tuple(lengths))], metres)


def level(text: str) -> Difficulty:
    return difficulty(music(text))


def rows() -> list[tuple[str, str]]:
    found = [tuple(side.strip() for side in row.split("<")) for row in PAIRS.strip().splitlines()]
    return [(first, second) for first, second in found]


def test_nineteen_of_twenty_pairs_stand_as_a_teacher_puts_them() -> None:
    pairs = rows()
    assert len(pairs) >= 60
    wrong = [
        f"{first} ({one.exact}) is not below {second} ({two.exact})"
        for first, second in pairs
        if not (one := level(first)).exact < (two := level(second)).exact
    ]
    assert len(wrong) * 20 <= len(pairs), "\n".join(wrong)
