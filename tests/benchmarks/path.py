"""Take a score from bytes to bytes once and print the seconds: ``bare`` through lxml, or ``ours``.

A process of its own for each time: lxml keeps every name and short text it has ever met, and gets
slower by it, so that in one long process the later files would compare too well. Each way imports
only what it needs, so that whole processes can be compared too.
"""

import sys
import time
from pathlib import Path

which, file = sys.argv[1:]
data = Path(file).read_bytes()
if which == "bare":
    from lxml import etree

    start = time.perf_counter()
    tree = etree.fromstring(data)
    made = etree.tostring(tree)
else:
    from rhythm.formats.musicxml.read.score_reader import read
    from rhythm.formats.musicxml.write.score_writer import to_bytes
    from rhythm.restate.restate import restated

    start = time.perf_counter()
    score = read(data)
    new = restated(score, "compound").score
    made = to_bytes(new)
print(time.perf_counter() - start)
