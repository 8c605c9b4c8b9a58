"""Seeded damage to scores, put through every command: ``python -m tests.fuzz``.

A mutant is a seed (a score of the general-purpose library's corpus or of its test suite, or one
written in the tests) with a few changes that know what they change: a duration, a tie, a bar, an
encoding, a member of an archive. Each mutant goes through some commands, every one in a process of
its own with limits of time and memory; what came of it is judged from outside, by its exit code,
by what it said, and by the files it left.

    python -m tests.fuzz                        # 3,000 mutants
    python -m tests.fuzz --mutants 500 --first 1000
    python -m tests.fuzz --only 1234 --keep folder

The same numbers make the same mutants and the same commands on every machine with the same corpus.
"""
