"""The music on its timeline.

:mod:`~rhythm.score.model` holds the values every verb takes and returns,
:mod:`~rhythm.score.bar_roles` knows what short bars are,
:mod:`~rhythm.score.select` which bars, part and voice are meant,
:mod:`~rhythm.score.concatenation` cuts and joins.
"""
