"""What the verbs do, each from one score to a new one: restate, rebar, group, tuplet, vary.

Restating is made of :mod:`~rhythm.transform.align` (which moment goes where),
:mod:`~rhythm.transform.targets` (which metre), :mod:`~rhythm.transform.fit` (where a musician
would write it) and :mod:`~rhythm.transform.restate` (the whole score). Rebarring and the devices
lay music onto new bars through :mod:`~rhythm.transform.relay`.
"""
