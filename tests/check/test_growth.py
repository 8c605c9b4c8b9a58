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
    small, large = (source(*make(count)) for count in (150, 600))
    assert _seconds(large) < 8 * max(_seconds(small), 0.003)


def test_a_plan_is_laid_along_many_bars_in_the_time_that_they_take():
    def seconds(count):
        bars = [bar("q q q.", "7/8"), *["q q q."] * count]
        return _seconds(source(bars), against="7/8 7/8 5/8")

    assert seconds(600) < 8 * max(seconds(150), 0.003)


def _seconds(data, **wanted):
    """The shorter of two runs; what else the machine does is left out."""
    found = []
    for _ in range(2):
        start = process_time()
        check(read(data), **wanted)
        found.append(process_time() - start)
    return min(found)
