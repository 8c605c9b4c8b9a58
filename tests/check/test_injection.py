"""Slips put into real scores: told, told once and where they are, and the original restored.

The whole bench is ``python -m tests.injection``; here a sample of it must meet the same goals.
"""

from tests.injection.bench import GOALS, run, scores, tally


def test_slips_are_told_once_at_their_place_and_put_right():
    paths = scores(9, most_bytes=12_000)
    assert len(paths) == 9
    outcomes = list(run(paths, 5, seed=4))
    total = tally(outcomes)[""]
    assert total["faults"] > 35 and total["unique"] > 12
    assert not total["lost"] and not total["defects"]
    assert 100 * total["told"] >= GOALS["told"] * total["faults"]
    assert 100 * total["restored"] >= GOALS["restored"] * total["unique"]
    assert 100 * total["bar"] >= GOALS["bar"] * total["called"]
    for goal in ("part", "once"):
        assert 100 * total[goal] >= GOALS[goal] * total["told"]
