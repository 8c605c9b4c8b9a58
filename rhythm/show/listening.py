"""What is used to listen: the form of the ear, and what can be done by pointing and by keyboard."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

__all__ = ["HINT", "listening"]

HINT = (
    '<p class="hint">Point at a bar, or walk through the bars with the arrow keys, up and down '
    "between before and after. <kbd>Enter</kbd> plays on from a bar, with <kbd>Shift</kbd> up to "
    "it, over and over. <kbd>Space</kbd> plays and stops.</p>\n"
)
"""What can be done by pointing and by keyboard."""


def listening(names: Sequence[str]) -> str:
    """The form of the ear, for one version or for two with these names."""
    which = ""
    if len(names) == 2:
        choices = [
            ("a", names[0], ""), ("b", names[1], " checked"), ("turns", "in turns", ""),
        ]  # fmt: skip
        which = "<fieldset><legend class=\"unseen\">Which</legend>" + "".join(
            f'<label><input type="radio" name="which" value="{value}"{chosen}>{escape(name)}'
            "</label>"
            for value, name, chosen in choices
        ) + "</fieldset>"  # fmt: skip
    return (
        '<form id="ear" class="ear" aria-label="Listen">'
        '<button name="play" aria-pressed="false">Play</button>'
        f"{which}"
        '<label>from bar <select name="from"></select></label>'
        '<label><input type="checkbox" name="loop">over and over</label>'
        '<label>to bar <select name="to"></select></label>'
        '<label>speed <input type="range" name="speed" min="25" max="200" step="5" value="100">'
        '<output id="speed-said">100%</output></label>'
        '<label>click <select name="click"><option value="off">off</option>'
        '<option value="beats">beats</option><option value="divisions">divisions</option></select>'
        "</label>"
        '<label><input type="checkbox" name="count">count-in</label>'
        '<label>volume <input type="range" name="volume" min="0" max="100" value="70"></label>'
        '<label><input type="checkbox" name="follow" checked>follow</label>'
        "</form>\n"
    )
