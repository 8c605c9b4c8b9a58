"""Small wrong changes in ``rhythm/practice/``."""

from .row import Row

__all__ = ["ROWS"]

ROWS: list[Row] = [
    Row(
        "rhythm/practice/steps.py",
        "key=lambda index: (levels[index].exact, -index)",
        "key=lambda index: -index",
        ("tests/practice/test_steps.py",),
        "steps that lead to the first bar, not to the hardest",
    ),
    Row(
        "rhythm/practice/steps.py",
        "spot.written([known, done])",
        "spot.written([done, done])",
        ("tests/practice/test_steps.py",),
        "a step without what is known already",
    ),
    Row(
        "rhythm/practice/steps.py",
        "if cell == each.cell and onsets < each.onsets:",
        "if False:",
        ("tests/practice/test_steps.py",),
        "sixteenths before the eighths that lead to them",
    ),
    Row(
        "rhythm/practice/players.py",
        "step = (end - start) / (3 if ternary else 2)",
        "step = (end - start) / 2",
        ("tests/practice/test_players.py",),
        "compound beats divided in two",
    ),
    Row(
        "rhythm/practice/players.py",
        "part.marks if number == 1 or not says_tempo(mark)",
        "part.marks if not says_tempo(mark)",
        ("tests/practice/test_players.py",),
        "a class score without the tempo of the theme",
    ),
    Row(
        "rhythm/practice/measures.py",
        "total += (2 if crosses else 1) * beat / distance",
        "total += beat / distance",
        ("tests/practice/test_difficulty.py",),
        "a syncopation no farther from the beat than a plain offbeat",
    ),
    Row(
        "rhythm/practice/measures.py",
        "max(0, heaviest - line.weight(onset))",
        "max(0, line.weight(onset) - heaviest)",
        ("tests/practice/test_difficulty.py",),
        "notes on the beat counted as syncopated",
    ),
    Row(
        "rhythm/practice/syllables.py",
        'if ternary and grid == 1:\n        return "compound"',
        'if ternary and grid == 1:\n        return "simple"',
        ("tests/practice/test_counting.py",),
        "a dotted beat counted as a plain one",
    ),
    Row(
        "rhythm/practice/syllables.py",
        '"gordon": Table(_system("du ta de ta"',
        '"gordon": Table(_system("du de ta ta"',
        ("tests/practice/test_counting.py",),
        "gordon says de too early",
    ),
    Row(
        "rhythm/practice/syllables.py",
        'return "half-triplets" if one_triplet and not ternary else "compound"',
        'return "compound"',
        ("tests/practice/test_counting.py",),
        "a triplet in half a beat counted over the whole",
    ),
    Row(
        "rhythm/practice/counting.py",
        'words[home][moment].append((beat.start, f"({beat.number})"))',
        'words[home][moment].append((beat.start, f"{beat.number}"))',
        ("tests/practice/test_counting.py",),
        "a beat on which nothing begins counted aloud",
    ),
    Row(
        "rhythm/practice/counting.py",
        "place = (event.onset - beat.start) / beat.length\n            texts",
        "place = (event.onset - beat.start)\n            texts",
        ("tests/practice/test_counting.py",),
        "places counted in whole notes, not in beats",
    ),
    Row(
        "rhythm/practice/counting.py",
        "at, number = bar.start - bar.shift, 0",
        "at, number = bar.start, 0",
        ("tests/practice/test_counting.py",),
        "an upbeat counted as beat one",
    ),
    Row(
        "rhythm/practice/instrument_parts.py",
        "- instrument.sounds[1]\n    usual",
        "+ instrument.sounds[1]\n    usual",
        ("tests/practice/test_instruments.py",),
        "a clarinet's part written lower, not higher",
    ),
    Row(
        "rhythm/practice/instrument_parts.py",
        "return outside, away",
        "return 0, away",
        ("tests/practice/test_instruments.py",),
        "a part left outside the compass of its instrument",
    ),
    Row(
        "rhythm/practice/instrument_parts.py",
        "ways, key=lambda way: max(abs(key + way) for _, key in keys) > _MOST_SIGNS",
        "ways, key=lambda way: 0",
        ("tests/practice/test_instruments.py",),
        "a key of more than six signs",
    ),
]
