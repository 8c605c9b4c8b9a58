"""What a plain music21 script does to put a simple metre into its compound partner."""

import sys
from fractions import Fraction

from music21 import converter, meter, stream


def lilted(offset: Fraction) -> Fraction:
    """Quarter beat to dotted-quarter beat, the middle going to two thirds."""
    beat, inside = divmod(Fraction(offset), 1)
    image = inside * 2 if inside <= Fraction(1, 2) else 1 + (inside - Fraction(1, 2))
    return beat * Fraction(3, 2) + image


score = converter.parse(sys.argv[1], forceSource=True)
for part in score.parts:
    start = Fraction(0)
    for bar in part.getElementsByClass(stream.Measure):
        for signature in bar.getElementsByClass(meter.TimeSignature):
            if signature.denominator == 4:
                new = meter.TimeSignature(f"{signature.numerator * 3}/8")
                bar.replace(signature, new)
        for holder in bar.voices or [bar]:
            for element in holder.notesAndRests:
                a = lilted(Fraction(element.offset))
                b = lilted(Fraction(element.offset) + Fraction(element.quarterLength))
                holder.setElementOffset(element, a)
                if not element.duration.isGrace:
                    element.quarterLength = b - a
        part.setElementOffset(bar, start)
        start += Fraction(bar.highestTime)
score.write("musicxml", sys.argv[2])
