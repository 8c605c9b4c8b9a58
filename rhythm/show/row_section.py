"""One row of a page as HTML."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

from rhythm.score.model import Score
from rhythm.show.drawing import Drawing

__all__ = ["row_section"]


def row_section(
    names: Sequence[str],
    prefixes: Sequence[str],
    scores: Sequence[Score],
    row: Sequence[Drawing | None],
) -> str:
    """One row of a page: a drawing of each version, room for threads, and for what is said."""
    both = len(scores) == 2
    systems = [
        _system(name, prefix, score, drawing, both)
        for name, prefix, score, drawing in zip(names, prefixes, scores, row, strict=True)
    ]
    gap = '<div class="gap"></div>' if both and all(row) else ""
    return (
        f'<section class="row-of-music">{gap.join(systems)}'
        '<p class="said" aria-live="polite"></p></section>'
    )


def _system(called: str, prefix: str, score: Score, drawing: Drawing | None, both: bool) -> str:
    if drawing is None:
        return ""
    numbers = [score.bars[bar].number for bar in drawing.bars]
    label = f"{called}, bars {numbers[0]} to {numbers[-1]}"
    name = f'<span class="name" aria-hidden="true">{escape(called)}</span>' if both else ""
    svg = drawing.svg.replace("<svg", f'<svg role="group" aria-label="{escape(label)}"', 1)
    return f'<div class="system" data-version="{prefix}">{name}{svg}</div>'
