"""Small wrong changes in ``rhythm/exact/``."""

from .row import Row

__all__ = ["ROWS"]

METRE = ("tests/exact/test_metre.py",)
VALUES = ("tests/exact/test_values.py",)
MAPS = ("tests/exact/test_time_map.py",)
RECKONING = ("tests/exact/test_reckoning.py",)
LENGTHS = ("tests/exact/test_metre_of_length.py",)

ROWS: list[Row] = [
    Row(
        "rhythm/exact/metre_of_length.py",
        "        if length * unit in counts:",
        "        if length * unit > 1:",
        LENGTHS,
        "4/8 for a half",
    ),
    Row(
        "rhythm/exact/metre_of_length.py",
        "(like.is_compound and count % 3 == 0 and count > 3)",
        "(count % 3 == 0 and count > 3)",
        LENGTHS,
        "12/4 beside 3/4",
    ),
    Row(
        "rhythm/exact/tree.py",
        "return [2, 2, 3]",
        "return [3, 2, 2]",
        METRE,
        "7/8 in threes first",
    ),
    Row(
        "rhythm/exact/tree.py",
        "[3] * (threes - (rest == 1)) + [2] * (3 - rest)",
        "[2] * (3 - rest) + [3] * (threes - (rest == 1))",
        METRE,
        "5/8 as 2+3, 8/8 as 2+3+3",
    ),
    Row(
        "rhythm/exact/tree.py",
        "unit >= 8 if compound is None",
        "unit > 8 if compound is None",
        METRE,
        "6/8 of six plain beats",
    ),
    Row(
        "rhythm/exact/tree.py",
        "ternary, plain = _beat(3, unit, 3), _beat(1, unit, 2)",
        "ternary, plain = _beat(3, unit, 2), _beat(1, unit, 2)",
        METRE,
        "a dotted beat that divides in two",
    ),
    Row(
        "rhythm/exact/tree.py",
        "self._known[node.start] = min(node.rank, self._known.get(node.start, OFF))",
        "self._known[node.start] = 2",
        METRE,
        "every boundary of a bar equally weak",
    ),
    Row(
        "rhythm/exact/tree.py",
        "return max(node.rank, 3) + halvings.bit_length() - 1",
        "return max(node.rank, 3) + halvings.bit_length()",
        METRE,
        "sixteenths a level too weak",
    ),
    Row(
        "rhythm/exact/tree.py",
        "if is_power_of_two(n) or n % 6 == 0:",
        "if is_power_of_two(n):",
        METRE,
        "18/8 in three pairs of beats, not in two threes",
    ),
    Row(
        "rhythm/exact/metre.py",
        "bisect_right(self._starts, inside) - 1]",
        "bisect_right(self._starts, inside) - 2]",
        METRE,
        "the beat before the one that is asked for",
    ),
    Row(
        "rhythm/exact/metre.py",
        "return Metre((Term((3 * sum(term.beats),), 2 * term.unit),))",
        "return Metre((Term((3 * sum(term.beats),), term.unit),))",
        METRE,
        "9/8 for the compound of 3/8",
    ),
    Row(
        "rhythm/exact/metre.py",
        "if divisions == 2 and unit >= 8 and (total == 8 or total % 6 == 0):",
        "if divisions == 2 and unit >= 8 and (total == 9 or total % 6 == 0):",
        METRE,
        "the simple partner of 24/16 as 8/8, which is 3+3+2",
    ),
    Row(
        "rhythm/exact/metre.py",
        "if self.grouping and sum(self.grouping) != self.length * self._unit:",
        "if self.grouping and sum(self.grouping) > self.length * self._unit:",
        METRE,
        "groups that do not fill their bar",
    ),
    Row(
        "rhythm/exact/pattern.py",
        "return self.metres[bar_index % len(self.metres)]",
        "return self.metres[min(bar_index, len(self.metres) - 1)]",
        METRE,
        "a cycle that does not begin again",
    ),
    Row(
        "rhythm/exact/pattern.py",
        "if count > 2 else",
        "if count > 9 else",
        METRE,
        "4/4 4/4 4/4 where a star is meant",
    ),
    Row(
        "rhythm/exact/values.py",
        '"quintuplet": mpq(4, 5),',
        '"quintuplet": mpq(5, 4),',
        VALUES,
        "a quintuplet sixteenth longer than a sixteenth",
    ),
    Row(
        "rhythm/exact/values.py",
        "return length * (2 - mpq(1, 2**dots)) * factor",
        "return length * (2 - mpq(1, 2 ** (dots + 1))) * factor",
        VALUES,
        "a name read with a dot too many",
    ),
    Row(
        "rhythm/exact/values.py",
        "if positive and result <= 0:",
        "if positive and result < 0:",
        VALUES,
        "a note that lasts no time",
    ),
    Row(
        "rhythm/exact/time_map.py",
        "if x1 <= x0 or y1 <= y0:",
        "if x1 <= x0 or y1 < y0:",
        MAPS,
        "two moments on one",
    ),
    Row(
        "rhythm/exact/time_map.py",
        "return TimeMap(tuple((x, other(self(x))) for x in xs))",
        "return TimeMap(tuple((x, self(other(x))) for x in xs))",
        MAPS,
        "maps one after the other in the wrong order",
    ),
    Row(
        "rhythm/exact/time_map.py",
        "return y + (t - x) * self._slopes[i]",
        "return y + (t - x)",
        MAPS,
        "between its points a map does not stretch",
    ),
    Row(
        "rhythm/exact/relations.py",
        "before * becomes / was)",
        "before * was / becomes)",
        RECKONING,
        "a new tempo upside down",
    ),
    Row(
        "rhythm/exact/relations.py",
        "normal = 1 << (notes.bit_length() - 1)",
        "normal = 1 << notes.bit_length()",
        RECKONING,
        "5:8 for a quintuplet",
    ),
    Row(
        "rhythm/exact/cycles.py",
        "return unit * int(lcm(*(int(length / unit) for length in lengths)))",
        "return unit * int(lcm(*(int(length / unit) for length in lengths))) * 2",
        RECKONING,
        "cycles that meet only the second time",
    ),
    Row(
        "rhythm/exact/cycles.py",
        "result = result * placed // i",
        "result = result * placed",
        RECKONING,
        "equal bars counted in every order",
    ),
    Row(
        "rhythm/exact/errors.py",
        "here.bar or place.bar,",
        "place.bar or here.bar,",
        ("tests/exact/test_errors.py",),
        "an error that names another bar than the one it knew",
    ),
]
