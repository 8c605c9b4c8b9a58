"""In every metre: the guises of what stands on the bench, some at a time, and all as a page."""

from __future__ import annotations

from collections.abc import Mapping
from time import monotonic
from typing import Any

from .given import Given
from .music import Rows, options, plain, result

__all__ = ["guises", "guises_page"]

_MOMENT = 1.2  # seconds after which those that were found are shown


def guises(
    given: Given,
    rows: Rows,
    told: Mapping[str, Any],
    so_far: Mapping[str, Any],
    moment: float = _MOMENT,
) -> dict[str, Any]:
    """The next guises of the music after a chain: as many as a ``moment`` of so many seconds
    allows, and at least one.

    ``so_far`` is what the last answer gave back: the ``next`` way to try, those that were ``heard``
    and the ``head`` over the last of them. Each is given with the step that makes it.
    """
    from rhythm.every_metre import count_of_ways, tried
    from rhythm.show.gallery import gallery_body, gallery_entries

    asked = {"first": 8, "most": 60, **options("guises", told, given)}
    score = result(given, rows)
    following = _whole(so_far.get("next"))
    heard = [str(each) for each in so_far.get("heard") or ()]
    first = len(heard)
    under = str(so_far.get("head") or "")
    found = []
    until = monotonic() + moment
    ended = False
    for number, made in tried(score, first=asked["first"], after=following):
        following = number + 1
        if made is not None and made.heard not in heard:
            heard.append(made.heard)
            found.append(made)
        ended = len(heard) >= asked["most"]
        if ended or (found and monotonic() > until):
            break
    else:
        ended = True
    entries, glyphs, _ = gallery_entries([each.entry for each in found], first)
    return {
        "title": score.title or given.name,
        "html": gallery_body(entries, under),
        "glyphs": glyphs,
        "entries": [
            {key: each[key] for key in ("name", "prefix", "performance")} for each in entries
        ],
        "steps": [plain(each.step) for each in found],
        "so_far": {
            "next": following, "heard": heard, "head": found[-1].head if found else under,
        },
        "ways": count_of_ways(score),
        "ended": ended,
    }  # fmt: skip


def _whole(told: object) -> int:
    return told if isinstance(told, int) and told > 0 else 0


def guises_page(given: Given, rows: Rows, told: Mapping[str, Any]) -> bytes:
    """All of them as a page of its own, to take away."""
    from rhythm.every_metre import guises as made
    from rhythm.every_metre import guises_page as page

    score = result(given, rows)
    return page(score, made(score, **options("guises", told, given))).encode()
