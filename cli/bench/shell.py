"""The page of the bench without music: its skeleton, how music looks, and what can be said."""

from __future__ import annotations

import json
from importlib import resources

__all__ = ["made", "own"]

_SIGNS = (range(0xECA0, 0xECC0), range(0xE4E0, 0xE4F0), range(0xE260, 0xE265),
          range(0xE520, 0xE53A))  # fmt: skip
"""Notes and rests, accidentals and dynamics in text, in the Standard Music Font Layout."""


def own(name: str, package: str | None = __package__) -> str:
    """A file of the page, of the bench's own or of the ``package`` whose page it shares."""
    return (resources.files(package or "") / "web" / name).read_text(encoding="utf-8")


def made() -> dict[str, str]:
    """The skeleton (``home``), the ``style`` of music, and the ``words`` of the sentences."""
    from rhythm.show.drawing import STYLE
    from rhythm.show.music_font import font_face
    from rhythm.show.page import HINT, listening, web_file

    from .wording import words

    home = own("index.html").replace("<!--listening-->", listening(("before", "after")))
    font = font_face(f"{sign:04X}" for run in _SIGNS for sign in run)
    return {
        "home": home.replace("<!--hint-->", HINT),
        "style": font + STYLE + web_file("page.css") + web_file("gallery.css"),
        "words": json.dumps(words(), ensure_ascii=False),
    }
