"""The music on its timeline.

:mod:`~rhythm.score.model` holds the values every verb takes and returns,
:mod:`~rhythm.score.bar_roles` knows what short bars are,
:mod:`~rhythm.score.passages` which bars a passage names,
:mod:`~rhythm.score.concatenation` cuts and joins.
"""
