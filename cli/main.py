"""The command ``remetre``: finds the verb, runs it, and translates every error once.

Starting up is kept cheap: the module of a verb is imported only when the verb is called, so
``remetre --help`` reads neither a score library nor an engraver.

Conventions
-----------
Exit codes: 0 done, or all right; 1 the music is at fault; 2 the request or the file is at fault;
70 a defect of this program; 130 interrupted; 141 the reader of our output went away. Whatever
goes wrong is said in one line on standard error.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence
from contextlib import suppress
from importlib import import_module
from typing import NoReturn

import click

__all__ = ["COMMANDS", "main", "run"]

# The verbs with their one-line help, in the order in which a musician meets them.
COMMANDS = {
    "demo": "Restate a small theme that comes along, and show what became of it.",
    "check": "Say whether every bar of every voice adds up, and if not, where and by how much.",
    "mend": "Put right the bars that do not add up, and drop no note.",
    "restate": "Put the music into another metre or feel, bar by bar.",
    "rebar": "Draw the bar lines elsewhere; every note keeps its value.",
    "group": "Bunch the same notes in other groups, with or against the metre.",
    "tuplet": "Squeeze notes into tuplets, divide notes into equal parts, or release tuplets.",
    "vary": "Put a theme through the classical rhythmic devices, one after the other.",
    "faircopy": "Write a score out afresh in its own metres.",
    "exercises": "Make a sheet of graded exercises of a theme.",
    "reckon": "Settle by exact arithmetic with note values what fits where.",
    "page": "Engrave a score as SVG or as a page to open in a browser.",
    "midi": "Write a score as a Standard MIDI File.",
}

FAULT, REQUEST, DEFECT, INTERRUPTED, DEAF = 1, 2, 70, 130, 141


class Verbs(click.Group):
    """A group that knows its commands by name and imports one only when it is called."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """The names, in the order of the table."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Import the module of this verb, or None where there is no such verb."""
        if cmd_name not in COMMANDS:
            return None
        command = import_module(f".{cmd_name}", __package__).command
        assert isinstance(command, click.Command)
        return command

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """As click does, but an unknown verb is answered with the nearest one."""
        name = args[0]
        if name not in COMMANDS and not name.startswith("-"):
            from difflib import get_close_matches

            near = get_close_matches(name, COMMANDS, n=1)
            hint = f"did you mean {near[0]}?" if near else f"there are {', '.join(COMMANDS)}"
            raise click.UsageError(f"there is no command {name!r}; {hint}", ctx)
        return super().resolve_command(ctx, args)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """List the verbs from the table, importing none."""
        with formatter.section("Commands"):
            formatter.write_dl(list(COMMANDS.items()))


@click.group(
    cls=Verbs,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
    epilog="Exit codes: 0 all right, 1 the music is at fault, 2 the request or the file is.",
)
@click.version_option(package_name="remetre", message="%(prog)s %(version)s")
def main() -> None:
    """Change the metre and the rhythm of a score exactly, and nothing else in it.

    Every command reads a score (a file, or - for standard input) and leaves it as it is; what it
    makes goes where -o says. `remetre COMMAND --help` tells the rest.
    """


def run(arguments: Sequence[str] | None = None) -> NoReturn:
    """Run ``remetre`` with these arguments (those of the process if None) and exit."""
    for stream in (sys.stdout, sys.stderr):
        # A terminal that lacks a sign shows an escape: a missing arrow is no reason to fail.
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="backslashreplace")
    words = list(sys.argv[1:] if arguments is None else arguments)
    code = 0
    try:
        code = _obey(words)
        sys.stdout.flush()
    except BrokenPipeError:
        # What is still buffered has no reader: keep the interpreter from saying so at its end.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        code = DEAF
    if arguments is None:
        _leave(code)
    sys.exit(code)


def _leave(code: int) -> NoReturn:
    """End the process at once: to take a large score down piece by piece would take longer."""
    with suppress(OSError, ValueError):
        sys.stderr.flush()
    os._exit(code)


def _obey(words: list[str]) -> int:
    """Run the command and return the exit code; errors end here."""
    verb = next((word for word in words if word in COMMANDS), "")
    prefix = f"remetre {verb}".rstrip()
    try:
        with main.make_context("remetre", words) as context:
            main.invoke(context)
    except click.exceptions.Exit as done:
        return done.exit_code
    except click.exceptions.NoArgsIsHelpError as empty:
        click.echo(empty.format_message(), err=True)
        return REQUEST
    except click.ClickException as error:
        return _complain(prefix, error.format_message(), REQUEST)
    except (KeyboardInterrupt, click.Abort):
        return _complain(prefix, "interrupted", INTERRUPTED)
    except BrokenPipeError:
        raise
    except Exception as error:
        return _complain(prefix, *_said(error))
    return 0


def _said(error: Exception) -> tuple[str, int]:
    """The line and the exit code for an error that is not click's."""
    from rhythm.exact.errors import MusicError, RemetreError

    if isinstance(error, RemetreError):
        return str(error), FAULT if isinstance(error, MusicError) else REQUEST
    if isinstance(error, OSError):
        problem = error.strerror or str(error)
        return f"{error.filename}: {problem}" if error.filename else problem, REQUEST
    if os.environ.get("REMETRE_TRACEBACK"):
        raise error
    kind = type(error).__name__
    return (
        f"a defect of this program, not of your score: {kind}: {error}; "
        "set REMETRE_TRACEBACK=1 to see where",
        DEFECT,
    )


def _complain(prefix: str, message: str, code: int) -> int:
    click.echo(f"{prefix}: {' '.join(message.split())}", err=True)
    return code
