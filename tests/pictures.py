"""The pictures on the pages in docs/, drawn by the project itself: ``python -m tests.pictures``."""

import re
import sys
from pathlib import Path

import rhythm
from rhythm.show.sheet import svg
from tests.tiny import melody

ROOT = Path(__file__).parents[1]
FOLDER = ROOT / "docs" / "pictures"
THEME = ROOT / "cli" / "themes" / "ropewalk.musicxml"
CAROL = ROOT / "examples" / "reed-carol.musicxml"
BARS = {
    "four-beats-lilting": ("4/4", "1/8 1/8 1/4 1/8 1/8 1/4", "12/8", "trochee"),
    "four-beats-snapped": ("4/4", "1/8 1/8 1/4 1/8 1/8 1/4", "12/8", "iamb"),
    "four-beats-in-three": ("4/4", "1/4 1/4 1/4 1/4", "3/4", "trochee"),
    "three-beats-in-four": ("3/4", "1/4 1/4 1/4", "4/4", "trochee"),
    "three-beats-in-four-iamb": ("3/4", "1/4 1/4 1/4", "4/4", "iamb"),
    "four-beats-in-seven": ("4/4", "1/4 1/4 1/4 1/4", "2+2+3/8", "trochee"),
}
"""One bar, and what becomes of it: its metre, its values, the target and the lilt."""


def pictures() -> dict[str, str]:
    """Every picture by its name."""
    # A tempo mark's note needs a font that not every viewer of drawings finds.
    plain = re.sub(
        rb"<direction-type>\s*<metronome>.*?</direction-type>", b"", THEME.read_bytes(), flags=re.S
    )
    theme = rhythm.excerpt(rhythm.read(plain), bars="1-4")
    lilting = rhythm.restate(theme, "compound")
    limping = rhythm.restate(theme, "5/8")
    made = {
        "before-over-after": stacked(theme, lilting),
        "limping": stacked(theme, limping),
        "fit-exact": stacked(lilting, rhythm.restate(theme, "compound", fit="exact")),
    }
    carol = rhythm.read(CAROL)
    made["hand-source"] = stacked(carol)
    for name, manner in (("hand-kept", "source"), ("hand-house", "house")):
        made[name] = stacked(rhythm.rebar(carol, "9/8", manner=manner))
    for name, (metre, values, target, lilt) in BARS.items():
        bar = melody(metre, values)
        made[name] = stacked(bar, rhythm.restate(bar, target, lilt=lilt), width=560)
    return made


def stacked(*scores: rhythm.Score, width: int = 1250) -> str:
    """Scores engraved one under the other."""
    drawn, top, widest = [], 0, 0
    for score in scores:
        one = svg(score, width=width)
        one = one[one.index("<svg") :]
        size = re.search(r'viewBox="0 0 (\d+)(?:\.\d+)? (\d+)', one)
        across, height = int(size[1]), int(size[2])
        head, rest = one.split(">", 1)
        head = re.sub(r' (?:x|y|width|height)="[^"]*"', "", head)
        drawn.append(f'{head} y="{top}" width="{across}" height="{height}">{rest}')
        top, widest = top + height, max(widest, across)
    return on_white(
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {widest} {top}">\n'
        + "\n".join(drawn)
        + "\n</svg>\n"
    )


def on_white(drawing: str) -> str:
    """The drawing on white paper: pages are read on dark screens too."""
    head, rest = drawing[drawing.index("<svg") :].split(">", 1)
    return f'{head}>\n<rect width="100%" height="100%" fill="white"/>{rest}'


if __name__ == "__main__":
    FOLDER.mkdir(exist_ok=True)
    for name, drawing in pictures().items():
        (FOLDER / f"{name}.svg").write_text(drawing, encoding="utf-8")
        sys.stdout.write(f"wrote docs/pictures/{name}.svg\n")
