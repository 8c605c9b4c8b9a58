"""By way of other libraries: MIDI by music21, Humdrum by verovio, and music21's streams.

Both libraries meet files from strangers in a process of their own, with limits on memory and time:
a file of forty bytes can claim a note of months.
"""
