"""The census: what rhythm owns is left out, everything else is counted, from tree or text alike."""

from __future__ import annotations

from lxml import etree

from rhythm.formats.musicxml.census import census, count, skim
from rhythm.formats.musicxml.read.score_reader import read
from tests.formats.test_roundtrip import SAMPLE
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


def test_text_and_tree_count_alike() -> None:
    for path in SAMPLE[::5]:
        tree = etree.ElementTree(read(path).source.tree.getroot())  # type: ignore[attr-defined]
        by_text, by_tree = skim(etree.tostring(tree, encoding="UTF-8")), count(tree)
        for found in (by_text, by_tree):
            del found["accidental"]
            for tag in [tag for tag in found if "&" in tag]:
                del found[tag]
        assert by_text == by_tree, path
