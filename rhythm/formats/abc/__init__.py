"""ABC, the text notation of tune books, read by the standard 2.1 and handed on as MusicXML.

Section numbers in this package are those of the ABC standard 2.1
(abcnotation.com/wiki/abc:standard:v2.1). Old books take liberties that are
read as they are meant: a tie to another pitch is a slur, letters stand for signs, a bar line may
be missing at a line's end.
"""
