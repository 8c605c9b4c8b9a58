"""The same music in another metre or feel: align, map, fit, notate.

:mod:`~rhythm.restate.targets` says which metre every bar gets, :mod:`~rhythm.restate.align` which
moment goes where, :mod:`~rhythm.restate.fit` where a musician would write it,
:mod:`~rhythm.restate.marks` what goes along, :mod:`~rhythm.restate.placement` where a restated
passage stands, :mod:`~rhythm.restate.report` what was done. :mod:`~rhythm.restate.restate` joins
them for a whole score.
"""
