"""Small wrong changes in ``rhythm/show/``."""

from .row import Row

__all__ = ["ROWS"]

_ROWS, _SOUND, _MAP = (
    "tests/show/test_rows.py",
    "tests/show/test_sound.py",
    "tests/show/test_mapping.py",
)
_PAPER, _PAGE, _BROWSER = (
    "tests/show/test_paper.py",
    "tests/show/test_page.py",
    "tests/browser/test_page.py",
)

ROWS: list[Row] = [
    Row(
        "rhythm/show/rows.py",
        "    if visible and not visible & drawn:",
        "    if False:",
        (f"{_ROWS}::test_a_drawing_without_a_note_is_no_drawing",),
        "an empty page is written",
    ),
    Row(
        "rhythm/show/rows.py",
        "[number + 1 for number in only]",
        "[number for number in only]",
        (f"{_ROWS}::test_some_rows_are_drawn_alone_and_are_the_same",),
        "another row than asked for",
    ),
    Row(
        "rhythm/show/engraver.py",
        "            _end()\n            raise MusicError",
        "            raise MusicError",
        (f"{_ROWS}::test_where_the_engraver_dies_one_line_says_so_and_the_next_score_is_drawn",),
        "a dead engraver is asked again",
    ),
    Row(
        "rhythm/show/drawing.py",
        "            bars.setdefault(int(bar[1]))\n",
        "",
        (f"{_ROWS}::test_rows_break_where_they_are_asked_to",),
        "a row does not know its bars",
    ),
    Row(
        "rhythm/show/line_breaking.py",
        "_AIM = 125",
        "_AIM = 400",
        (f"{_ROWS}::test_rows_are_filled_alike",),
        "rows are stretched",
    ),
    Row(
        "rhythm/show/playing_order.py",
        "        if backward and not again and turn",
        "        if backward and turn",
        (f"{_SOUND}::test_bars_come_in_the_order_played",),
        "repeats are taken again after da capo",
    ),
    Row(
        "rhythm/show/sound.py",
        "_LIGHTEST - metre.rank(turn + place)",
        "_LIGHTEST - metre.rank(offset)",
        (f"{_SOUND}::test_an_upbeat_begins_on_its_own_beat",),
        "an upbeat is clicked as a first beat",
    ),
    Row(
        "rhythm/show/sound.py",
        "        if moment in self._once:",
        "        if False:",
        (f"{_SOUND}::test_dynamics_hold_until_the_next_and_hairpins_lead_there",),
        "a sforzato is not heard",
    ),
    Row(
        "rhythm/show/sound.py",
        "if struck.tie_in and waiting.end == tone.start:",
        "if False:",
        (f"{_SOUND}::test_notes_tied_together_sound_as_one_and_light_both",),
        "tied notes are struck again",
    ),
    Row(
        "rhythm/show/mapping.py",
        "            if origin in owners:",
        "            if False:",
        (f"{_MAP}::test_every_note_is_followed_through_every_verb",),
        "a retrograde note is lost from sight",
    ),
    Row(
        "rhythm/show/mapping.py",
        "        if reached[i] < needed[i]:",
        "        if True:",
        (f"{_MAP}::test_bars_whose_lines_do_not_agree_stand_in_one_long_column",),
        "a bar stands over another's image",
    ),
    Row(
        "rhythm/show/proof_strip.py",
        "    if faults:",
        "    if faults and not reasons:",
        (f"{_MAP}::test_the_strip_gives_the_gravest_verdict_of_a_bar",),
        "a fault is hidden behind a reason",
    ),
    Row(
        "rhythm/show/paper.py",
        "below: 3mm, sticky: true,",
        "below: 3mm, sticky: false,",
        (f"{_PAPER}::test_a_heading_stays_with_its_music_and_a_table_repeats_its_head",),
        "a heading is left at the foot of a page",
    ),
    Row(
        "rhythm/show/page.py",
        'text.replace("<", "\\\\u003c")',
        "text",
        (f"{_PAGE}::test_text_of_the_score_cannot_leave_its_place",),
        "a title becomes a script",
    ),
    Row(
        "rhythm/show/web/ear.js",
        "    if (this.countIn) begin += this.count(begin);",
        "    if (this.countIn) this.count(begin);",
        (f"{_BROWSER}::test_the_click_has_the_metres_accents_and_a_bar_is_counted_in",),
        "the count-in sounds with the music",
    ),
    Row(
        "rhythm/show/web/ear.js",
        "      if (turns && !this.loop) {",
        "      if (turns) {",
        (f"{_BROWSER}::test_chosen_bars_go_over_and_over_until_it_is_stopped",),
        "a loop plays once",
    ),
    Row(
        "rhythm/show/web/page.css",
        "  .row-of-music { break-inside: avoid; margin-bottom: 6mm; }\n"
        "  .system, tr { break-inside: avoid; }",
        "  svg.row { break-inside: auto; }",
        (f"{_BROWSER}::test_printed_no_system_is_cut",),
        "printed systems are cut",
    ),
    Row(
        "rhythm/show/web/page.css",
        "  svg.row { max-height: 236mm; }\n",
        "",
        (f"{_BROWSER}::test_a_system_taller_than_a_sheet_is_printed_whole_and_smaller",),
        "a tall system is cut in print",
    ),
    Row(
        "rhythm/show/playing_order.py",
        "elif ending and turn not in ending:",
        "elif ending and turn in ending:",
        ("tests/show/test_sound.py", "tests/show/test_show.py"),
        "the second ending played first",
    ),
    Row(
        "rhythm/show/playing_order.py",
        "if backward and not again and turn < _turns(bars, endings, index):",
        "if backward and turn < _turns(bars, endings, index):",
        ("tests/show/test_sound.py", "tests/show/test_show.py"),
        "repeats taken again after da capo",
    ),
    Row(
        "rhythm/show/playing_order.py",
        "return order + list(range(min(after), len(bars))) if after else order",
        "return order",
        ("tests/show/test_sound.py", "tests/show/test_show.py"),
        "no coda",
    ),
    Row(
        "rhythm/show/playing_order.py",
        "return max(found, default=None)",
        "return min(found, default=None)",
        ("tests/show/test_sound.py", "tests/show/test_show.py"),
        "the wrong segno",
    ),
    Row(
        "rhythm/show/playing_order.py",
        "start, turn, index = first, 1, first",
        "start, turn, index = 0, 1, first",
        ("tests/show/test_sound.py", "tests/show/test_show.py"),
        "a repeat back to the beginning after a jump",
    ),
    Row(
        "rhythm/show/midi.py",
        "_tick(sound.start, division), _tick(sound.end, division)",
        "_tick(sound.start, division), _tick(sound.end, division) + 1",
        ("tests/show/test_show.py", "tests/show/test_sound.py"),
        "notes that run into the next",
    ),
    Row(
        "rhythm/show/midi.py",
        "min(0xFFFFFF, int(60_000_000 / tempo + mpq(1, 2)))",
        "min(0xFFFFFF, int(30_000_000 / tempo + mpq(1, 2)))",
        ("tests/show/test_show.py", "tests/show/test_sound.py"),
        "twice as fast",
    ),
    Row(
        "rhythm/show/midi.py",
        "unit.bit_length() - 1, clicks, 8",
        "unit.bit_length(), clicks, 8",
        ("tests/show/test_show.py", "tests/show/test_sound.py"),
        "3/8 for 3/4 in a MIDI file",
    ),
    Row(
        "rhythm/show/midi.py",
        "where = _PERCUSSION if sound.percussion else channel",
        "where = channel",
        ("tests/show/test_show.py", "tests/show/test_sound.py"),
        "drums on the flute",
    ),
    Row(
        "rhythm/show/midi.py",
        "if repeats else list(range(len(score.bars)))",
        "if not repeats else list(range(len(score.bars)))",
        ("tests/show/test_show.py", "tests/show/test_sound.py", "tests/cli/test_commands.py"),
        "repeats played when they are not wanted",
    ),
]
"""One row a wrong change."""
