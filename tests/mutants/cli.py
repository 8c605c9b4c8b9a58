"""Small wrong changes in ``cli/``."""

from .row import Row

__all__ = ["ROWS"]

COMMANDS = ("tests/cli/test_commands.py",)
CHECK = ("tests/check/test_command.py",)

DOOR = ("tests/cli/test_front_door.py",)

ROWS: list[Row] = [
    Row(
        "cli/main.py",
        "FAULT if isinstance(error, MusicError) else REQUEST",
        "REQUEST",
        COMMANDS,
        "the music's fault told as the request's",
    ),
    Row(
        "cli/main.py",
        'return _complain(prefix, "interrupted", INTERRUPTED)',
        'return _complain(prefix, "interrupted", 0)',
        COMMANDS,
        "an interruption that counts as success",
    ),
    Row(
        "cli/out.py",
        "        if not force:\n",
        "        if force:\n",
        COMMANDS,
        "a file replaced that nobody said to replace",
    ),
    Row(
        "cli/many.py",
        "return list(found)",
        "return list(found)[:1]",
        CHECK,
        "one file of many",
    ),
    Row(
        "cli/check.py",
        "raise click.exceptions.Exit(max(outcome.code for outcome in outcomes))",
        "raise click.exceptions.Exit(outcomes[-1].code)",
        CHECK,
        "only the last file counts",
    ),
    Row(
        "cli/check.py",
        "raise click.exceptions.Exit(0 if ledger.is_right else FAULT)",
        "raise click.exceptions.Exit(0)",
        CHECK,
        "a faulty score ends well",
    ),
]
