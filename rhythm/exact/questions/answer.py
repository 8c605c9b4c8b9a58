"""An answer to a question, and how lengths, counts and times are said in words."""

from __future__ import annotations

from gmpy2 import mpq

from rhythm.exact.frozen import dataclass
from rhythm.exact.values import format_value, name_value

__all__ = ["Answer", "article", "called", "clock", "decimals", "mixed", "with_fraction"]


@dataclass(frozen=True, slots=True)
class Answer:
    """``text`` is the sentence; what else was found is there, the rest None.

    ``value`` is a length, ``count`` a number of notes, beats or bars, ``fits`` whether it fits,
    ``seconds`` how long it lasts, ``tempo`` beats a minute.
    """

    text: str
    value: mpq | None = None
    count: mpq | None = None
    fits: bool | None = None
    seconds: mpq | None = None
    tempo: mpq | None = None

    def to_dict(self) -> dict[str, object]:
        """Plain values for JSON; exact values as texts."""
        found: dict[str, object] = {"answer": self.text}
        for name in ("value", "count", "seconds", "tempo"):
            amount = getattr(self, name)
            if amount is not None:
                found[name] = format_value(amount)
        if self.fits is not None:
            found["fits"] = self.fits
        return found


def article(name: str) -> str:
    """``an eighth``; what begins with a figure, or is a sum, goes without."""
    if name[0].isdigit() or " + " in name:
        return name
    return f"an {name}" if name[0] in "aeio" else f"a {name}"


def called(length: mpq) -> str:
    """A length in words with its article; a fraction where it has no name."""
    if length <= 0:
        return "nothing" if not length else format_value(length)
    return article(name_value(length))


def with_fraction(length: mpq) -> str:
    """A length in words and as a fraction: ``an eighth (1/8)``."""
    named = called(length)
    return named if named[0].isdigit() else f"{named} ({format_value(length)})"


def mixed(amount: mpq) -> str:
    """``2``, ``2 2/3``, ``2/3``."""
    whole, rest = divmod(amount, 1)
    if not rest:
        return str(int(whole))
    return f"{int(whole)} {rest}" if whole else str(rest)


def decimals(amount: mpq, places: int) -> str:
    """A decimal text, rounded half up, without needless noughts."""
    scale = 10**places
    whole, rest = divmod(int((amount * scale * 2 + 1) // 2), scale)
    return f"{whole}.{rest:0{places}d}".rstrip("0").rstrip(".") if rest else str(whole)


def clock(seconds: mpq) -> str:
    """``3 seconds``, ``about 0.67 seconds``, ``1 minute 4 seconds (64 seconds)``."""
    shown = decimals(seconds, 2)
    about = "" if mpq(shown) == seconds else "about "
    unit = "second" if shown == "1" else "seconds"
    if seconds < 60:
        return f"{about}{shown} {unit}"
    minutes, rest = divmod(seconds, 60)
    plural = "s" if minutes > 1 else ""
    tail = f" {decimals(rest, 2)} seconds" if decimals(rest, 2) != "0" else ""
    return f"{about}{int(minutes)} minute{plural}{tail} ({shown} {unit})"
