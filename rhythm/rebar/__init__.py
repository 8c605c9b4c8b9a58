"""Bar lines off and on: rebar, group, tuplet, and the releasing of tuplets.

:mod:`~rhythm.rebar.unbarring` lifts bars out of a score as a :mod:`~rhythm.rebar.passage`, a verb
or a device changes it and plans new bars (:mod:`~rhythm.rebar.bar_plan`), and
:mod:`~rhythm.rebar.rebuilding` lays the music onto them: events, marks
(:mod:`~rhythm.rebar.marks`), bar numbers and the edges of the passage.
"""
