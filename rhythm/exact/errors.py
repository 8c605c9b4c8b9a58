"""Errors that a musician can act on: one line, saying what, where, and what would be legal.

The facts travel as attributes; ``str(error)`` is the line. The library raises, the command line
translates once: a :class:`MusicError` ends with exit code 1, a :class:`ProofError` with 70, every
other child with 2.
"""

from __future__ import annotations

from rhythm.exact.frozen import dataclass

__all__ = [
    "FileError",
    "KindError",
    "LimitError",
    "MusicError",
    "Place",
    "ProofError",
    "RemetreError",
    "RequestError",
]


@dataclass(frozen=True, slots=True)
class Place:
    """Where something stands: any of file, part, bar (as printed) and voice may be known."""

    file: str = ""
    part: str = ""
    bar: str = ""
    voice: str = ""

    def __str__(self) -> str:
        named = (("", self.file), ("part ", self.part), ("bar ", self.bar), ("voice ", self.voice))
        return ", ".join(label + value for label, value in named if value)


class RemetreError(Exception):
    """The root of every error this library raises on purpose.

    ``problem`` says what is wrong, ``place`` where, ``legal`` what would have been right.
    """

    def __init__(self, problem: str, *, place: Place | None = None, legal: str = "") -> None:
        super().__init__(problem)
        self.problem = " ".join(problem.split())
        self.place = place or Place()
        self.legal = " ".join(legal.split())

    def __str__(self) -> str:
        where = str(self.place)
        line = f"{where}: {self.problem}" if where else self.problem
        return f"{line}; {self.legal}" if self.legal else line

    def at(self, place: Place) -> RemetreError:
        """The same error with the parts of ``place`` it did not know yet filled in."""
        here = self.place
        merged = Place(
            here.file or place.file,
            here.part or place.part,
            here.bar or place.bar,
            here.voice or place.voice,
        )
        return type(self)(self.problem, place=merged, legal=self.legal)


class RequestError(RemetreError, ValueError):
    """The request cannot be understood or is out of range."""


class KindError(RequestError, TypeError):
    """What was given is of a kind that is not taken there: a float, a list for a text."""


class FileError(RemetreError, ValueError):
    """The file cannot be read, is not what it says it is, or may not be written."""


class LimitError(FileError):
    """The file holds more than any score needs: a longer bar, a larger ratio."""


class MusicError(RemetreError, ValueError):
    """The request is legal, the music does not allow it."""


class ProofError(RemetreError, AssertionError):
    """A written score did not prove equal to what was meant: a defect of this library.

    It is never the music's fault, nor that of the request, and it says so.
    """

    def __str__(self) -> str:
        line = super().__str__()
        return f"{line} (a defect of this program, not of your score; nothing was written)"
