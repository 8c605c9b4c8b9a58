"""A small sample of ``python -m tests.breadth``, whose whole result docs/measurements.md gives."""

from __future__ import annotations

import pytest

from tests.breadth import KINDS, MORE, TARGETS, Source, examine, paths_of
from tests.corpus import music21_folder

CORPUS = music21_folder() / "corpus"
SAMPLE = {
    "a chorale": "bach/bwv297.mxl",
    "a folk tune with upbeats and repeats": "ryansMammoth/ShipsAreSailingReel.abc",
    "a song with hidden voices": "schumann_robert/opus48no2.mxl",
    "a quartet": "haydn/opus1no1/movement2.mxl",
    "a trecento score": "trecento/Fava_Dicant_nunc_iudei.xml",
}
SOURCES = {name: Source.of(CORPUS / path) for name, path in SAMPLE.items()}


@pytest.mark.parametrize("target", TARGETS)
@pytest.mark.parametrize("name", SAMPLE)
def test_a_real_score_goes_to_any_metre_and_others_read_it_as_we_do(name: str, target: str) -> None:
    verdict, detail = examine(SOURCES[name], TARGETS[target])
    assert verdict == "written", detail


@pytest.mark.parametrize("way", MORE)
def test_a_real_score_goes_every_other_way_too(way: str) -> None:
    verdict, detail = examine(SOURCES["a chorale"], MORE[way])
    assert verdict == "written", detail


def test_every_kind_of_score_has_files() -> None:
    assert all(len(paths_of(kind)) >= share for kind, (_, share) in KINDS.items())
