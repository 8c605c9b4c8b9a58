"""``remetre help``: what each command is for, or all about one of them."""

from __future__ import annotations

import click

from .params import Word

__all__ = ["command"]


def _names() -> tuple[str, ...]:
    from .main import COMMANDS

    return tuple(COMMANDS)


class _Command(Word):
    name = "command"

    def __init__(self) -> None:
        super().__init__(_names())

    def get_metavar(self, param: click.Parameter, ctx: click.Context) -> str:
        return "[COMMAND]"


@click.command("help")
@click.argument("name", required=False, type=_Command())
@click.pass_context
def command(context: click.Context, name: str | None) -> None:
    """Say what each command is for, or all about one of them.

    \b
    remetre help
    remetre help restate
    """
    from .main import main

    if name is None:
        click.echo(main.get_help(context.parent or context))
        return
    found = main.get_command(context, name)
    assert found is not None
    with click.Context(found, info_name=f"remetre {name}") as inner:
        click.echo(found.get_help(inner))
