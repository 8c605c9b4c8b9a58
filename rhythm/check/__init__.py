"""The bar ledger: does every bar of every voice add up, and if not, where, by how much, and why.

:mod:`~rhythm.check.ledger` looks, :mod:`~rhythm.check.mending` puts right. Real scores are full of
bars that look wrong and are right (upbeats, split bars, partial and hidden voices, rounded ticks);
a checker that cries wolf is not used twice, so only what a reader of the page would call wrong is a
fault.
"""
