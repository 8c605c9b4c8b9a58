"""Bars without a signature behind bars that were given one."""

from __future__ import annotations

from collections.abc import Callable

import pytest

import rhythm
from rhythm.check.ledger import check
from rhythm.formats.musicxml.read.score_reader import read
from rhythm.score.model import Score
from rhythm.writing import proven
from tests.sheet import sheet

VERBS: dict[str, Callable[[Score], Score]] = {
    "rebarred": lambda score: rhythm.rebar(score, "2/4", bars="1-2"),
    "restated": lambda score: rhythm.restate(score, to="2/4", bars="1-2"),
    "grouped": lambda score: rhythm.group(score, "2+2", show="metre", bars="1-2"),
}


@pytest.mark.parametrize("verb", VERBS.values(), ids=VERBS)
def test_bars_without_a_metre_stay_free_behind_a_passage_in_one(
    verb: Callable[[Score], Score],
) -> None:
    """MusicXML 4.0: ``senza-misura`` says that no metre holds from there on."""
    made = read(proven(verb(sheet(["q q q q"] * 4, time=""))))
    assert check(made).is_right
    assert [bar.length for bar in made.bars[-2:]] == [1, 1]
    assert [bar.metre is not None and bar.metre.senza for bar in made.bars[-2:]] == [True, True]
    assert [bar.shows_metre for bar in made.bars[-2:]] == [True, False]
