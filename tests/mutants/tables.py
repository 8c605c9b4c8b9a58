"""All tables, found by the names of our packages."""

from importlib import import_module

from .row import Row

__all__ = ["TABLES", "rows", "stale"]

TABLES = (
    "exact", "score", "notate", "formats", "show", "rebar", "restate", "devices", "check",
    "practice", "sentences", "cli",
)  # fmt: skip


def rows(table: str) -> tuple[Row, ...]:
    """The rows of one table, in the order in which they stand."""
    found = import_module(f"{__package__}.{table}").ROWS
    assert all(isinstance(row, Row) for row in found)
    return tuple(found)


def stale(row: Row, root) -> str:
    """Why this row cannot be applied to the tree at ``root``, or nothing."""
    path = root / row.file
    if not path.is_file():
        return "there is no such file"
    count = path.read_text(encoding="utf-8").count(row.old)
    if count != 1:
        return f"the old text stands there {count} times, not once"
    if row.old == row.new:
        return "nothing is changed"
    for test in row.tests:
        name, _, function = test.partition("::")
        if not (root / name).is_file():
            return f"there is no {name}"
        function = function.partition("[")[0]
        if function and f"def {function}(" not in (root / name).read_text(encoding="utf-8"):
            return f"there is no test {function} in {name}"
    return "" if row.tests else "no test is named"
