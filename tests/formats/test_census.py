"""The count that other tests compare: it leaves out what rhythm owns and counts everything else."""

from __future__ import annotations

from rhythm.formats.musicxml.read.score_reader import read
from tests.census import census
from tests.markup import note, partwise

BAR = (
    '<direction><direction-type><wedge type="crescendo"/></direction-type></direction>'
    + note("C4", 8, "half", ties="start", inside='<slur type="start"/>')
    + note("C4", 8, "half", ties="stop", after="<lyric><text>la</text></lyric>")
)


def test_the_census_counts_what_rhythm_does_not_own() -> None:
    found = census(read(partwise(BAR)))
    assert found == {
        "part-list": 1,
        "score-part": 1,
        "part-name": 1,
        "direction": 1,
        "direction-type": 1,
        "wedge crescendo": 1,
        "slur start": 1,
        "lyric": 1,
        "text la": 1,
    }
