"""Small wrong changes in ``cli/``."""

from .row import Row

__all__ = ["ROWS"]

COMMANDS = ("tests/cli/test_commands.py",)
CHECK = ("tests/check/test_command.py",)

DOOR = ("tests/cli/test_front_door.py",)

ROWS: list[Row] = [
    Row(
        "cli/errors.py",
        "FAULT if isinstance(error, MusicError) else REQUEST",
        "REQUEST",
        COMMANDS,
        "the music's fault told as the request's",
    ),
    Row(
        "cli/main.py",
        'return _complain(prefix, "interrupted", errors.INTERRUPTED)',
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
    Row(
        "cli/work.py",
        "        if list(places.values()).count(where) > 1:",
        "        if list(places.values()).count(where) > 2:",
        ("tests/cli/test_many.py",),
        "two scores of a folder written over each other",
    ),
    Row(
        "cli/work.py",
        "    _leave(max(result.code for result in results))",
        "    _leave(min(result.code for result in results))",
        ("tests/cli/test_many.py",),
        "one good file makes the run good",
    ),
    Row(
        "cli/work.py",
        "places[name] = str((folder / path.relative_to(root))",
        "places[name] = str((folder / path.name)",
        ("tests/cli/test_many.py",),
        "the folders of a folder thrown together",
    ),
    Row(
        "cli/work.py",
        '        return f".{to.kind}"',
        "        return path.suffix",
        ("tests/cli/test_many.py",),
        "another kind than was asked for",
    ),
    Row(
        "cli/errors.py",
        "return _COMMANDS.sub(",
        "return re.sub('~', ",
        ("tests/cli/test_many.py",),
        "a file's name commands the terminal",
    ),
    Row(
        "cli/start.py",
        "sys.exit(130)",
        "sys.exit(0)",
        COMMANDS,
        "an interruption while loading taken for success",
    ),
    Row(
        "cli/params.py",
        "for word in words if word.startswith(incomplete)]",
        "for word in words]",
        COMMANDS,
        "the shell offers every word",
    ),
    Row(
        "cli/out.py",
        "        for read in (source, *inputs):",
        "        for read in (source,):",
        ("tests/cli/test_commands.py",),
        "a plan or the score before written over",
    ),
    Row(
        "cli/restate.py",
        "told_only=explained",
        "told_only=False",
        ("tests/cli/test_commands.py",),
        "--explain alone wants a file",
    ),
    Row(
        "cli/help.py",
        "    if found is None:",
        "    if found is not None:",
        ("tests/cli/test_commands.py",),
        "a page shown for a command",
    ),
]
