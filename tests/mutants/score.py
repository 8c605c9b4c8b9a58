"""Small wrong changes in ``rhythm/score/``."""

from .row import Row

__all__ = ["ROWS"]

ROWS: list[Row] = [
    Row(
        "rhythm/score/select.py",
        "found.update(range(start, end + 1))",
        "found.update(range(start, end))",
        ("tests/score/test_select.py",),
        "5-8 without bar 8",
    ),
    Row(
        "rhythm/score/select.py",
        "if part in (each.id, each.name))",
        "if part == each.id)",
        ("tests/score/test_select.py",),
        "a part not found by its name",
    ),
    Row(
        "rhythm/score/select.py",
        "end = _place(numbers, last, start) if last",
        "end = _place(numbers, last, 0) if last",
        ("tests/score/test_select.py",),
        "a range that ends in the movement before",
    ),
    Row(
        "rhythm/score/select.py",
        "return len(self.places) == self.last - self.first + 1",
        "return True",
        ("tests/score/test_select.py",),
        "bars with a gap taken for one passage",
    ),
    Row(
        "rhythm/score/readable.py",
        "_LARGEST_NUMBER = 15",
        "_LARGEST_NUMBER = 5000",
        ("tests/notate/test_legible.py",),
        "brackets of 512:513",
    ),
]
