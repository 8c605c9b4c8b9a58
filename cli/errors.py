"""What is said of an error, and the exit code it ends with: translated here and nowhere else."""

from __future__ import annotations

import os
import re
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from rhythm.score.model import Score

__all__ = ["DEFECT", "FAULT", "INTERRUPTED", "REQUEST", "clean", "laid_to", "line", "said"]

_LONGEST = 1000
FAULT, REQUEST, DEFECT, INTERRUPTED = 1, 2, 70, 130

# Everything under the space except line ends and tabs, the delete sign, and the codes above it.
_COMMANDS = re.compile(r"[\x00-\x08\x0b-\x1f\x7f-\x9f\u2028\u2029\u202a-\u202e\u2066-\u2069]")


def said(error: Exception) -> tuple[str, int]:
    """The line and the exit code for an error that is not click's.

    With REMETRE_TRACEBACK set, a defect is raised again, to show where it is.
    """
    from rhythm.exact.errors import MusicError, ProofError, RemetreError

    if isinstance(error, ProofError):
        return str(error), DEFECT
    if isinstance(error, RemetreError):
        return str(error), FAULT if isinstance(error, MusicError) else REQUEST
    if isinstance(error, OSError):
        missing = isinstance(error, FileNotFoundError)
        problem = "there is no such file" if missing else error.strerror or str(error)
        return f"{error.filename}: {problem}" if error.filename else problem, REQUEST
    if isinstance(error, (MemoryError, RecursionError)):
        return "this is too large or too deeply nested to be worked on", REQUEST
    if os.environ.get("REMETRE_TRACEBACK"):
        raise error
    kind = type(error).__name__
    return (
        f"a defect of this program, not of your score: {kind}: {error}; "
        "set REMETRE_TRACEBACK=1 to see where",
        DEFECT,
    )


@contextmanager
def laid_to(score: Score, *, anywhere: bool = False) -> Iterator[None]:
    """A proof that fails in here is the music's fault where the score is at odds with itself."""
    from rhythm.exact.errors import ProofError

    try:
        yield
    except ProofError as failed:
        from rhythm.writing import laid_to as traced

        raise traced(failed, score, anywhere=anywhere) from None


def line(text: str) -> str:
    """The text as one line that a terminal can show, whatever a file put into it."""
    told = clean(" ".join(text.split()))
    return told if len(told) <= _LONGEST else f"{told[: _LONGEST // 2]} ... {told[-100:]}"


def clean(text: str) -> str:
    """The text without what would command a terminal: titles and names come from strangers."""
    return _COMMANDS.sub("\ufffd", text)
