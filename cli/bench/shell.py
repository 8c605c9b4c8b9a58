"""The page of the bench without music: its skeleton, how music looks, and what can be said."""

from __future__ import annotations

import json
import threading
from functools import lru_cache
from importlib import resources

__all__ = ["own", "signs", "skeleton", "style", "words"]

_making = threading.Lock()
_SIGNS = (range(0xECA0, 0xECC0), range(0xE4E0, 0xE4F0), range(0xE260, 0xE265),
          range(0xE520, 0xE53A))  # fmt: skip
"""Notes and rests, accidentals and dynamics in text, in the Standard Music Font Layout."""
_FONT = '@font-face{font-family:"Remetre Signs";src:url(signs.woff) format("woff")}\n'


def own(name: str, package: str | None = __package__) -> str:
    """A file of the page, of the bench's own or of the ``package`` whose page it shares."""
    return (resources.files(package or "") / "web" / name).read_text(encoding="utf-8")


@lru_cache(maxsize=1)
def skeleton() -> str:
    """The page before any music stands on it."""
    from rhythm.show.listening import HINT, listening

    home = own("index.html").replace("<!--listening-->", listening(("before", "after")))
    return home.replace("<!--hint-->", HINT)


@lru_cache(maxsize=1)
def style() -> str:
    """How music looks."""
    from rhythm.show.drawing import STYLE

    shared = own("page.css", "rhythm.show") + own("gallery.css", "rhythm.show")
    return _FONT + STYLE + shared


def signs() -> bytes:
    """The font with the signs of music in text; for a worker to make."""
    from rhythm.show.music_font import music_font

    return music_font(frozenset(f"{sign:04X}" for run in _SIGNS for sign in run), "woff")


def words() -> str:
    """What can be said in sentences.

    The server makes it while a worker loads what music needs, and has what it says in texts then.
    """
    with _making:
        return _words()


@lru_cache(maxsize=1)
def _words() -> str:
    from . import carrying  # noqa: F401 - asked for as soon as the page stands
    from .wording import words as all_words

    return json.dumps(all_words(), ensure_ascii=False)
