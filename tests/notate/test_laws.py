"""What holds of every spelled bar, whatever stands in it."""

from gmpy2 import mpq
from hypothesis import given, settings
from hypothesis import strategies as st

from rhythm.exact.metre import Metre
from rhythm.exact.values import symbol_value
from rhythm.notate.bar_notation import Item, spell_bar
from tests.strategies import fractions, plain_metres, rhythms, values

METRES = st.one_of(
    plain_metres(),
    st.sampled_from(["2/2", "3/2", "6/4 compound", "3+2+2/8", "3/4+3/8", "12/16", "C"]).map(
        Metre.parse
    ),
)


@st.composite
def bars(draw):
    """A metre and a contiguous voice in it: onsets on one grid, some of them rests."""
    metre = draw(METRES)
    onsets = draw(rhythms(metre.length))
    ends = (*onsets[1:], metre.length)
    items = [
        Item(start, end - start, draw(st.booleans()), draw(st.sampled_from([1, 1, 2])))
        for start, end in zip(onsets, ends, strict=True)
    ]
    return metre, metre.length, mpq(0), items


@st.composite
def wild_bars(draw):
    """Anything: gaps, overlaps, odd lengths, upbeats, ratios nobody writes."""
    metre = draw(METRES)
    length = draw(st.one_of(st.just(metre.length), fractions(1, 3)))
    shift = draw(st.sampled_from([mpq(0), metre.length / 2, metre.length * 3 / 4]))
    item = st.tuples(
        fractions(0, 2),
        st.one_of(values().filter(lambda v: v < 12), fractions(1, 2)),
        st.booleans(),
    )
    items = [Item(*fields) for fields in draw(st.lists(item, min_size=1, max_size=6))]
    return metre, length, shift, items


def sounding(piece):
    """What type, dots and ratio say the piece lasts."""
    return symbol_value(piece.type, piece.dots) * mpq(piece.ratio[1], piece.ratio[0])


def assert_exact(items, rows):
    assert len(items) == len(rows)
    for item, pieces in zip(items, rows, strict=True):
        at = item.offset
        for piece in pieces:
            assert piece.offset == at
            assert piece.whole_bar or sounding(piece) == piece.duration
            at += piece.duration
        assert at == item.offset + item.duration


@given(bars())
@settings(max_examples=100, deadline=None)
def test_every_symbol_says_exactly_how_long_it_is_and_they_add_up(bar):
    items = bar[3]
    assert_exact(items, spell_bar(*bar))


@given(wild_bars())
@settings(max_examples=60, deadline=None)
def test_even_broken_music_is_written_exactly(bar):
    assert_exact(bar[3], spell_bar(*bar))


@given(bars())
@settings(max_examples=100, deadline=None)
def test_spelling_what_was_spelled_changes_no_note(bar):
    metre, length, shift, items = bar
    notes = [item for item in items if not item.rest]
    first = spell_bar(metre, length, shift, notes)
    assert spell_bar(metre, length, shift, notes) == first
    # Written symbols taken as notes of their own stand as they are, but for what a tuplet joined.
    again = [
        Item(piece.offset, piece.duration, False, item.dots)
        for item, pieces in zip(notes, first, strict=True)
        for piece in pieces
    ]
    if all(piece.ratio == (1, 1) for pieces in first for piece in pieces):
        rows = spell_bar(metre, length, shift, again)
        if all(piece.ratio == (1, 1) for row in rows for piece in row):
            assert all(len(row) == 1 for row in rows)


@given(bars())
@settings(max_examples=100, deadline=None)
def test_beams_open_and_close_in_pairs_at_every_level(bar):
    rows = spell_bar(*bar)
    pieces = sorted((piece for row in rows for piece in row), key=lambda piece: piece.offset)
    for level in range(8):
        is_open = False
        for piece in pieces:
            word = piece.beams[level] if len(piece.beams) > level else ""
            assert is_open == (word in ("continue", "end")) or not piece.beams
            if word == "begin":
                is_open = True
            elif word == "end":
                is_open = False
        assert not is_open


@given(bars())
@settings(max_examples=100, deadline=None)
def test_tuplets_of_a_note_are_nested_and_multiply_to_its_ratio(bar):
    for row in spell_bar(*bar):
        for piece in row:
            actual = normal = 1
            for level, tuplet in enumerate(piece.tuplets, start=1):
                assert tuplet.number == level
                assert tuplet.offset <= piece.offset
                assert piece.end <= tuplet.offset + tuplet.length
                actual, normal = actual * tuplet.actual, normal * tuplet.normal
            assert piece.ratio == (actual, normal)
