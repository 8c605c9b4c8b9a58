"""The command ``remetre``: finds the verb, runs it, and translates every error once.

Starting up is kept cheap: the module of a verb is imported only when the verb is called, so
``remetre --help`` reads neither a score library nor an engraver.

Conventions
-----------
Exit codes: 0 done, or all right; 1 the music is at fault; 2 the request or the file is at fault;
70 a defect of this program; 130 interrupted; 141 the reader of our output went away; 143 stopped.
Whatever goes wrong is said in one line on standard error.
"""

from __future__ import annotations

import os
import signal
import sys
from collections.abc import Sequence
from contextlib import suppress
from importlib import import_module
from typing import NoReturn

import click

from . import errors

__all__ = ["COMMANDS", "main", "run"]

# What one wants to do, the verbs for it, and each verb's help in one line.
GROUPS = {
    "To begin": {
        "demo": "Restate a small built-in theme, and show what became of it.",
        "bench": "Open the bench in the browser: say what is to be done, see it and hear it.",
        "help": "Say what each command is for, or all about one of them.",
        "completion": "Let the shell complete commands, options and their values.",
    },
    "Put music into another rhythm": {
        "restate": "Put the music into another metre or feel, bar by bar.",
        "rebar": "Draw the bar lines elsewhere; every note keeps its value.",
        "group": "Hear the same notes in other groups, with or against the metre.",
        "tuplet": "Squeeze notes into tuplets, divide notes into equal parts, or undo tuplets.",
        "vary": "Put a theme through the classical rhythmic devices, one after the other.",
        "guises": "Show a theme in every metre and feel that suits it, to choose by ear.",
        "follow": "Do the steps of a saved chain on scores.",
    },
    "Make sure of a score": {
        "check": "Find out whether every bar adds up, and if not, where and by how much.",
        "mend": "Mend the bars that do not add up, without dropping a note.",
        "manner": "Show how a score answers what handbooks leave open.",
        "faircopy": "Write a score out afresh in its own metres.",
    },
    "Prepare a lesson": {
        "exercises": "Make a practice sheet of a theme, from easy to hard.",
        "reckon": "Work out exactly, in note values, what fits where.",
    },
    "Look and listen": {
        "page": "Engrave a score as SVG, on paper, or as a page to open in a browser.",
        "midi": "Write a score as a Standard MIDI File.",
    },
}
COMMANDS = {name: said for group in GROUPS.values() for name, said in group.items()}

DEAF, STOPPED = 141, 143


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

            near = get_close_matches(name.lower(), COMMANDS, n=1)
            hint = f"did you mean {near[0]}?" if near else f"there are {', '.join(COMMANDS)}"
            raise click.UsageError(f"there is no command {name!r}; {hint}", ctx)
        return super().resolve_command(ctx, args)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """List the verbs from the table by what one wants to do, importing none."""
        width = max(map(len, COMMANDS))
        for aim, verbs in GROUPS.items():
            with formatter.section(aim):
                formatter.write_dl([(name.ljust(width), said) for name, said in verbs.items()])


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
    _hold_streams()
    if arguments is None:
        signal.signal(signal.SIGTERM, _stop)
    for stream in (sys.stdout, sys.stderr):
        # A terminal that lacks a sign shows an escape: a missing arrow is no reason to fail.
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="backslashreplace")
    words = list(sys.argv[1:] if arguments is None else arguments)
    code = 0
    try:
        code = _obey(words)
        if sys.stdout is not None:
            sys.stdout.flush()
    except BrokenPipeError:
        _stop_talking()
        code = DEAF
    except OSError as error:
        _stop_talking()
        code = _complain(
            "remetre", f"standard output cannot be written: {error.strerror}", errors.REQUEST
        )
    if arguments is None:
        _leave(code)
    sys.exit(code)


class _Stopped(BaseException):
    """Somebody asked the process to end: what it was at is undone on the way out."""


def _stop(*_: object) -> None:
    raise _Stopped


def _hold_streams() -> None:
    """Keep the places of standard streams that are closed: no file of ours may land in them."""
    for number in range(3):
        try:
            os.fstat(number)
        except OSError:
            os.open(os.devnull, os.O_RDWR)


def _stop_talking() -> None:
    """What is still buffered has no reader: keep the interpreter from saying so at its end."""
    if sys.stdout is not None:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _leave(code: int) -> NoReturn:
    """End the process at once: to take a large score down piece by piece would take longer."""
    with suppress(OSError, ValueError, AttributeError):
        sys.stderr.flush()
    os._exit(code)


def _obey(words: list[str]) -> int:
    """Run the command and return the exit code; errors end here."""
    verb = next((word for word in words if word in COMMANDS), "")
    prefix = f"remetre {verb}".rstrip()
    try:
        if instruction := os.environ.get("_REMETRE_COMPLETE"):
            from .completion import answer

            return answer(main, instruction)
        with main.make_context("remetre", words) as context:
            main.invoke(context)
    except click.exceptions.Exit as done:
        return done.exit_code
    except click.exceptions.NoArgsIsHelpError as empty:
        click.echo(empty.format_message(), err=True)
        return errors.REQUEST
    except click.ClickException as error:
        from .usage import said

        return _complain(prefix, said(error), errors.REQUEST)
    except (KeyboardInterrupt, click.Abort):
        return _complain(prefix, "interrupted", errors.INTERRUPTED)
    except _Stopped:
        return _complain(prefix, "stopped", STOPPED)
    except BrokenPipeError:
        raise
    except Exception as error:
        return _complain(prefix, *errors.said(error))
    return 0


def _complain(prefix: str, message: str, code: int) -> int:
    click.echo(f"{prefix}: {errors.line(message)}", err=True)
    return code
