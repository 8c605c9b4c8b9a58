"""Showing: a score, or a score before and after, on a page; where show meets the layers above it.

The page's drawings and sounds are made in :mod:`rhythm.show`, which knows neither the checker nor
the fit nor a way of counting; they are joined here. Each function imports what it needs when it is
called.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from html import escape
from typing import TYPE_CHECKING, Any

from gmpy2 import mpq

from rhythm.score.model import Score
from rhythm.score.outcome import Report

if TYPE_CHECKING:
    from rhythm.check.ledger_rows import Ledger
    from rhythm.restate.report import Report as Restatement
    from rhythm.show.contents import Outline

__all__ = ["Page", "notebook", "page", "page_outline"]

_FRAME = 640
_MOST = 900
_MOST_SHOWN = 600  # notes and rests in a notebook, so that its file stays small


class Page(str):
    """A page as HTML text; a notebook shows it as what it is, in a frame of its own."""

    __slots__ = ()

    def _repr_html_(self) -> str:
        rows = self.count('<section class="row-of-music">')
        height = min(_MOST, _FRAME // 2 + rows * _FRAME // 4)
        return (
            f'<iframe srcdoc="{escape(self)}" title="score" loading="lazy"'
            f' style="width:100%;height:{height}px;border:0"></iframe>'
        )


def notebook(score: Score) -> str:
    """A score as a notebook shows it: its page in a frame; of a long one the first bars."""
    shown, most = 0, 0
    counts = Counter(event.bar for _, _, event in score.events())
    for bar in score.bars:
        most += counts[bar.index]
        if most > _MOST_SHOWN and shown:
            break
        shown += 1
    if shown == len(score.bars):
        return page(score)._repr_html_()
    from rhythm.score.excerpt import excerpt
    from rhythm.score.select import Bars

    first = excerpt(score, bars=Bars.run(0, shown - 1))
    return (
        f"{page(first)._repr_html_()}<p>The first {shown} of {len(score.bars)} bars; "
        "<code>rhythm.page(score)</code> shows them all.</p>"
    )


def page(
    score: Score,
    before: Score | None = None,
    *,
    report: Restatement | Report | None = None,
    title: str = "",
    names: tuple[str, str] = ("before", "after"),
    count: str = "numbers",
    ledger: Ledger | None = None,
) -> Page:
    """A page to open in a browser: ``score``, under ``before`` where that is given.

    ``report`` is what the verb told; a restatement's says why notes were moved. ``title``
    is the score's own where it is empty; ``names`` are what to call the two versions; ``count`` is
    the way of counting (numbers, takadimi, gordon, kodaly) in which places are named; ``ledger``
    is what the checker said of ``score``, which is asked where it is None.

    Raises MusicError where a score cannot be engraved, RequestError for an unknown ``count``.
    """
    from rhythm.show.contents import contents, outline
    from rhythm.show.page import page as made

    known = _known(score, before, report, title, names, count, ledger)
    return Page(made(contents(outline(score, before, **known))))


def page_outline(
    score: Score,
    before: Score | None = None,
    *,
    report: Restatement | Report | None = None,
    title: str = "",
    names: tuple[str, str] = ("before", "after"),
    count: str = "numbers",
) -> Outline:
    """What :func:`page` shows, as plain data, before anything is drawn."""
    from rhythm.show.contents import outline

    return outline(score, before, **_known(score, before, report, title, names, count, None))


def _known(
    score: Score,
    before: Score | None,
    report: Restatement | Report | None,
    title: str,
    names: tuple[str, str],
    count: str,
    ledger: Ledger | None,
) -> dict[str, Any]:
    """What the layers above the page have to tell it."""
    from functools import partial

    from rhythm.check.ledger import check
    from rhythm.practice.counting import syllables

    return {
        "title": title or _called(score, *([] if before is None else [before])),
        "names": names,
        "counting": partial(syllables, system=count),
        "why": _reasons(report),
        "patterns": _patterns(report),
        "faults": _faults(check(score) if ledger is None else ledger),
        "lines": _lines(report),
    }


def _called(*scores: Score) -> str:
    """The first title of the scores; without any the name of the file that one came from."""
    from rhythm.formats.musicxml.titles import named_after

    titles = [score.title for score in scores]
    files = [named_after(score.path) for score in scores]
    return next((name for name in (*titles, *files) if name), "")


def _faults(ledger: Ledger) -> dict[int, list[str]]:
    found: dict[int, list[str]] = {}
    for fault in ledger.faults:
        found.setdefault(fault.index, []).append(str(fault))
    return found


def _patterns(report: Restatement | Report | None) -> list[tuple[str, str, int, str]]:
    if report is None or not hasattr(report, "beats"):
        return []
    return [(beat.source, beat.image, beat.count, beat.why) for beat in report.beats]


def _reasons(report: Restatement | Report | None) -> Callable[[int, mpq], str] | None:
    """Why what stands at an offset of a bar was moved, as the report knows."""
    if report is None or not hasattr(report, "reasons"):
        return None
    known = report.reasons
    return lambda bar, offset: known.get((bar, offset), "")


def _lines(report: Restatement | Report | None) -> tuple[str, ...]:
    if report is None:
        return ()
    return tuple(filter(None, [str(report)]))
