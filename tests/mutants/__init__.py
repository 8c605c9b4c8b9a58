"""Small wrong changes that the tests must notice: ``python -m tests.mutants``.

A test that passes whatever the code does is worse than none. Every row of the tables here replaces
one text in one file by a wrong one and names the tests that must then fail. The rows are applied
one at a time, each to a copy of the tree; a row is *caught* when one of its tests fails, and
*survives* when all pass. There is one table for each package, in the module of the same name:
``check.py`` holds the rows for ``rhythm/check/``, ``cli.py`` those for ``cli/``.

**Adding a row.** Take a line that decides something a musician would hear or see, make it wrong
as a tired programmer might, and name the test that speaks to a public verb or a written file and
fails. ``python -m tests.mutants check`` runs one table, ``python -m tests.mutants mend_ties`` the
rows whose file has such a name.

**Changing a line that a row names** breaks that row, and a test of the house says so: write the
row anew for the new line, or take it out where nothing is left to get wrong.
"""
