"""Fair copies of editors' scores come out as the editors had them: a floor on a sample."""

from collections import Counter

import pytest
from gmpy2 import mpq

from rhythm.notate.faircopy import faircopy
from rhythm.score.model import Tuplet
from tests.agreement import Tally, compare, corpus_paths, faults, measure, report
from tests.defects import defects, defects_of
from tests.halves import CEILINGS, table
from tests.tiny import melody


@pytest.fixture(scope="module")
def sample():
    paths = [path for path in corpus_paths() if path.stat().st_size < 120_000]
    results = [measure(path) for path in paths[::7]]
    assert len(results) >= 25
    assert not [result.error for result in results if result.error]
    return results


@pytest.fixture(scope="module")
def total(sample):
    total = Tally()
    for result in sample:
        for tally in result.tallies.values():
            total.join(tally)
    return total


@pytest.mark.parametrize(("what", "floor"), [("values", 97), ("beams", 94), ("levels", 94)])
def test_a_sample_agrees_with_its_editors(total, what, floor):
    assert total.counted[what] > 500
    assert 100 * total.agreed[what] >= floor * total.counted[what]


def test_a_score_agrees_with_itself_where_we_wrote_it():
    result = compare(melody("6/8", "1/8 1/8 1/8 1/4 1/8", "3/8 r3/8"), "own")
    assert not result.differences
    assert result.tallies["6/8"].counted["values"] == 2


def test_the_report_counts_every_score(sample):
    lines = list(report(sample))
    assert any(line.startswith(f"| all | {len(sample)} |") for line in lines)


def test_the_hand_is_nearer_to_the_editors_than_the_house(sample):
    total = sum((result.halves for result in sample), Counter())
    bars = total["odd and even", "hand", "all", "bars"]
    assert bars > 2000
    assert bars == total["ceiling", CEILINGS[0], "all", "bars"]
    ours = total["odd and even", "hand", "all", "outright"]
    assert 100 * (ours - total["odd and even", "house", "all", "outright"]) > 2 * bars
    values = total["odd and even", "hand", "all", "values"]
    assert 1000 * values >= 975 * bars
    assert 100 * ours >= 95 * bars
    fresh = total["odd and even", "hand", "new", "outright"]
    assert fresh > total["odd and even", "house", "new", "outright"]
    by_rhythm, by_more = (total["ceiling", name, "all", "outright"] for name in CEILINGS)
    assert ours < by_rhythm < by_more < bars
    assert any(line.startswith("| odd and even | hand |") for line in table(total))


def test_no_fair_copy_of_a_sample_shows_a_plain_defect():
    paths = [path for path in corpus_paths() if path.stat().st_size < 60_000][::16]
    assert len(paths) >= 8
    assert [defect for path in paths for defect in faults(path)[1]] == []


BRACKETS = {
    "over a beat from inside one": (Tuplet(3, 2, mpq(1, 4), mpq(1, 8), mpq(1, 2)), "straddling"),
    "over a beat whose second half alone is cut": (
        Tuplet(3, 2, mpq(1, 8), mpq(0), mpq(1, 4)), "hidden",
    ),
    "of thousands": (Tuplet(3024, 2832, mpq(1, 8), mpq(0), mpq(1, 4)), "absurd"),
}  # fmt: skip


@pytest.mark.parametrize(("bracket", "kind"), BRACKETS.values(), ids=BRACKETS)
def test_a_plain_defect_is_seen(bracket, kind):
    source = melody("4/4", "1/8 1/16 1/16 1/4 1/2")
    copy = faircopy(source)
    assert defects(source) == []
    voice = copy.parts[0].voices[0]
    inside = bracket.offset, bracket.offset + bracket.length
    spoiled = tuple(
        event.replace(
            pieces=tuple(
                piece.replace(ratio=(bracket.actual, bracket.normal), tuplets=(bracket,))
                if inside[0] <= piece.offset < inside[1]
                else piece
                for piece in event.pieces
            )
        )
        for event in voice.events
    )
    part = copy.parts[0].replace(voices=(type(voice)(voice.name, spoiled),))
    assert {each.kind for each in defects_of(source, copy.replace(parts=(part,)))} == {kind}
