"""Small wrong changes in ``rhythm/devices/``."""

from .row import Row

__all__ = ["ROWS"]

FILES = ("tests/devices/test_written_files.py",)

ROWS: list[Row] = [
    Row(
        "rhythm/devices/scaling.py",
        "return augmentation(passage, 1 / factor)",
        "return augmentation(passage, factor)",
        ("tests/devices/test_vary.py",),
        "diminution that augments",
    ),
    Row(
        "rhythm/devices/scaling.py",
        "inside[min(place, len(inside)) - 1]",
        "inside[min(place, len(inside)) - 2]",
        ("tests/devices/test_vary.py",),
        "a value added to the note before",
    ),
    Row(
        "rhythm/devices/reordering.py",
        'values if what == "pitch" else _backwards(values)',
        "_backwards(values)",
        ("tests/devices/test_vary.py",),
        "retrograde of pitch that turns the values too",
    ),
    Row(
        "rhythm/devices/reordering.py",
        "fixed = not passage.is_whole and any",
        "fixed = passage.is_whole and any",
        ("tests/devices/test_vary.py",),
        "an upbeat turned to the end of a passage that music follows",
    ),
    Row(
        "rhythm/devices/reordering.py",
        "if not passage.closes_score and doubled",
        "if passage.closes_score and doubled",
        ("tests/devices/test_vary.py",),
        "the mirror of an upbeat left a short bar before the next",
    ),
    Row(
        "rhythm/devices/reordering.py",
        'notes if what == "rhythm" else notes[::-1]',
        "notes[::-1]",
        ("tests/devices/test_vary.py",),
        "retrograde of rhythm that turns the notes too",
    ),
    Row(
        "rhythm/devices/reordering.py",
        "turned = rotated(cells, steps)",
        "turned = rotated(cells, -steps)",
        ("tests/devices/test_vary.py",),
        "a rotation the other way round",
    ),
    Row(
        "rhythm/devices/reordering.py",
        '_TURNED = {"": "", "start": "stop", "stop": "start"}',
        '_TURNED = {"": "", "start": "start", "stop": "stop"}',
        ("tests/notate/test_tremolos.py",),
        "a tremolo backwards that starts twice",
    ),
    Row(
        "rhythm/devices/patterns.py",
        "*range(0, span, a), *range(0, span, b)",
        "*range(0, span, a), *range(0, span, a)",
        ("tests/devices/test_vary.py",),
        "a resultant of one pulse alone",
    ),
    Row(
        "rhythm/devices/patterns.py",
        "while len(tails) > 1:",
        "while len(tails) > 2:",
        ("tests/devices/test_vary.py",),
        "strokes spread unevenly",
    ),
    Row(
        "rhythm/devices/patterns.py",
        "(*items[at:], *items[:at])",
        "(*items[:at], *items[at:])",
        ("tests/devices/test_vary.py",),
        "a rotation that turns nothing",
    ),
    Row(
        "rhythm/devices/patterns.py",
        "return (*(group[i - 1] for group in groups for i in order), *items[full:])",
        "return tuple(group[i - 1] for group in groups for i in order)",
        ("tests/devices/test_vary.py",),
        "notes lost that fill no group",
    ),
    Row(
        "rhythm/devices/displacing.py",
        "    while reached < end:\n",
        "    while plan_length(made) < end:\n",
        (
            "tests/cli/test_limits.py::test_bars_without_number_are_added_in_a_time_that_grows_with_them",
        ),
        "all bars measured anew for each that is added",
    ),
    Row(
        "rhythm/devices/displacing.py",
        "if passage.first and downbeat > upbeat:",
        "if False:",
        FILES,
        "a passage that begins before its first bar",
    ),
    Row(
        "rhythm/devices/grouping.py",
        "at[i] + bar.length not in walls",
        "True",
        FILES,
        "a hemiola over a repeat sign",
    ),
    Row(
        "rhythm/devices/against_the_beat.py",
        "                if held.duration <= early or before.duration <= early:",
        "                if before.duration < early:",
        FILES,
        "syncopation leaves a note nothing",
    ),
    Row(
        "rhythm/devices/against_the_beat.py",
        "            if bar.shift < node.start < bar.shift + bar.length:",
        "            if bar.shift <= node.start < bar.shift + bar.length:",
        FILES,
        "the first note of a bar comes early",
    ),
    Row(
        "rhythm/devices/reordering.py",
        '            notes if what == "rhythm" else notes[::-1],',
        "            notes[::-1],",
        FILES,
        "a retrograde of rhythm turns the notes too",
    ),
    Row(
        "rhythm/devices/reordering.py",
        "    edges = [mpq(0), *passage.breaks, passage.length]\n\n    def change",
        "    edges = [mpq(0), passage.length]\n\n    def change",
        FILES,
        "a retrograde over a repeat sign",
    ),
    Row(
        "rhythm/devices/vary.py",
        "    whole = completed(changed).filled()",
        "    whole = changed.filled()",
        ("tests/devices/test_whole_tuplets.py",),
        "tuplets are left open at the end",
    ),
    Row(
        "rhythm/devices/scaling.py",
        "        stops.append(min(inside[min(place, len(inside)) - 1].end, end))",
        "        stops.append(min(inside[0].end, end))",
        ("tests/devices/test_vary.py",),
        "the value is added to the first note",
    ),
    Row(
        "rhythm/devices/against_the_beat.py",
        "            if bisect_left(gaps, start) != bisect_left(gaps, start + length):",
        "            if False:",
        FILES,
        "a note swings with the gap behind it",
    ),
]
