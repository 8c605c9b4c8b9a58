"""Take a score from bytes to bytes once and print the seconds: ``bare`` through lxml, or ``ours``.

A process of its own for each time: lxml keeps every name and short text it has ever met, and gets
slower by it, so that in one long process the later files would compare too well.
"""

import sys
import time
from pathlib import Path

from lxml import etree

from rhythm.formats.musicxml.reader import read
from rhythm.formats.musicxml.writer import to_bytes
from rhythm.verbs import restate

which, file = sys.argv[1:]
data = Path(file).read_bytes()
start = time.perf_counter()
if which == "bare":
    tree = etree.fromstring(data)
    made = etree.tostring(tree)
else:
    score = read(data)
    new = restate(score, "compound")
    made = to_bytes(new)
print(time.perf_counter() - start)
