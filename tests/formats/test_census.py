"""The census: what rhythm owns is left out, everything else is counted, from tree or text alike."""

from __future__ import annotations

import pytest
from lxml import etree

from rhythm.exact.errors import ProofError
from rhythm.formats.musicxml.census import census, count, skim
from rhythm.formats.musicxml.proof import prove
from rhythm.formats.musicxml.read.score_reader import read
from rhythm.formats.musicxml.write.score_writer import to_bytes
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


@pytest.mark.parametrize(
    ("old", "new", "expected"),
    [
        ("<slur", "<glissando", "'slur start' elements were lost"),
        (">la<", ">lu<", "'text la' elements were lost"),
        ("<wedge", "<dashes", "'wedge crescendo' elements were lost"),
        ("<duration>8", "<duration>4", "the written bar holds 3/4, not 1"),
        ("<octave>4", "<octave>5", "is not what was meant"),
        ("<note>", "<note print-object='no'>", "is not what was meant"),
    ],
)
def test_the_proof_finds_what_was_spoilt_in_writing(old: str, new: str, expected: str) -> None:
    score = read(partwise(BAR))
    data = to_bytes(score).decode()
    prove(score, data.encode())
    assert old in data
    spoilt = data.replace(old, new, 1)
    if "duration" in old:
        spoilt = spoilt.replace("<type>half", "<type>quarter", 1)
    with pytest.raises(ProofError, match=expected):
        prove(score, spoilt.encode())
