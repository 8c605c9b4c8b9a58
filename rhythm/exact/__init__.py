"""Exact time: note values, metres, patterns of metres, and the maps between them.

:mod:`~rhythm.exact.values` reads and names durations, :mod:`~rhythm.exact.metre` knows how a bar
is divided, :mod:`~rhythm.exact.metre_of_length` which metre a length makes,
:mod:`~rhythm.exact.pattern` repeats mixed bars, :mod:`~rhythm.exact.time_map` maps one stretch of
time onto another, :mod:`~rhythm.exact.errors` says what went wrong. This layer imports no other of
this library.
"""
