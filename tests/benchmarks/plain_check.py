"""What a plain music21 script does to check the bars of a score."""

import sys

from music21 import converter, stream

score = converter.parse(sys.argv[1], forceSource=True)
for part in score.parts:
    for bar in part.getElementsByClass(stream.Measure):
        expected = bar.barDuration.quarterLength
        for voice in bar.voices or [bar]:
            held = voice.highestTime
            if held != expected:
                print(part.partName, bar.measureNumber, held, expected)
