"""For the lesson: how hard a rhythm is, how it is counted, and sheets of exercises by level.

:mod:`~rhythm.practice.measures` and :mod:`~rhythm.practice.difficulty` level,
:mod:`~rhythm.practice.counting` writes syllables, :mod:`~rhythm.practice.drills` enumerates
rhythms, :mod:`~rhythm.practice.exercises` makes the sheet and its answers.
"""
