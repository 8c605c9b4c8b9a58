"""One small wrong change."""

from dataclasses import dataclass

__all__ = ["Row"]


@dataclass(frozen=True)
class Row:
    """In ``file``, ``old`` (which stands there once) becomes ``new``; one of ``tests`` must fail.

    ``file`` is a path from the top of the tree. A test is a file under ``tests/`` or one test in
    it (``tests/check/test_mending.py::test_no_note_is_dropped``); name the quickest that fails.
    ``why`` says in a word what would be wrong with the music.
    """

    file: str
    old: str
    new: str
    tests: tuple[str, ...]
    why: str

    @property
    def name(self) -> str:
        """What to call the row in a report."""
        return f"{self.file}: {self.why}"
