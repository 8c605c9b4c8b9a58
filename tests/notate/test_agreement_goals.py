"""Fair copies of editors' scores come out as the editors had them: a floor on a sample."""

import pytest

from tests.agreement import Tally, compare, corpus_paths, measure, report
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
