"""Versions laid out in rows: some are drawn alone, and a key says whether a row must be drawn."""

from pathlib import Path

from rhythm import read, rebar, restate
from rhythm.show import row_texts
from rhythm.show.likely_rows import likely_rows
from rhythm.show.line_breaking import likely_widths
from rhythm.show.rows import bar_widths, rows
from rhythm.showing import page_outline
from tests.markup import note, partwise
from tests.tiny import melody

EXAMPLES = Path(__file__).parents[2] / "examples"
BARS = ["1/4 1/4 1/4 1/4"] * 24


def laid_out(score, before=None, width=1400):
    found = page_outline(score, before)
    return found.laid_out(width, found.measured())


def keys(*bars):
    return laid_out(melody("4/4", *bars)).keys


def test_some_rows_are_drawn_alone_and_are_the_same():
    song = read(EXAMPLES / "lantern-song.musicxml")
    found = laid_out(restate(song, "12/8"), song)
    whole = found.drawn()
    assert len(whole) > 3
    assert found.drawn([1, 2]) == whole[1:3]
    assert found.drawn([3]) == [whole[3]]
    opened = [row[1][0] for row in found.bars if row[1][0]]
    alone = rows(found.scores[1], prefix="b", breaks=opened, width=found.width)
    assert [row[1] for row in whole] == list(alone.drawings)


def test_a_row_of_a_long_score_is_drawn_from_its_neighbours_alone(monkeypatch):
    """Clef and key hold on, and what began long before is given with it."""
    begin = (
        "<attributes><key><fifths>-3</fifths></key>"
        "<clef><sign>F</sign><line>4</line></clef></attributes>"
    )
    bar = "".join(note(f"{step}3", 4, "quarter") for step in "CDEF")
    first, last = (
        bar.replace("</note>", f'<notations><slur type="{kind}"/></notations></note>', 1)
        for kind in ("start", "stop")
    )
    bars = [begin + bar, *[bar] * 20, first, *[bar] * 30, last, *[bar] * 40]
    found = laid_out(read(partwise(*bars)))
    whole = found.drawn()
    [inside] = [row for row, ((*held,),) in enumerate(found.bars) if 37 in held]
    [away] = [row for row, ((*held,),) in enumerate(found.bars) if 70 in held]
    given = []
    asked = row_texts.named
    monkeypatch.setattr(
        row_texts, "named", lambda *a, **b: given.append(asked(*a, **b)) or given[-1]
    )
    assert found.drawn([inside]) == [whole[inside]] and "slur" in whole[inside][0].svg
    assert found.drawn([away]) == [whole[away]] and "slur" not in whole[away][0].svg
    assert [text.count(b"<measure") < 60 for text in given] == [True, True]
    assert given[1].count(b"<measure") < 20


def test_a_changed_bar_changes_the_key_of_its_row_and_of_no_other():
    plain, changed = keys(*BARS), keys(*BARS[:9], "1/4 r1/4 1/4 1/4", *BARS[10:])
    differ = [row for row, (a, b) in enumerate(zip(plain, changed, strict=True)) if a != b]
    [row] = [row for row, (bars,) in enumerate(laid_out(melody("4/4", *BARS)).bars) if 9 in bars]
    assert differ == [row] and len(plain) > 3


def test_rows_of_the_same_key_are_drawn_alike():
    bars = [*BARS[:9], "1/4 r1/4 1/4 1/4", *BARS[10:]]
    one, other = laid_out(melody("4/4", *BARS)), laid_out(melody("4/4", *bars))
    pairs = list(zip(one.keys, one.drawn(), other.keys, other.drawn(), strict=True))
    assert [old == new for _, old, _, new in pairs] == [a == b for a, _, b, _ in pairs]
    assert len({a == b for a, _, b, _ in pairs}) == 2


def test_what_began_in_an_earlier_row_is_part_of_the_key():
    """A slur over two rows is drawn in both: without it the second is another row."""
    text = (EXAMPLES / "lantern-song.musicxml").read_text(encoding="utf-8")
    long = text.replace('<slur type="stop"', '<slur type="continue"', 1)
    one, other = (
        laid_out(read(each.encode(), name="song.musicxml"), width=900) for each in (text, long)
    )
    assert one.bars == other.bars
    assert [a == b for a, b in zip(one.keys, other.keys, strict=True)][1] is False


def test_a_slur_over_three_rows_is_part_of_the_key_of_the_middle_one():
    """Between its ends no bar speaks of it, but its arc is drawn there."""
    bar = "".join(note(f"{step}4", 4, "quarter") for step in "CDEF")
    first, last = (
        bar.replace("</note>", f'<notations><slur type="{kind}"/></notations></note>', 1)
        for kind in ("start", "stop")
    )
    one, other = (
        laid_out(read(partwise(*bars))) for bars in ([bar] * 24, [first, *[bar] * 22, last])
    )
    assert one.bars == other.bars and len(one.keys) > 3
    assert one.keys[1] != other.keys[1]


def test_the_widths_of_another_version_are_guessed_after_the_measured_ones():
    song = read(EXAMPLES / "lantern-song.musicxml")
    after = restate(song, "12/8")
    first, exact = page_outline(after, song).measured()
    likely = likely_widths(after, song, first)
    assert len(likely) == len(exact)
    assert all(2 * a < 3 * b and 2 * b < 3 * a for a, b in zip(likely, exact, strict=True))
    shorter, long = melody("2/4", *["1/4 1/4"] * 6), melody("4/4", *BARS[:3])
    assert len(likely_widths(shorter, long, bar_widths(long))) == 6


def test_rows_that_are_likely_hold_the_same_bars_under_each_other():
    song = read(EXAMPLES / "lantern-song.musicxml")
    after = rebar(song, "6/4")
    found = likely_rows(after, song, 1400, bar_widths(song))
    assert {bar for row in found.bars for bar in row[1]} == set(range(len(after.bars)))
    assert found.bars[0][0][0] == found.bars[0][1][0] == 0
    whole = page_outline(after, song)
    first = bar_widths(song)
    assert found.bars == whole.laid_out(1400, [first, likely_widths(after, song, first)]).bars
