"""Humdrum ``**kern`` made into MEI by verovio, whose reader knows the format best."""

from __future__ import annotations

import re
from collections import Counter

from rhythm.formats.recognise import text_of

__all__ = ["mei_of_humdrum", "spines_left_out"]

_READ = frozenset({"**kern", "**text", "**silbe", "**dynam"})
_IN_MEI = frozenset({"**harm", "**mxhm", "**fb", "**Bfb", "**fing"})
_KIND = re.compile(r"\*\*[!-~]{1,30}")


def spines_left_out(data: bytes) -> Counter[str]:
    """How many spines there are of each kind that is not read: ``{"**root spines": 1}``.

    Harmony, figures and fingering come as far as MEI, and are counted there.
    """
    found: Counter[str] = Counter()
    for line in text_of(data).splitlines():
        if line.startswith("**"):
            kinds = [kind for kind in line.split("\t") if _KIND.fullmatch(kind)]
            found.update(f"{kind} spines" for kind in kinds if not _known(kind))
    return found


def _known(kind: str) -> bool:
    return kind in _READ or kind in _IN_MEI or kind.startswith("**cdata")


def mei_of_humdrum(data: bytes) -> bytes:
    """The MEI of a Humdrum file. Raises ValueError for what is none."""
    import verovio

    verovio.enableLog(verovio.LOG_OFF)
    toolkit = verovio.toolkit()
    toolkit.setOptions({"inputFrom": "humdrum"})
    text = text_of(data)
    if "**kern" not in text:
        raise ValueError("no **kern spine")
    if not toolkit.loadData(text):
        raise ValueError("its spines do not fit together")
    mei: str = toolkit.getMEI()
    return mei.encode()
