"""Faults put into right scores on purpose: how many does the checker tell, where, and how often?

``python -m tests.injection`` takes real scores in which nothing is at fault, puts one fault at a
time into a copy of the file, as a slip of the pen or of a program would leave it, and asks
``check`` and ``mend`` about it. Everything is drawn from a seed, so that two runs are alike.

What counts
-----------
Not every slip can be seen. A note lost from a second voice that came in for a beat only leaves a
shorter second voice, and that is music; a stop mark that a tie lacks, a bar line too many, a bar
missing in every part and a last bar cut short are remarks by this project's own rules, and no
faults. Each slip says what it is: a *fault* counts under "told", a *remark* is listed in its own
column. A slip has a *unique remedy* where the file itself still says how it was (the duration of
a note whose type is wrong, the hole of a note that got another voice's number); a value lost
altogether has none, and then a mended bar need only add up again.
"""
