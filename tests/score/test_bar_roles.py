"""Where in its metre the content of a short bar stands, as counting under the notes shows it."""

import rhythm
from tests.sheet import bar, sheet


def counted(*bars):
    score = rhythm.count(sheet(list(bars)), "numbers")
    return [event.additions[0].text for event in score.parts[0].voices[0].events]


def test_the_second_half_of_a_split_bar_is_counted_on():
    assert counted("w", bar("h", right="||"), "h")[1:] == ["1 (2)", "3 (4)"]


def test_the_second_half_that_a_new_metre_opens_is_the_end_of_a_bar_of_that_metre():
    # Half a bar of 4/4, then half a bar of 6/8: the second is its second beat.
    found = counted("w", bar("h", right="||"), bar("q.", "6/8"), "q. q.")
    assert found == ["1 (2) (3) (4)", "1 (2)", "2", "1", "2"]


def test_three_beats_behind_a_repeat_sign_are_the_last_three():
    found = counted("w", bar("h.", left="|:"), "w", bar("q", right=":|"))
    assert found[1:] == ["2 (3) (4)", "1 (2) (3) (4)", "1"]
