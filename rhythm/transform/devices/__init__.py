"""The classical rhythmic devices: their arithmetic, and what each does to a score.

``patterns`` and ``durations`` are arithmetic on plain sequences. ``scaling``, ``order``,
``cycles``, ``feel`` and ``density`` apply it to music lifted off its bars; ``registry`` names
every device and ``arguments`` reads what each is given. :mod:`rhythm.transform.vary` chains them.
"""
