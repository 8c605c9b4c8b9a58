"""A score to listen to in the browser: its notes in milliseconds, and a small player for the page.

Conventions
-----------
Times are whole milliseconds from the start, rounded once from exact time, so nothing drifts. Keys
are MIDI numbers (60 is middle C). Repeats are played out and tempo marks followed.
"""

from __future__ import annotations

import json
from bisect import bisect_right

from gmpy2 import mpq

from rhythm.score.model import Score
from rhythm.show.playing_order import playing_order
from rhythm.show.sounding import played_tempi, sounds

__all__ = ["PLAYER", "tune"]

PLAYER = """\
(() => {
  let stop = null;
  const play = (button) => {
    const context = new AudioContext();
    const begin = context.currentTime + 0.1;
    let last = 0;
    for (const [start, length, key] of JSON.parse(button.dataset.tune)) {
      const at = begin + start / 1000, end = at + length / 1000;
      const tone = context.createOscillator(), volume = context.createGain();
      tone.type = "triangle";
      tone.frequency.value = 440 * 2 ** ((key - 69) / 12);
      volume.gain.setValueAtTime(0, at);
      volume.gain.linearRampToValueAtTime(0.16, at + 0.015);
      volume.gain.exponentialRampToValueAtTime(0.02, Math.max(end - 0.02, at + 0.02));
      volume.gain.linearRampToValueAtTime(0, Math.max(end, at + 0.03));
      tone.connect(volume).connect(context.destination);
      tone.start(at);
      tone.stop(end + 0.05);
      last = Math.max(last, start + length);
    }
    const timer = setTimeout(() => stop && stop(), last + 400);
    button.textContent = "Be still";
    stop = () => {
      clearTimeout(timer);
      context.close();
      button.textContent = "Listen";
      stop = null;
    };
  };
  for (const button of document.querySelectorAll("button[data-tune]")) {
    button.addEventListener("click", () => {
      const mine = button.textContent !== "Listen";
      if (stop) stop();
      if (!mine) play(button);
    });
  }
})();
"""


def tune(score: Score) -> str:
    """Every note as ``[start, length, key]`` in a JSON list, for the page's player."""
    order = playing_order(score.bars)
    marks: list[tuple[mpq, mpq, mpq]] = []  # moment, milliseconds there, milliseconds a whole note
    for moment, tempo in played_tempi(score, order):
        pace = 240_000 / tempo
        if marks:
            before, reached, old = marks[-1]
            marks.append((moment, reached + (moment - before) * old, pace))
        else:
            marks.append((moment, mpq(0), pace))
    moments = [moment for moment, _, _ in marks]

    def clock(moment: mpq) -> int:
        at, reached, pace = marks[bisect_right(moments, moment) - 1]
        return int(reached + (moment - at) * pace + mpq(1, 2))

    notes = [
        [clock(sound.start), clock(sound.end) - clock(sound.start), sound.key]
        for part in score.parts
        for sound in sounds(part, score.bars, order)
    ]
    return json.dumps(sorted(notes), separators=(",", ":"))
