"""The classical rhythmic devices: their arithmetic, and what each does to a score.

``patterns`` and ``durations`` are arithmetic on plain sequences. ``scaling``, ``reordering``,
``cyclic_rhythms``, ``displacement``, ``against_the_beat`` and ``grouping`` apply it to music lifted
off its bars; ``registry`` names every device and ``arguments`` reads what each is given.
:mod:`rhythm.devices.vary` chains them.
"""
