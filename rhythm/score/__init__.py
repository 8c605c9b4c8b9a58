"""The music on its timeline, and how rhythm is spelled.

:mod:`~rhythm.score.model` holds the values every verb takes and returns;
:mod:`~rhythm.score.spelling` writes exact events as notes a player reads at sight;
:mod:`~rhythm.score.bars` knows what short bars are; :mod:`~rhythm.score.splice` cuts and joins.
"""
