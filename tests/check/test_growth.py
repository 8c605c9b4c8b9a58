"""Four times the music takes about four times the time, however damaged it is."""

from time import process_time

import pytest

from rhythm.check.ledger import check
from rhythm.formats.musicxml.read.score_reader import read
from tests.sheet import bar, source

DAMAGED = {
    "durations that contradict their values in one bar": lambda n: (["e=480 " * n, "w"],),
    "rounded durations without a type": lambda n: (["n=41 n=39 " * n, "w"],),
    "voices in one bar": lambda n: ([" ".join(f"v{i} q <480" for i in range(1, n)), "w"],),
    "holes in one voice": lambda n: (["w", ">240 e " * n, "w"],),
    "backups before the start of the bar": lambda n: (["q <9600 " * n, "w"],),
    "overlaps in one voice": lambda n: (["w", "q <240 " * n, "w"],),
    "ties that lead nowhere": lambda n: (["C4h~ D4h"] * n,),
    "ties whose stop stands later": lambda n: (["C4q~ D4q C4q_ F4q"] * n,),
    "tuplets that stop midway": lambda n: (["e:3/2 q q q e"] * n,),
    "a part of half as many bars": lambda n: (["w"] * n, ["w"] * (n // 2)),
    "bars that are numbered otherwise": lambda n: (
        ["w"] * n,
        [bar("w", number=str(2 * i)) for i in range(n)],
    ),
}


@pytest.mark.parametrize("make", DAMAGED.values(), ids=DAMAGED)
def test_reading_and_checking_grow_with_the_music_and_no_faster(make):
    _grows_evenly(lambda count: source(*make(count)))


def test_a_plan_is_laid_along_many_bars_in_the_time_that_they_take():
    _grows_evenly(
        lambda count: source([bar("q q q.", "7/8"), *["q q q."] * count]), against="7/8 7/8 5/8"
    )


def _grows_evenly(make, **wanted):
    """The large music is timed again only where it seemed slow: the machine has other work too."""
    small, large = make(120), make(480)
    most = 8 * max(min(_seconds(small, **wanted) for _ in range(2)), 0.003)
    assert any(_seconds(large, **wanted) < most for _ in range(2))


def _seconds(data, **wanted):
    start = process_time()
    check(read(data), **wanted)
    return process_time() - start
