"""What a good copyist would have written, found by engraving results and looking at them.

Each case is the exact spelling of a bar that once came out otherwise. The rules are common
practice (see docs/spelling.md); the scores in which the cases were seen are named in the ids.
"""

from __future__ import annotations

import pytest

from tests.tiny import melody, written

SPELLED = [
    pytest.param(
        "6/4",
        "r3/4 r1/2 1/4",
        "r:half. r:half quarter",
        id="a silent half of 6/4 is one rest (a chorale, 4/4 to 6/4)",
    ),
]


@pytest.mark.parametrize(("metre", "durations", "symbols"), SPELLED)
def test_a_bar_is_written_as_a_copyist_would(metre: str, durations: str, symbols: str) -> None:
    assert written(melody(metre, durations)) == symbols
