"""From exact events to written notes: values, ties, rests, tuplets and beams that read at sight.

:mod:`~rhythm.notate.score_notation` goes through a score voice by voice and
:mod:`~rhythm.notate.bar_notation` writes one voice in one bar. They ask
:mod:`~rhythm.notate.metric_grid` (the bar as a tree), :mod:`~rhythm.notate.values` (which values
stand whole, and where others are tied), :mod:`~rhythm.notate.rests`,
:mod:`~rhythm.notate.tuplets` (where a bracket is written, and which) and
:mod:`~rhythm.notate.beams`. :mod:`~rhythm.notate.faircopy` writes a whole score out afresh.
"""
