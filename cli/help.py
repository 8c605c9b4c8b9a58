"""``remetre help``: what each command is for, all about one, or a page of the guide."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from .params import Word

__all__ = ["command", "pages"]


def pages() -> dict[str, Path]:
    """The pages of the guide by name: they come with the program, or lie beside its source."""
    here = Path(__file__).resolve().parent
    folder = here / "docs" if (here / "docs").is_dir() else here.parent / "docs"
    return {path.stem: path for path in sorted(folder.glob("*.md"))}


def _named(page: str) -> str:
    """What a page is asked for by: its name, with .md behind it where a command has that name."""
    from .main import COMMANDS

    return f"{page}.md" if page in COMMANDS else page


class Subject(Word):
    """A command, or a page of the guide."""

    name = "subject"

    def __init__(self) -> None:
        from .main import COMMANDS

        super().__init__([*COMMANDS, *(_named(page) for page in pages())])

    def get_metavar(self, param: click.Parameter, ctx: click.Context) -> str:
        """One word for all the names."""
        return "[COMMAND|PAGE]"


@click.command("help")
@click.argument("subject", required=False, type=Subject())
@click.pass_context
def command(context: click.Context, subject: str | None) -> None:
    """Say what each command is for, all about one of them, or show a page of the guide.

    \b
    remetre help
    remetre help restate
    remetre help recipes
    """
    from .main import main

    above = context.parent or context
    if subject is None:
        click.echo(main.get_help(above))
        click.echo("\nPages of the guide, shown by `remetre help PAGE`:")
        click.echo(click.wrap_text(", ".join(map(_named, pages())), 78, "  ", "  "))
        return
    found = main.get_command(context, subject)
    if found is None:
        _show(pages()[subject.removesuffix(".md")].read_text(encoding="utf-8"))
        return
    with click.Context(found, parent=above, info_name=subject) as inner:
        click.echo(found.get_help(inner))
    if subject in pages():
        click.echo(f"\nThe guide has a page on it, too: remetre help {subject}.md")


def _show(text: str) -> None:
    """A page: set out on a terminal, as it is when piped."""
    if not sys.stdout.isatty():
        click.echo(text, nl=False)
        return
    from rich.console import Console
    from rich.markdown import Markdown

    Console().print(Markdown(text))
