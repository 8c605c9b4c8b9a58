"""Time one half of the work in a process of its own: ``learn`` a hand, or ``spell`` in the house's.

Prints seconds, reading and imports left out.
"""

import sys
import time

from rhythm.formats import read
from rhythm.notate.manner import learn
from rhythm.notate.score_notation import spell_score

if __name__ == "__main__":
    which, file = sys.argv[1:]
    score = read(file)
    start = time.perf_counter()
    if which == "learn":
        learn(score)
    else:
        spell_score(score, hints=False)
    sys.stdout.write(f"{time.perf_counter() - start:.6f}")
